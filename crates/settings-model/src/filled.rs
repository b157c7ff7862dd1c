//! Sheets filled by hand: a table with what each setting was found and left with, in place of what a
//! site's file says of its devices.
//!
//! The rows become the same tree that a site's file is read from, each value at the place of its cell;
//! so everything that is said of a site is said of the sheet, at the right cell. No row is dropped: one
//! that matches nothing is a finding.

mod cells;

use crate::catalogue::{SettingId, Shape};
use crate::document::{Kind, Node};
use crate::finding::{Finding, nearest};
use crate::labels::{LabelMap, Unfound};
use crate::library::NotUsed;
use crate::source::{Place, SourceId};
use cells::{Cell, rows};
use std::rc::Rc;

/// What the columns of a sheet are called. `asleft sheet --format csv` writes these names; an office
/// may have names of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Columns {
    /// The device, by its name in the site's file.
    pub device: String,
    /// The setting, such as `overvoltage-1/threshold`.
    pub setting: String,
    /// What was found before the work.
    pub as_found: String,
    /// What was left after it.
    pub as_left: String,
    /// The number of the photo that shows it.
    pub photo: String,
}

impl Default for Columns {
    fn default() -> Self {
        Self {
            device: "device".to_owned(),
            setting: "setting".to_owned(),
            as_found: "as found".to_owned(),
            as_left: "as left".to_owned(),
            photo: "photo".to_owned(),
        }
    }
}

/// What a row may be about besides a setting: the words of a site's file for the whole of a holding.
pub const OF_HOLDING: [&str; 4] = ["region-selected", "date", "role", "known-by"];

/// Finds the label map of a device by its name in the site's file.
pub type LabelsOf<'l> = dyn Fn(&str) -> Result<Option<Rc<LabelMap>>, NotUsed> + 'l;

/// Lays a filled sheet over a site's tree: devices that the sheet speaks of hold what it says, and
/// nothing else. A row may name its setting in the words of the device's display, which `labels` knows;
/// its value is then as the display shows it, and is for [`crate::labels::displayed`] to read.
///
/// # Errors
/// Every row and column that cannot be used.
pub fn laid_over(site: &Node, source: SourceId, text: &str, columns: &Columns, labels: &LabelsOf<'_>) -> Result<Node, Vec<Finding>> {
    let table = rows(source, text).map_err(|finding| vec![*finding])?;
    let mut findings = Vec::new();
    let Some((heading, table)) = table.split_first() else {
        let place = Place { source, start: 0, end: 0 };
        return Err(vec![
            Finding::unusable("empty-sheet", place, "the sheet is empty").hint("`asleft sheet --format csv` prints one to fill in"),
        ]);
    };
    let Some(positions) = Positions::of(heading, columns, &mut findings) else { return Err(findings) };
    let mut filled: Vec<Holdings> = Vec::new();
    for row in table {
        if let Some(entry) = Entry::of(row, &positions, (site, labels), &mut findings) {
            entry.put(&mut filled, &mut findings);
        }
    }
    if findings.is_empty() { Ok(with_holdings(site, &filled)) } else { Err(findings) }
}

/// Where each column stands.
struct Positions {
    device: usize,
    setting: usize,
    moments: [usize; 2],
    photo: Option<usize>,
}

impl Positions {
    fn of(heading: &[Cell], columns: &Columns, findings: &mut Vec<Finding>) -> Option<Self> {
        let position = |name: &str| heading.iter().position(|cell| cell.text.eq_ignore_ascii_case(name));
        let mut wanted = |name: &str| {
            let found = position(name);
            if found.is_none() {
                let place = heading.first().map_or(Place::NOWHERE, |cell| cell.place);
                let finding = Finding::unusable("column-missing", place, format!("no column `{name}`"));
                let meant = nearest(name, heading.iter().map(|cell| cell.text.as_str()));
                findings.push(match meant {
                    Some(meant) => finding.hint(format!("rename `{meant}`, or say in a column map what yours is called")),
                    None => finding.hint("name the column so, or say in a column map what yours is called"),
                });
            }
            found
        };
        let (device, setting) = (wanted(&columns.device), wanted(&columns.setting));
        let moments = [wanted(&columns.as_found), wanted(&columns.as_left)];
        let [Some(found), Some(left)] = moments else { return None };
        Some(Self { device: device?, setting: setting?, moments: [found, left], photo: position(&columns.photo) })
    }
}

/// What a row states, if it states anything.
struct Entry<'r> {
    device: &'r Cell,
    about: About,
    setting: &'r Cell,
    /// As found, and as left.
    values: [Option<&'r Cell>; 2],
    photo: Option<&'r Cell>,
}

#[derive(Clone, PartialEq, Eq)]
enum About {
    Setting(SettingId),
    Holding(&'static str),
    /// A label of the device's display, by its menu and words.
    Displayed(String),
}

impl<'r> Entry<'r> {
    fn of(row: &'r [Cell], positions: &Positions, (site, labels): (&Node, &LabelsOf<'_>), findings: &mut Vec<Finding>) -> Option<Self> {
        let cell = |position: usize| row.get(position);
        let filled = |position: usize| cell(position).filter(|cell| cell.is_filled());
        let values = positions.moments.map(filled);
        let photo = positions.photo.and_then(filled);
        let (device, setting) = (cell(positions.device)?, cell(positions.setting)?);
        if values.iter().all(Option::is_none) {
            if let Some(photo) = photo {
                let finding = Finding::unusable("photo-of-nothing", photo.place, "a photo, and no value that it shows");
                findings.push(finding.hint("write the value that the photo shows as found or as left"));
            }
            return None;
        }
        let devices: Vec<&str> = site.get("devices").map(Node::entries).unwrap_or_default().iter().map(|(name, _)| name.text()).collect();
        if !devices.contains(&device.text.as_str()) {
            let finding = Finding::unusable("unmatched-row", device.place, format!("the site has no device `{}`", device.text));
            findings.push(finding.hint(format!("its devices are {}", devices.join(", "))));
            return None;
        }
        let about = match about(&setting.text).map_or_else(|| displayed(device, setting, labels), Ok) {
            Ok(about) => about,
            Err(finding) => {
                findings.push(*finding);
                return None;
            }
        };
        Some(Self { device, about, setting, values, photo })
    }

    fn put(&self, filled: &mut Vec<Holdings>, findings: &mut Vec<Finding>) {
        let at = filled.iter().position(|holdings| holdings.device == self.device.text).unwrap_or_else(|| {
            filled.push(Holdings { device: self.device.text.clone(), moments: [Vec::new(), Vec::new()] });
            filled.len() - 1
        });
        for (moment, value) in filled[at].moments.iter_mut().zip(self.values) {
            let Some(value) = value else { continue };
            if let Some((_, first, _)) = moment.iter().find(|(about, ..)| *about == self.about) {
                let finding = Finding::unusable("row-twice", value.place, format!("`{}` is stated twice", self.setting.text));
                findings.push(finding.because(*first, "here first").hint("keep one of the two rows"));
                continue;
            }
            match node_of(&self.about, value, self.photo) {
                Ok(node) => moment.push((self.about.clone(), self.setting.place, node)),
                Err(finding) => findings.push(*finding),
            }
        }
    }
}

fn about(key: &str) -> Option<About> {
    let of_holding = || OF_HOLDING.into_iter().find(|word| *word == key).map(About::Holding);
    SettingId::named(key).map(About::Setting).or_else(of_holding)
}

/// A row whose setting is named in the words of the device's display.
fn displayed(device: &Cell, setting: &Cell, labels: &LabelsOf<'_>) -> Result<About, Box<Finding>> {
    let finding = |says: String, mend: String| Box::new(Finding::unusable("unmatched-row", setting.place, says).hint(mend));
    match labels(&device.text) {
        Ok(None) => Err(Box::new(unmatched(setting))),
        Ok(Some(map)) => match map.find(&setting.text) {
            Ok(label) => Ok(About::Displayed(label.path())),
            Err(Unfound::Unknown(Some(meant))) => Err(finding(
                format!("`{}` is no setting, and no label of {}", setting.text, map.name()),
                format!("did you mean `{meant}`?"),
            )),
            Err(Unfound::Unknown(None)) => Err(Box::new(unmatched(setting))),
            Err(Unfound::Ambiguous(paths)) => Err(finding(
                format!("`{}` stands in several menus of {}", setting.text, map.name()),
                format!("write its menu in front: {}", paths.join(", or ")),
            )),
        },
        Err(NotUsed::Because { says, hint, .. }) => {
            Err(finding(format!("`{}` is no setting, and {} {says}", setting.text, device.text), hint))
        }
        Err(NotUsed::Faulty(mut faults)) if !faults.is_empty() => Err(Box::new(faults.swap_remove(0))),
        Err(NotUsed::Faulty(_)) => Err(Box::new(unmatched(setting))),
    }
}

fn unmatched(setting: &Cell) -> Finding {
    let finding = Finding::unusable("unmatched-row", setting.place, format!("`{}` is no setting", setting.text));
    let names: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
    match nearest(&setting.text, names.iter().map(String::as_str).chain(OF_HOLDING)) {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None => finding.hint("`asleft list settings` names them all"),
    }
}

/// What one device was found and left with.
struct Holdings {
    device: String,
    moments: [Vec<(About, Place, Node)>; 2],
}

/// A cell as a site's file would state it.
fn node_of(about: &About, value: &Cell, photo: Option<&Cell>) -> Result<Node, Box<Finding>> {
    let text = |text: &str, place: Place| Node { place, kind: Kind::Text(text.to_owned()) };
    let stated = match about {
        About::Holding(_) => return Ok(text(&value.text, value.place)),
        About::Setting(setting) if matches!(setting.parameter().shape, Shape::Curve { .. }) => points(value)?,
        About::Setting(_) | About::Displayed(_) => text(&value.text, value.place),
    };
    let Some(photo) = photo else { return Ok(stated) };
    let entry = |key: &str, node: Node| (text(key, photo.place), node);
    let number = Node { place: photo.place, kind: Kind::Number(photo.text.clone()) };
    let is_number = photo.text.bytes().all(|byte| byte.is_ascii_digit());
    let number = if is_number { number } else { text(&photo.text, photo.place) };
    let entries = vec![entry("value", stated), entry("known-by", text("photo", photo.place)), entry("photo", number)];
    Ok(Node { place: value.place, kind: Kind::Map(entries) })
}

/// `44 % at 207 V, 0 % at 220 V`: points as sheets print them.
fn points(value: &Cell) -> Result<Node, Box<Finding>> {
    let text = |text: &str| Node { place: value.place, kind: Kind::Text(text.trim().to_owned()) };
    let point = |part: &str| {
        let (y, x) = part.split_once(" at ")?;
        Some(Node { place: value.place, kind: Kind::List(vec![text(x), text(y)]) })
    };
    let parts: Option<Vec<Node>> = value.text.split([',', ';', '\n']).filter(|part| !part.trim().is_empty()).map(point).collect();
    let written = || Finding::unusable("points", value.place, format!("`{}` is not how points are written on a sheet", value.text));
    let parts = parts.ok_or_else(|| Box::new(written().hint("write each as `44 % at 207 V`, with commas between")))?;
    Ok(Node { place: value.place, kind: Kind::List(parts) })
}

/// The site's tree with what the sheet states.
fn with_holdings(site: &Node, filled: &[Holdings]) -> Node {
    let mut site = site.clone();
    let Kind::Map(entries) = &mut site.kind else { return site };
    let Some((_, devices)) = entries.iter_mut().rfind(|(key, _)| key.text() == "devices") else { return site };
    let Kind::Map(devices) = &mut devices.kind else { return site };
    for (name, device) in devices {
        let Some(holdings) = filled.iter().find(|holdings| holdings.device == name.text()) else { continue };
        let Kind::Map(parts) = &mut device.kind else { continue };
        for (key, stated) in ["as-found", "as-left"].into_iter().zip(&holdings.moments) {
            if let Some((_, place, _)) = stated.first() {
                parts.retain(|(own, _)| own.text() != key);
                let key = Node { place: *place, kind: Kind::Text(key.to_owned()) };
                parts.push((key, holding(stated, *place)));
            }
        }
    }
    site
}

fn holding(stated: &[(About, Place, Node)], place: Place) -> Node {
    let text = |text: &str, place: Place| Node { place, kind: Kind::Text(text.to_owned()) };
    let map = |entries| Node { place, kind: Kind::Map(entries) };
    let mut parts: Vec<(Node, Node)> = Vec::new();
    let mut functions: Vec<(Node, Vec<(Node, Node)>)> = Vec::new();
    let mut displayed: Vec<(Node, Node)> = Vec::new();
    for (about, place, node) in stated {
        match about {
            About::Holding(word) => parts.push((text(word, *place), node.clone())),
            About::Displayed(label) => displayed.push((text(label, *place), node.clone())),
            About::Setting(setting) => {
                let entry = (text(setting.parameter().key, *place), node.clone());
                match functions.iter_mut().find(|(function, _)| function.text() == setting.function().key) {
                    Some((_, entries)) => entries.push(entry),
                    None => functions.push((text(setting.function().key, *place), vec![entry])),
                }
            }
        }
    }
    let settings = functions.into_iter().map(|(key, entries)| (key, map(entries))).collect();
    parts.push((text("settings", place), map(settings)));
    if !displayed.is_empty() {
        parts.push((text("displayed", place), map(displayed)));
    }
    map(parts)
}
