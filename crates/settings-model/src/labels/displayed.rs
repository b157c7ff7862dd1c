//! A site's values in the words of displays, turned into settings.
//!
//! What comes out is the same tree that a site's file is read from, each value at the place where the
//! display's words for it stand; so everything that is said of settings is said of them. No value is
//! dropped: one that cannot be read is a finding, as a setting left out might be taken for one that the
//! selected region brings.

use super::building::part_words;
use super::reading::{Of, Reading, Unfound, Unread, of_words};
use super::unit::{Lacks, Site};
use super::{Label, LabelMap};
use crate::catalogue::{SettingId, Shape};
use crate::claim::{Part, Var};
use crate::document::{Kind, Node};
use crate::files::{self, Device, SiteFile};
use crate::finding::Finding;
use crate::library::{Library, NotUsed, Request};
use crate::reader;
use crate::slip::one_of;
use crate::source::{Place, Sources};
use jiff::civil::Date;
use std::rc::Rc;

/// The two moments at which a device is looked at.
const MOMENTS: [&str; 2] = ["as-found", "as-left"];
/// The key of values in the display's words.
const DISPLAYED: &str = "displayed";

/// A site's tree with what its devices display turned into settings. Most sites state nothing so, and
/// come back as they are.
///
/// # Errors
/// Every value that cannot be read, at its own place.
pub fn displayed(root: Node, library: &mut Library, today: Date, sources: &mut Sources) -> Result<Node, Vec<Finding>> {
    if holdings(&root).next().is_none() {
        return Ok(root);
    }
    let mut findings = Vec::new();
    let mut settled: Vec<(String, Node)> = Vec::new();
    {
        let site: SiteFile<'_> = reader::typed(&root)?;
        for (name, device) in site.devices.iter() {
            let Some(node) = root.get("devices").and_then(|devices| devices.get(name)) else { continue };
            if holdings_of(node).next().is_some() {
                settled.extend(
                    device_settled(name, device, node, &site, (library, today, sources), &mut findings).map(|node| (name.to_owned(), node)),
                );
            }
        }
    }
    if !findings.is_empty() {
        findings.sort_by_key(|finding| finding.place);
        return Err(findings);
    }
    reader::checked(with_devices(root, settled), files::Kind::Site)
}

/// What is wrong with the display's words in a site's file that has other faults: all that can be told
/// without the facts that the file states.
#[must_use]
pub fn faults_beside(root: &Node, library: &mut Library, sources: &mut Sources) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (name, device) in root.get("devices").map(Node::entries).unwrap_or_default() {
        let displayed: Vec<&Node> = holdings_of(device).filter_map(|holding| holding.get(DISPLAYED)).collect();
        if displayed.is_empty() {
            continue;
        }
        let stated = ["labels", "model", "firmware"].map(|key| device.get(key).map(Node::text).filter(|text| !text.is_empty()));
        let Ok(Some(map)) = library.labels_for(stated, sources) else { continue };
        for (key, stated) in displayed.into_iter().flat_map(Node::entries) {
            let value = stated.get("value").unwrap_or(stated);
            match map.find(key.text()) {
                Err(unfound) => findings.push(unknown(name.text(), &map, key, unfound)),
                Ok(label) if !value.text().is_empty() => {
                    let slip = label.slip(value.text());
                    findings.extend(slip.map(|slip| unread(name.text(), label, value.place, Unread::Slip(slip))));
                }
                Ok(_) => {}
            }
        }
    }
    findings
}

fn holdings(root: &Node) -> impl Iterator<Item = &Node> {
    let devices = root.get("devices").map(Node::entries).unwrap_or_default();
    devices.iter().flat_map(|(_, device)| holdings_of(device))
}

fn holdings_of(device: &Node) -> impl Iterator<Item = &Node> {
    MOMENTS.iter().filter_map(|moment| device.get(moment)).filter(|holding| holding.get(DISPLAYED).is_some())
}

fn with_devices(mut root: Node, mut settled: Vec<(String, Node)>) -> Node {
    let Kind::Map(entries) = &mut root.kind else { return root };
    let Some((_, devices)) = entries.iter_mut().rfind(|(key, _)| key.text() == "devices") else { return root };
    let Kind::Map(devices) = &mut devices.kind else { return root };
    for (name, device) in devices {
        if let Some(at) = settled.iter().position(|(settled, _)| settled == name.text()) {
            *device = settled.swap_remove(at).1;
        }
    }
    root
}

/// What stands behind a site: profiles, the day asked about, and the texts read so far.
type Behind<'l> = (&'l mut Library, Date, &'l mut Sources);

fn device_settled(
    name: &str,
    device: &Device<'_>,
    node: &Node,
    site: &SiteFile<'_>,
    (library, today, sources): Behind<'_>,
    findings: &mut Vec<Finding>,
) -> Option<Node> {
    let map = match library.labels_of(device, sources) {
        Ok(Some(map)) => map,
        Ok(None) => {
            for (key, _) in holdings_of(node).filter_map(|holding| holding.entry(DISPLAYED)) {
                let finding = Finding::unusable("label-map", key.place, format!("{name}: no label map knows the words of this display"));
                findings.push(finding.hint("add `labels: …` to the device, naming its family; `asleft list labels` names those at hand"));
            }
            return None;
        }
        Err(NotUsed::Faulty(faults)) => {
            findings.extend(faults);
            return None;
        }
        Err(NotUsed::Because { part, says, hint, map }) => {
            let own = node.get(part).map(|stated| stated.place);
            let place = own.or_else(|| holdings_of(node).find_map(|holding| holding.entry(DISPLAYED)).map(|(key, _)| key.place));
            let mut finding = Finding::unusable("label-map", place.unwrap_or(node.place), format!("{name}: {says}")).hint(hint);
            if let Some(place) = map {
                finding = finding.because(place, "confirmed for this firmware");
            }
            findings.push(finding);
            return None;
        }
    };
    let standard = library.base_standard(Request::of_device(site, device), &site.facts(today, None), sources);
    let nominal = standard.as_ref().and_then(|standard| standard.file.nominal).map(|nominal| nominal.0);
    let facts = device.facts(site.facts(today, nominal));
    let at = Site { facts: &facts, percent_of: standard.as_ref().map(|standard| standard.file.percent_of) };
    let Kind::Map(mut entries) = node.kind.clone() else { return None };
    for (key, holding) in &mut entries {
        if MOMENTS.contains(&key.text()) && holding.get(DISPLAYED).is_some() {
            *holding = Holding { device: name, map: &map, site: at, holding, findings: Vec::new() }.settled(findings);
        }
    }
    Some(Node { place: node.place, kind: Kind::Map(entries) })
}

/// One holding with values in the display's words.
struct Holding<'h> {
    device: &'h str,
    map: &'h Rc<LabelMap>,
    site: Site<'h>,
    holding: &'h Node,
    findings: Vec<Finding>,
}

/// One thing that the display says, and where.
struct Entry {
    reading: Reading,
    /// The display's words.
    key: Place,
    value: Place,
    /// How it is known, where it says so itself.
    known: Vec<(Node, Node)>,
}

impl Holding<'_> {
    fn settled(mut self, findings: &mut Vec<Finding>) -> Node {
        let entries = self.entries();
        let entries = self.each_once(entries);
        let node = self.with(&entries);
        findings.append(&mut self.findings);
        node
    }

    fn entries(&mut self) -> Vec<Entry> {
        let mut entries = Vec::new();
        let map = self.map.clone();
        for (key, stated) in self.holding.get(DISPLAYED).map(Node::entries).unwrap_or_default() {
            let label = match map.find(key.text()) {
                Ok(label) => label,
                Err(unfound) => {
                    self.findings.push(unknown(self.device, &map, key, unfound));
                    continue;
                }
            };
            let value = stated.get("value").unwrap_or(stated);
            match label.read(value.text(), self.site, map.own_time) {
                Ok(readings) => entries.extend(readings.into_iter().map(|reading| Entry {
                    reading,
                    key: key.place,
                    value: value.place,
                    known: stated.entries().iter().filter(|(key, _)| key.text() != "value").cloned().collect(),
                })),
                Err(why) => self.findings.push(unread(self.device, label, value.place, why)),
            }
        }
        entries
    }

    /// What is said twice, by two labels or by a label and a setting.
    fn each_once(&mut self, mut entries: Vec<Entry>) -> Vec<Entry> {
        let mut kept: Vec<Entry> = Vec::new();
        // what is only worked out gives way to what is read
        entries.sort_by_key(|entry| entry.reading.follows);
        for entry in entries {
            let says = of_words(entry.reading.of);
            if let Some(stated) = self.stated(entry.reading.of) {
                if !entry.reading.follows {
                    let headline = format!("{}: {says} is stated in the display's words and under `settings` too", self.device);
                    let finding = Finding::unusable("stated-twice", entry.key, headline).because(stated, "here in the catalogue's");
                    self.findings.push(finding.hint("keep one of the two: what was read on the display, or what was read some other way"));
                }
                continue;
            }
            match kept.iter().find(|other| other.reading.of == entry.reading.of) {
                None => kept.push(entry),
                Some(_) if entry.reading.follows => {}
                // a mode and a state may say the same
                Some(other) if other.reading.text == entry.reading.text && other.reading.step.is_none() => {}
                Some(other) => {
                    let headline = format!(
                        "{}: the display says two things of {says}: {} and {}",
                        self.device, other.reading.text, entry.reading.text
                    );
                    let finding = Finding::unusable("stated-twice", entry.key, headline).because(other.key, "here first");
                    self.findings.push(finding.hint("read both again, and keep the one that the device acts by"));
                }
            }
        }
        kept
    }

    /// Where the holding states something in the catalogue's words.
    fn stated(&self, of: Of) -> Option<Place> {
        match of {
            Of::Region => self.holding.entry(REGION_SELECTED).map(|(key, _)| key.place),
            Of::Setting(var) => {
                let function = self.holding.get("settings")?.get(var.setting.function().key)?;
                function.entry(var.setting.parameter().key).map(|(key, _)| key.place)
            }
        }
    }

    /// The holding with its settings, those of the display behind those that are stated.
    fn with(&mut self, entries: &[Entry]) -> Node {
        let place = self.holding.entry(DISPLAYED).map_or(self.holding.place, |(key, _)| key.place);
        let mut parts: Vec<(Node, Node)> = Vec::new();
        let mut settings = (text("settings", place), Node { place, kind: Kind::Map(Vec::new()) });
        for (key, node) in self.holding.entries() {
            match key.text() {
                "settings" => settings = (key.clone(), node.clone()),
                DISPLAYED => {}
                _ => parts.push((key.clone(), node.clone())),
            }
        }
        let mut curves: Vec<SettingId> = Vec::new();
        for entry in entries {
            match entry.reading.of {
                Of::Region => parts.push((text(REGION_SELECTED, entry.key), text(&entry.reading.text, entry.value))),
                Of::Setting(Var { setting, part: Part::Whole | Part::PointCount }) => {
                    put(&mut settings.1, setting, entry.key, self.node_of(setting, entry, text(&entry.reading.text, entry.value)));
                }
                Of::Setting(Var { setting, .. }) if !curves.contains(&setting) => {
                    curves.push(setting);
                    let parts: Vec<&Entry> = entries.iter().filter(|entry| entry.is_of(setting)).collect();
                    if let Some(node) = self.curve(setting, &parts) {
                        put(&mut settings.1, setting, entry.key, node);
                    }
                }
                Of::Setting(_) => {}
            }
        }
        parts.push(settings);
        Node { place: self.holding.place, kind: Kind::Map(parts) }
    }

    /// A curve from its parts; those that the device has fixed stand where the first part is shown.
    fn curve(&mut self, setting: SettingId, parts: &[&Entry]) -> Option<Node> {
        let first = parts.first()?;
        let (mut points, mut missing) = (Vec::new(), Vec::new());
        for n in 0..self.map.points(setting) as u8 {
            let mut axes = Vec::new();
            for part in [Part::X(n), Part::Y(n)] {
                let of = Var { setting, part };
                if let Some(entry) = parts.iter().find(|entry| entry.reading.of == Of::Setting(of)) {
                    axes.push(text(&entry.reading.text, entry.value));
                    continue;
                }
                let label = self.map.labels.iter().find(|label| label.part() == Some(of));
                match label.and_then(|label| Some((label, label.fixed(self.site)?))) {
                    Some((_, Ok(readings))) => axes.extend(readings.first().map(|reading| text(&reading.text, first.value))),
                    Some((label, Err(why))) => self.findings.push(unread(self.device, label, first.value, why)),
                    None => missing.push(label.map_or_else(|| part_words(part), Label::path)),
                }
            }
            points.push(Node { place: axes.first().map_or(first.value, |axis| axis.place), kind: Kind::List(axes) });
        }
        if !missing.is_empty() {
            let headline = format!("{}: of the curve of {} not everything was read", self.device, setting.function().title.to_lowercase());
            let shown = missing.iter().map(|path| format!("`{path}`")).collect::<Vec<_>>();
            self.findings
                .push(Finding::unusable("curve-incomplete", first.key, headline).hint(format!("read these as well: {}", shown.join(", "))));
            return None;
        }
        Some(self.node_of(setting, first, Node { place: first.value, kind: Kind::List(points) }).with_steps(setting, parts))
    }

    /// A value as a site's file would state it, with how it is known and how finely it is shown.
    fn node_of(&self, setting: SettingId, entry: &Entry, value: Node) -> Node {
        let mut group = vec![(text("value", entry.value), value)];
        group.extend(entry.known.iter().cloned());
        if let (Some((size, exact)), Shape::Quantity(dimension)) = (entry.reading.step, setting.parameter().shape) {
            let size = dimension.symbols().next().map_or_else(|| size.to_string(), |symbol| format!("{size} {symbol}"));
            group.push((text("step", entry.value), text(&size, entry.value)));
            group.push((text("exact", entry.value), Node { place: entry.value, kind: Kind::Bool(exact) }));
        }
        match group.len() {
            1 => group.remove(0).1,
            _ => Node { place: entry.value, kind: Kind::Map(group) },
        }
    }
}

/// A label that the map does not have, or has in several menus.
fn unknown(device: &str, map: &LabelMap, key: &Node, unfound: Unfound) -> Finding {
    let finding = |says: String| Finding::unusable("unknown-label", key.place, format!("{device}: {says}"));
    match unfound {
        Unfound::Unknown(meant) => {
            let finding = finding(format!("{} has no label `{}`", map.name(), key.text()));
            match meant {
                Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
                None => finding.hint("`asleft sheet` lists the display's labels for the device"),
            }
        }
        Unfound::Ambiguous(paths) => {
            let finding = finding(format!("`{}` stands in {} menus of {}", key.text(), paths.len(), map.name()));
            let paths: Vec<String> = paths.iter().map(|path| format!("`{path}`")).collect();
            finding.hint(format!("write its menu in front: {}", one_of(&paths)))
        }
    }
}

/// A value that could not be read.
fn unread(device: &str, label: &Label, place: Place, why: Unread) -> Finding {
    let finding = |says: &str| Finding::unusable("displayed-value", place, format!("{device}: \"{}\": {says}", label.words));
    let finding = match why {
        Unread::Slip(slip) => finding(&slip.says).hint(slip.mend),
        Unread::Lacks(Lacks::Fact(fact)) => {
            let says = format!("it hangs on a fact that is not stated: {}", fact.row().title);
            finding(&says).hint(format!("state {}", fact.row().stated_as))
        }
        Unread::Lacks(Lacks::PercentOf) => finding("the standard does not say of what its percentages are, and the display does")
            .hint("state it under `settings`, in the standard's own terms"),
    };
    finding.because(label.place, "what the display means by it")
}

/// The key under which a site states the region.
const REGION_SELECTED: &str = super::building::REGION;

impl Entry {
    fn is_of(&self, setting: SettingId) -> bool {
        matches!(self.reading.of, Of::Setting(var) if var.setting == setting)
    }
}

impl Node {
    /// A curve with how finely its parts are shown: by the coarsest along each axis.
    fn with_steps(self, setting: SettingId, parts: &[&Entry]) -> Self {
        let Shape::Curve { x, y } = setting.parameter().shape else { return self };
        let steps = |is_level: bool| {
            let own = move |entry: &&&Entry| matches!(entry.reading.of, Of::Setting(var) if matches!(var.part, Part::Y(_)) == is_level);
            parts.iter().filter(own).filter_map(|entry| entry.reading.step)
        };
        let coarsest = |is_level| steps(is_level).map(|(size, _)| size).max();
        let (Some(along), Some(across)) = (coarsest(false), coarsest(true)) else { return self };
        let exact = steps(false).chain(steps(true)).all(|(_, exact)| exact);
        let place = self.place;
        let size = |size, dimension: crate::quantity::Dimension| {
            let symbol = dimension.symbols().next();
            text(&symbol.map_or_else(|| format!("{size}"), |symbol| format!("{size} {symbol}")), place)
        };
        let mut group = match self.kind {
            Kind::Map(group) => group,
            _ => vec![(text("value", place), self)],
        };
        group.push((text("step", place), Node { place, kind: Kind::List(vec![size(along, x), size(across, y)]) }));
        group.push((text("exact", place), Node { place, kind: Kind::Bool(exact) }));
        Self { place, kind: Kind::Map(group) }
    }
}

fn text(text: &str, place: Place) -> Node {
    Node { place, kind: Kind::Text(text.to_owned()) }
}

/// Puts a setting where it belongs.
fn put(settings: &mut Node, setting: SettingId, key: Place, node: Node) {
    if !matches!(settings.kind, Kind::Map(_)) {
        settings.kind = Kind::Map(Vec::new()); // an empty `settings:`
    }
    let Kind::Map(functions) = &mut settings.kind else { return };
    let (function, parameter) = (setting.function().key, text(setting.parameter().key, key));
    match functions.iter_mut().find(|(name, _)| name.text() == function) {
        Some((_, Node { kind: Kind::Map(parameters), .. })) => parameters.push((parameter, node)),
        Some((_, other)) => other.kind = Kind::Map(vec![(parameter, node)]),
        None => functions.push((text(function, key), Node { place: key, kind: Kind::Map(vec![(parameter, node)]) })),
    }
}
