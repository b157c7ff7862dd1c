//! What a row of a filled sheet states, and of what.

use super::cells::Cell;
use super::columns::Positions;
use super::{LabelsOf, text};
use crate::catalogue::{Group, SettingId, Shape};
use crate::document::{Kind, Node};
use crate::exact::Exact;
use crate::finding::{Finding, nearest};
use crate::labels::Unfound;
use crate::library::NotUsed;
use crate::slip::listed;

/// What a row may be about besides a setting: the words of a site's file for the whole of a holding.
pub const OF_HOLDING: [&str; 4] = ["region-selected", "date", "role", "known-by"];

/// The photo of the region as selected.
const REGION_PHOTO: &str = "region-photo";

/// The name under which a sheet speaks of the installation as a whole, as a site's file does.
pub(super) const INSTALLATION: &str = "installation";

/// Of what a row speaks.
#[derive(Clone, PartialEq, Eq)]
pub(super) enum About {
    /// A setting of the catalogue.
    Setting(SettingId),
    /// The whole of what a device held: a word of [`OF_HOLDING`].
    Holding(&'static str),
    /// A label of the device's display, by its menu and words.
    Displayed(String),
}

/// A row on which something is filled in.
pub(super) struct Entry<'r> {
    pub(super) device: &'r Cell,
    pub(super) setting: &'r Cell,
    about: About,
    /// As found, and as left.
    values: [Option<&'r Cell>; 2],
    photo: Option<&'r Cell>,
    unit: Option<&'r Cell>,
    initials: Option<&'r Cell>,
}

impl<'r> Entry<'r> {
    /// What a row of as many cells as the heading states; `None` where nothing is filled in, or it cannot be used.
    pub(super) fn of(
        row: &'r [Cell],
        positions: &Positions,
        (site, labels): (&Node, &LabelsOf<'_>),
        findings: &mut Vec<Finding>,
    ) -> Option<Self> {
        let filled = |position: usize| Some(&row[position]).filter(|cell| cell.is_filled());
        let values = positions.moments.map(filled);
        let [photo, unit, initials] = [positions.photo, positions.unit, positions.initials].map(|position| position.and_then(filled));
        if values.iter().all(Option::is_none) {
            if let Some(mark) = photo.or(initials) {
                let finding = Finding::unusable("mark-without-value", mark.place, "a photo or initials, and no value");
                findings.push(finding.hint("write the value that was seen, as found or as left"));
            }
            return None;
        }
        let fault = |finding: Finding, findings: &mut Vec<Finding>| -> Option<Self> {
            findings.push(finding);
            None
        };
        let (device, setting) = (&row[positions.device], &row[positions.setting]);
        if let Some(finding) = unknown_device(device, site) {
            return fault(finding, findings);
        }
        let about = match about(&setting.text).map_or_else(|| displayed(device, setting, labels), Ok) {
            Ok(about) => about,
            Err(finding) => return fault(*finding, findings),
        };
        if let Some(finding) = misplaced(device, &about, values) {
            return fault(finding, findings);
        }
        let entry = Self { device, setting, about, values, photo, unit, initials };
        findings.extend(entry.misread(labels));
        Some(entry)
    }

    /// What is wrong with values that are in the words of the display.
    fn misread(&self, labels: &LabelsOf<'_>) -> Vec<Finding> {
        let (About::Displayed(path), Ok(Some(map))) = (&self.about, labels(&self.device.text)) else { return Vec::new() };
        let Ok(label) = map.find(path) else { return Vec::new() };
        let misread = |value: &Cell| {
            let slip = label.slip(&self.with_unit(value, None))?;
            let says = format!("{}: \"{}\": {}", self.device.text, label.words, slip.says);
            Some(
                Finding::unusable("displayed-value", value.place, says)
                    .because(label.place, "what the display means by it")
                    .hint(slip.help),
            )
        };
        self.values.into_iter().flatten().filter_map(misread).collect()
    }

    /// What it states as found and as left, as a site's file would.
    pub(super) fn nodes(&self) -> Result<[Vec<(About, Node)>; 2], Box<Finding>> {
        // one photo shows one moment: the later one that is filled in
        let shown = usize::from(self.values[1].is_some());
        let mut moments = [Vec::new(), Vec::new()];
        for (moment, value) in self.values.into_iter().enumerate() {
            let Some(value) = value else { continue };
            let photo = self.photo.filter(|_| moment == shown);
            let shape = match &self.about {
                About::Holding(word) => {
                    moments[moment] = self.of_holding(word, value, photo);
                    continue;
                }
                About::Setting(setting) => Some(setting.parameter().shape),
                About::Displayed(_) => None,
            };
            moments[moment] = vec![(self.about.clone(), self.stated(shape, value, photo)?)];
        }
        Ok(moments)
    }

    fn of_holding(&self, word: &str, value: &Cell, photo: Option<&Cell>) -> Vec<(About, Node)> {
        let photo = photo.filter(|_| word == OF_HOLDING[0]).map(|photo| (About::Holding(REGION_PHOTO), photo_number(photo)));
        let said = if word == "known-by" { value.text.to_lowercase() } else { value.text.clone() };
        std::iter::once((self.about.clone(), text(&said, value.place))).chain(photo).collect()
    }

    /// A value of a setting of some shape, or as the display shows it.
    fn stated(&self, shape: Option<Shape>, value: &Cell, photo: Option<&Cell>) -> Result<Node, Box<Finding>> {
        let stated = match shape {
            Some(Shape::Curve { .. }) => points(value)?,
            _ => text(&self.with_unit(value, shape), value.place),
        };
        let mut marks = Vec::new();
        if let Some(photo) = photo {
            marks.push((text("known-by", photo.place), text("photo", photo.place)));
            marks.push((text("photo", photo.place), photo_number(photo)));
        }
        if let Some(initials) = self.initials {
            marks.push((text("initials", initials.place), text(&initials.text, initials.place)));
        }
        if marks.is_empty() {
            return Ok(stated);
        }
        let entries = std::iter::once((text("value", value.place), stated)).chain(marks).collect();
        Ok(Node { place: value.place, kind: Kind::Map(entries) })
    }

    /// A number alone is meant in the unit of its row.
    fn with_unit(&self, value: &Cell, shape: Option<Shape>) -> String {
        // a comma is not read as a point, but said to be one
        let is_number = Exact::parse(&value.text.replace(',', ".")).is_ok();
        match (self.unit, shape) {
            (Some(unit), None | Some(Shape::Quantity(_))) if is_number => format!("{} {}", value.text, unit.text),
            (_, Some(Shape::Choice(words))) => meant(words, &value.text),
            _ => value.text.clone(),
        }
    }
}

/// The word that is meant, where it is written by hand: in letters of any case, and with the words that displays have
/// for a function's state.
fn meant(words: &[&str], written: &str) -> String {
    /// What displays say, and what it is here.
    const ON_DISPLAYS: [(&str, &str); 5] =
        [("on", "enabled"), ("enable", "enabled"), ("active", "enabled"), ("disabled", "off"), ("disable", "off")];
    let small = written.to_lowercase();
    let known = |word: &str| words.iter().find(|known| **known == word).map(|known| (*known).to_owned());
    let cased = || words.iter().find(|known| known.to_lowercase() == small).map(|known| (*known).to_owned());
    let shown = || ON_DISPLAYS.iter().find(|(shown, _)| *shown == small).and_then(|(_, meant)| known(meant));
    known(written).or_else(cased).or_else(shown).unwrap_or_else(|| written.to_owned())
}

/// The cell of a row that names another site than the one that the sheet is laid over.
pub(super) fn of_another_site<'r>(row: &'r [Cell], positions: &Positions, site: &Node) -> Option<&'r Cell> {
    let says = |position: &usize| row.get(*position).is_some_and(Cell::is_filled);
    let named = positions.site.filter(says).and_then(|position| row.get(position))?;
    let is_filled_in = positions.moments.iter().any(says);
    site.get("site").map(Node::text).filter(|own| *own != named.text && is_filled_in).map(|_| named)
}

fn unknown_device(device: &Cell, site: &Node) -> Option<Finding> {
    let names = || site.get("devices").map(Node::entries).unwrap_or_default().iter().map(|(name, _)| name.text());
    if device.text == INSTALLATION || names().any(|name| name == device.text) {
        return None;
    }
    let finding = Finding::unusable("unmatched-row", device.place, format!("the site has no device `{}`", device.text));
    Some(finding.hint(format!("its devices are {}", listed(&names().collect::<Vec<_>>()))))
}

fn about(key: &str) -> Option<About> {
    let of_holding = || OF_HOLDING.into_iter().find(|word| *word == key).map(About::Holding);
    SettingId::named(key).map(About::Setting).or_else(of_holding)
}

/// A row whose setting is named in the words of the device's display.
fn displayed(device: &Cell, setting: &Cell, labels: &LabelsOf<'_>) -> Result<About, Box<Finding>> {
    let finding = |says: String, help: String| Box::new(Finding::unusable("unmatched-row", setting.place, says).hint(help));
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
            Err(finding(format!("`{}` is no setting; of {}, {says}", setting.text, device.text), hint))
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

/// Devices hold settings, and the installation figures, which nobody finds.
fn misplaced(device: &Cell, about: &About, [found, _]: [Option<&Cell>; 2]) -> Option<Finding> {
    let is_installation = device.text == INSTALLATION;
    match about {
        About::Setting(setting) if (setting.group() == Group::Installation) != is_installation => {
            let whose = if is_installation { "a device's, and not the installation's" } else { "the installation's, and not a device's" };
            let finding = Finding::unusable("unmatched-row", device.place, format!("`{setting}` is {whose}"));
            Some(finding.hint("write in this row which device holds it"))
        }
        About::Setting(_) => found.filter(|_| is_installation).map(|found| {
            let finding = Finding::unusable("figure-as-found", found.place, "a figure of the installation has no as-found value");
            finding.hint("figures are calculated for what was left; write it as left")
        }),
        About::Holding(word) if is_installation => {
            let finding = Finding::unusable("unmatched-row", device.place, format!("the installation has no `{word}`"));
            Some(finding.hint("this row is for a device"))
        }
        About::Holding(_) | About::Displayed(_) => None,
    }
}

/// Numbers stay numbers, anything else is a name.
fn photo_number(photo: &Cell) -> Node {
    match photo.text.bytes().all(|byte| byte.is_ascii_digit()) {
        true => Node { place: photo.place, kind: Kind::Number(photo.text.clone()) },
        false => text(&photo.text, photo.place),
    }
}

/// `44 % at 207 V, 0 % at 220 V`: points as sheets print them.
fn points(value: &Cell) -> Result<Node, Box<Finding>> {
    let point = |part: &str| {
        let (y, x) = part.split_once(" at ")?;
        Some(Node { place: value.place, kind: Kind::List(vec![text(x.trim(), value.place), text(y.trim(), value.place)]) })
    };
    let parts: Option<Vec<Node>> = value.text.split([',', ';', '\n']).filter(|part| !part.trim().is_empty()).map(point).collect();
    let written = || Finding::unusable("points", value.place, format!("`{}` is not how points are written on a sheet", value.text));
    let parts = parts.ok_or_else(|| Box::new(written().hint("write each as `44 % at 207 V`, with commas between")))?;
    Ok(Node { place: value.place, kind: Kind::List(parts) })
}
