//! What one device held at one moment, from the words of its display to settings.

use super::building::part_words;
use super::displayed::{DISPLAYED, unknown, unread};
use super::reading::{Of, Reading, of_words};
use super::unit::Site;
use super::{Label, LabelMap};
use crate::catalogue::{SettingId, Shape};
use crate::claim::{Evidence, Part, Var};
use crate::document::{Kind, Node};
use crate::exact::Exact;
use crate::finding::Finding;
use crate::quantity::Dimension;
use crate::source::Place;

/// One holding with values in the display's words.
pub(super) struct Holding<'h> {
    device: &'h str,
    map: &'h LabelMap,
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

impl<'h> Holding<'h> {
    pub(super) fn new(device: &'h str, map: &'h LabelMap, site: Site<'h>, holding: &'h Node) -> Self {
        Self { device, map, site, holding, findings: Vec::new() }
    }

    /// The holding with what is displayed among its settings.
    pub(super) fn settled(mut self, findings: &mut Vec<Finding>) -> Node {
        let entries = self.entries();
        let entries = self.each_once(entries);
        let node = self.with(&entries);
        findings.append(&mut self.findings);
        node
    }

    fn entries(&mut self) -> Vec<Entry> {
        let mut entries = Vec::new();
        let map = self.map;
        for (key, stated) in self.holding.get(DISPLAYED).map(Node::entries).unwrap_or_default() {
            let label = match map.find(key.text()) {
                Ok(label) => label,
                Err(unfound) => {
                    self.findings.push(unknown(self.device, map, key, unfound));
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
        let mut group = vec![(text("value", first.value), Node { place: first.value, kind: Kind::List(points) })];
        group.extend(self.least_known(parts).into_iter().flat_map(|entry| entry.known.iter().cloned()));
        group.extend(steps(setting, parts, first.value).into_iter().flatten());
        Some(grouped(group, first.value))
    }

    /// The part of a curve that is known in the weakest way: the whole is known no better. `None` where
    /// that is the way of the holding.
    fn least_known<'e>(&self, parts: &[&'e Entry]) -> Option<&'e Entry> {
        let rank = |word: Option<&str>| word.and_then(Evidence::named).map_or(Evidence::ALL.len(), |kind| kind as usize);
        let own = |entry: &Entry| entry.known.iter().find(|(key, _)| key.text() == "known-by").map(|(_, word)| word.text().to_owned());
        let of_holding = rank(self.holding.get("known-by").map(Node::text));
        let weakest = parts.iter().max_by_key(|entry| own(entry).map_or(of_holding, |word| rank(Some(&word))))?;
        own(weakest).map(|_| *weakest)
    }

    /// A value as a site's file would state it, with how it is known and how finely it is shown.
    fn node_of(&self, setting: SettingId, entry: &Entry, value: Node) -> Node {
        let mut group = vec![(text("value", entry.value), value)];
        group.extend(entry.known.iter().cloned());
        if let (Some((size, exact)), Shape::Quantity(dimension)) = (entry.reading.step, setting.parameter().shape) {
            group.push((text("step", entry.value), text(&with_unit(size, dimension), entry.value)));
            group.push((text("exact", entry.value), Node { place: entry.value, kind: Kind::Bool(exact) }));
        }
        grouped(group, entry.value)
    }
}

/// A bare value, or a group of what is said of it.
fn grouped(mut group: Vec<(Node, Node)>, place: Place) -> Node {
    match group.len() {
        1 => group.remove(0).1,
        _ => Node { place, kind: Kind::Map(group) },
    }
}

/// The key under which a site states the region.
const REGION_SELECTED: &str = super::building::REGION;

impl Entry {
    fn is_of(&self, setting: SettingId) -> bool {
        matches!(self.reading.of, Of::Setting(var) if var.setting == setting)
    }
}

/// How finely the parts of a curve are shown: by the coarsest along each axis; `None` where no part says.
fn steps(setting: SettingId, parts: &[&Entry], place: Place) -> Option<[(Node, Node); 2]> {
    let Shape::Curve { x, y } = setting.parameter().shape else { return None };
    let along = |is_level: bool| {
        let own = move |entry: &&&Entry| matches!(entry.reading.of, Of::Setting(var) if matches!(var.part, Part::Y(_)) == is_level);
        parts.iter().filter(own).filter_map(|entry| entry.reading.step)
    };
    let coarsest = |is_level| along(is_level).map(|(size, _)| size).max();
    let finest = Exact::new(1, Exact::MAX_DIGITS as u32);
    let sizes = match (coarsest(false), coarsest(true)) {
        (None, None) => return None,
        (size, level) => [size.unwrap_or(finest), level.unwrap_or(finest)],
    };
    let exact = along(false).chain(along(true)).all(|(_, exact)| exact);
    let [size, level] = [(sizes[0], x), (sizes[1], y)].map(|(size, dimension)| text(&with_unit(size, dimension), place));
    let steps = Node { place, kind: Kind::List(vec![size, level]) };
    Some([(text("step", place), steps), (text("exact", place), Node { place, kind: Kind::Bool(exact) })])
}

fn with_unit(size: Exact, dimension: Dimension) -> String {
    dimension.symbols().next().map_or_else(|| size.to_string(), |symbol| format!("{size} {symbol}"))
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
