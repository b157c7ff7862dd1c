//! From a label map's file to the map, every fault at its place.

use super::unit::{Unit, dimension};
use super::{Label, LabelMap, Number, Sign, Takes, reading};
use crate::catalogue::{Equipment, HeldBy, SettingId, Shape};
use crate::claim::{Part, Var};
use crate::exact::Exact;
use crate::files::{LabelMapFile, LabelText};
use crate::finding::{Finding, nearest};
use crate::located::At;
use crate::notation;
use crate::quantity::Dimension;
use crate::slip::{Slip, one_of};
use crate::source::{Place, SourceId};

/// What a label may be of besides a setting.
pub(super) const REGION: &str = "region-selected";

/// Reads the name of a setting that a display may show.
///
/// # Errors
/// What is wrong with the name, and how to mend it.
pub fn labelled(name: &str) -> Result<Option<SettingId>, Slip> {
    if name == REGION {
        return Ok(None);
    }
    let Some(setting) = SettingId::named(name) else {
        let known: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
        let help = match nearest(name, known.iter().map(String::as_str).chain([REGION])) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("`asleft list settings` names every setting; `{REGION}` is the region"),
        };
        return Err(Slip::new(format!("`{name}` is no setting"), help));
    };
    let held = setting.function().held_by.iter().any(|kind| *kind != Equipment::Installation);
    match setting.sibling("clearing-time") {
        _ if !held => Err(Slip::new(format!("`{name}` is held by no device"), "leave the label out")),
        Some(clearing) if setting.parameter().held_by == HeldBy::TypeTest => Err(Slip::new(
            format!("`{name}` is shown by the type test, and no display sets it"),
            format!("a time until disconnected that is entered is `{clearing}`"),
        )),
        _ => Ok(Some(setting)),
    }
}

impl LabelMap {
    /// The map that a file says.
    ///
    /// # Errors
    /// Every fault of its labels.
    pub fn of(source: SourceId, file: &LabelMapFile) -> Result<Self, Vec<Finding>> {
        let texts: Vec<&LabelText> = file.labels.iter().collect();
        let (labels, faults) = built(&texts);
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Self {
            source,
            family: file.family.value.clone(),
            title: file.title.clone(),
            invented: file.invented,
            models: file.models.iter().map(|model| model.value.clone()).collect(),
            firmware: (file.firmware.value.clone(), file.firmware.place),
            certified_to: file.certified_to.iter().map(|at| (at.value.clone(), at.place)).collect(),
            confirmed: file.confirmed.clone(),
            own_time: file.own_time.map(|time| time.number),
            labels,
        })
    }
}

/// What is wrong with labels, each by itself and all together.
#[must_use]
pub fn faults(texts: &[&LabelText]) -> Vec<Finding> {
    built(texts).1
}

fn built(texts: &[&LabelText]) -> (Vec<Label>, Vec<Finding>) {
    let (mut labels, mut faults) = (Vec::new(), Vec::new());
    for text in texts {
        match (Building { text, faults: Vec::new() }).label() {
            Ok(label) => labels.push(label),
            Err(own) => faults.extend(own),
        }
    }
    faults.extend(shown_twice(&labels));
    if faults.is_empty() {
        faults.extend(curves_with_gaps(&labels));
    }
    (labels, faults)
}

/// One label on its way.
struct Building<'t> {
    text: &'t LabelText,
    faults: Vec<Finding>,
}

impl Building<'_> {
    fn place(&self) -> Place {
        let LabelText { display, setting, fixed, .. } = self.text;
        let first =
            display.iter().map(|at| at.place).chain(setting.iter().map(|at| at.place)).chain(fixed.iter().map(|at| at.place)).next();
        let word = self.text.words.0.iter().map(|(_, word)| word.place).next();
        let mode = self.text.modes.0.iter().flat_map(|(_, means)| means.0.iter().map(|(_, word)| word.place)).next();
        first.or(word).or(mode).unwrap_or(Place::NOWHERE)
    }

    fn fault(&mut self, place: Place, slip: Slip) {
        self.faults.push(Finding::unusable("label", place, slip.says).hint(slip.help));
    }

    fn label(mut self) -> Result<Label, Vec<Finding>> {
        let place = self.place();
        let text = self.text;
        let words = match (&text.display, &text.fixed) {
            (Some(display), None) if !display.value.trim().is_empty() => display.value.trim().to_owned(),
            (Some(display), None) => {
                self.fault(display.place, Slip::new("the display's words are empty", "write them as the display shows them"));
                String::new()
            }
            (None, Some(_)) => String::new(),
            (Some(_), Some(fixed)) => {
                self.fault(fixed.place, Slip::new("a part that is fixed, and the display's words for it", "leave one of the two out"));
                String::new()
            }
            (None, None) => {
                self.fault(
                    place,
                    Slip::new("the label has no words", "add `display: …`, or `fixed: …` for a part that the display does not show"),
                );
                String::new()
            }
        };
        let takes = self.takes(place);
        match takes.filter(|_| self.faults.is_empty()) {
            Some(takes) => Ok(Label { words, menu: text.menu.clone(), takes, note: text.note.clone(), place }),
            None => Err(self.faults),
        }
    }

    fn takes(&mut self, place: Place) -> Option<Takes> {
        let text = self.text;
        match (&text.setting, text.modes.0.is_empty()) {
            (None, true) => {
                self.fault(
                    place,
                    Slip::new(
                        "the label does not say what it is of",
                        "add `setting: …`, or `modes: …` where one word means several settings",
                    ),
                );
                None
            }
            (Some(setting), false) => {
                self.fault(setting.place, Slip::new("a setting beside `modes`", "leave one of the two out: each mode names its settings"));
                None
            }
            (None, false) => {
                self.stray(&["unit", "part", "resolution", "rounded", "positive", "directions", "words", "fixed"], "a label of modes");
                self.modes()
            }
            // a name that is no setting is reported by the schema
            (Some(setting), true) => match labelled(&setting.value).ok()? {
                None => {
                    self.stray(&["unit", "part", "resolution", "rounded", "positive", "directions", "fixed"], "the region");
                    self.regions(setting)
                }
                Some(id) => self.of_setting(id, setting.place),
            },
        }
    }

    /// Keys that say nothing of such a label.
    fn stray(&mut self, keys: &[&str], of: &str) {
        let LabelText { part, unit, resolution, rounded, positive, directions, words, fixed, .. } = self.text;
        let place_of = |key: &str| match key {
            "part" => part.as_ref().map(|at| at.place),
            "unit" => unit.as_ref().map(|at| at.place),
            "resolution" => resolution.as_ref().map(|at| at.place),
            "rounded" => rounded.as_ref().map(|at| at.place),
            "positive" => positive.as_ref().map(|at| at.place),
            "directions" => directions.as_ref().map(|at| at.place),
            "fixed" => fixed.as_ref().map(|at| at.place),
            _ => words.0.first().map(|(_, word)| word.place),
        };
        for (key, place) in keys.iter().filter_map(|key| Some((key, place_of(key)?))) {
            self.fault(place, Slip::new(format!("`{key}` says nothing of {of}"), "leave it out"));
        }
    }

    fn modes(&mut self) -> Option<Takes> {
        let mut modes = Vec::new();
        for (word, means) in &self.text.modes.0 {
            let mut settings = Vec::new();
            for (name, value) in &means.0 {
                let known = match labelled(name) {
                    Ok(Some(setting)) => Ok(setting),
                    Ok(None) => Err(Slip::new("a mode does not select a region", "give the region a label of its own")),
                    Err(slip) => Err(slip),
                };
                let word = known.and_then(|setting| match setting.parameter().shape {
                    Shape::Choice(words) => notation::word(words, &value.value).map(|word| (setting, word)),
                    _ => Err(Slip::new(
                        format!("`{name}` is no word, so no mode stands for it"),
                        "name the `state` or another word that the mode means",
                    )),
                });
                match word {
                    Ok(means) => settings.push(means),
                    Err(slip) => self.fault(value.place, slip),
                }
            }
            modes.push((word.clone(), settings));
        }
        Some(Takes::Modes(modes))
    }

    fn regions(&mut self, setting: &At<String>) -> Option<Takes> {
        if self.text.words.0.is_empty() {
            self.fault(setting.place, Slip::new("no words for the regions", "add `words: { \"the display's word\": region }`"));
        }
        Some(Takes::Regions(self.text.words.0.iter().map(|(word, region)| (word.clone(), region.value.clone())).collect()))
    }

    fn of_setting(&mut self, setting: SettingId, place: Place) -> Option<Takes> {
        match setting.parameter().shape {
            Shape::Choice(known) => {
                self.stray(&["unit", "part", "resolution", "rounded", "positive", "directions", "fixed"], "a setting of words");
                self.words(setting, known, place)
            }
            Shape::Quantity(_) => {
                self.stray(&["part"], "a setting that is no curve");
                self.number(Var::from(setting), place)
            }
            Shape::Curve { .. } => {
                let part = self.part(setting, place)?;
                self.number(Var { setting, part }, place)
            }
        }
    }

    fn words(&mut self, setting: SettingId, known: &[&str], place: Place) -> Option<Takes> {
        if self.text.words.0.is_empty() {
            let help = format!("add `words: {{ \"the display's word\": … }}`: {}", one_of(known));
            self.fault(place, Slip::new(format!("no words for {setting}"), help));
        }
        let mut words = Vec::new();
        for (shown, meant) in &self.text.words.0 {
            match notation::word(known, &meant.value) {
                Ok(word) => words.push((shown.clone(), word)),
                Err(slip) => self.fault(meant.place, slip),
            }
        }
        Some(Takes::Words(setting, words))
    }

    fn part(&mut self, setting: SettingId, place: Place) -> Option<Part> {
        let Some(part) = &self.text.part else {
            let help = "add `part: point 1` for where the first point lies, or `part: level at point 1` for its level";
            self.fault(place, Slip::new(format!("`{setting}` is a curve, and the label does not say which part of it"), help));
            return None;
        };
        let (is_level, number) = match part.value.strip_prefix("level at ") {
            Some(rest) => (true, rest),
            None => (false, part.value.as_str()),
        };
        let number = number.strip_prefix("point ").and_then(|n| n.trim().parse::<usize>().ok());
        match number.filter(|n| (1..=notation::MAX_POINTS).contains(n)) {
            Some(n) if is_level => Some(Part::Y(n as u8 - 1)),
            Some(n) => Some(Part::X(n as u8 - 1)),
            None => {
                let help = "write `point 2`, or `level at point 2`; points count from 1";
                self.fault(part.place, Slip::new(format!("`{}` is no part of a curve", part.value), help));
                None
            }
        }
    }

    fn number(&mut self, of: Var, place: Place) -> Option<Takes> {
        self.stray(&["words"], "a number");
        let (word, at) = self.text.unit.as_ref().map_or(("", place), |unit| (unit.value.as_str(), unit.place));
        let unit = match Unit::named(of, word) {
            Ok(unit) => unit,
            Err(slip) => {
                self.fault(at, slip);
                return None;
            }
        };
        let sign = self.sign(of, place);
        let mut number = Number { unit, resolution: None, rounded: self.text.rounded.as_ref().is_some_and(|at| at.value), sign };
        if let Some(resolution) = &self.text.resolution {
            match reading::bare(&number, &resolution.value) {
                Ok(step) if step > Exact::ZERO => number.resolution = Some(step),
                Ok(_) => self.fault(
                    resolution.place,
                    Slip::new("a resolution above zero belongs here", format!("write it as `{}`", unit.show(Exact::ONE))),
                ),
                Err(slip) => self.fault(resolution.place, slip),
            }
        } else if let Some(rounded) = self.text.rounded.as_ref().filter(|at| at.value) {
            self.fault(
                rounded.place,
                Slip::new("rounded to what, the label does not say", format!("add `resolution: {}`", unit.show(Exact::ONE))),
            );
        }
        if let Some(fixed) = &self.text.fixed
            && let Err(slip) = reading::shown(&number, &fixed.value)
        {
            self.fault(fixed.place, slip);
        }
        Some(Takes::Number { of, number, fixed: self.text.fixed.as_ref().map(|at| at.value.clone()) })
    }

    /// Reactive power has a sign, and displays differ in it; so it is said, and never taken for granted.
    fn sign(&mut self, of: Var, place: Place) -> Sign {
        let is_signed = of.setting.sibling("direction").is_some() && of.part == Part::Whole && of.setting.parameter().key != "direction"
            || matches!((of.setting.function().key, of.part), ("volt-var" | "watt-var", Part::Y(_)));
        let (positive, directions) = (&self.text.positive, &self.text.directions);
        match (is_signed, positive, directions) {
            (false, ..) => {
                self.stray(&["positive", "directions"], "a number without direction");
                Sign::None
            }
            (true, Some(_), Some(words)) => {
                self.fault(words.place, Slip::new("words for the direction beside a sign for it", "leave one of the two out"));
                Sign::None
            }
            (true, Some(way), None) => Sign::Positive(way.value),
            (true, None, Some(words)) => Sign::Words(words.value.clone()),
            // an amount may have its direction in a label of its own
            (true, None, None) if of.part == Part::Whole => Sign::None,
            (true, None, None) => {
                let help = "add `positive: absorbing` or `positive: supplying`, or `directions: { absorbing: …, supplying: … }` where words say it";
                self.fault(place, Slip::new("which way a number without a minus sign goes is not said", help));
                Sign::None
            }
        }
    }
}

/// One place of a display shows one thing.
fn shown_twice(labels: &[Label]) -> Vec<Finding> {
    let twice = |(n, label): (usize, &Label)| {
        let same = |other: &&Label| other.path().eq_ignore_ascii_case(&label.path());
        let first = labels[..n].iter().filter(|other| other.is_shown()).find(same)?;
        let finding = Finding::unusable("label-twice", label.place, format!("\"{}\" stands twice in the same menu", label.words));
        Some(finding.because(first.place, "here first").hint("say in which menu each is found, as `menu: …`, or keep one"))
    };
    labels.iter().enumerate().filter(|(_, label)| label.is_shown()).filter_map(twice).collect()
}

/// A curve is read from all of its parts, so none may be missing from the map.
fn curves_with_gaps(labels: &[Label]) -> Vec<Finding> {
    let mut curves: Vec<(SettingId, Place)> = Vec::new();
    for (var, place) in labels.iter().filter_map(|label| Some((label.part()?, label.place))) {
        if matches!(var.setting.parameter().shape, Shape::Curve { .. }) && curves.iter().all(|(known, _)| *known != var.setting) {
            curves.push((var.setting, place));
        }
    }
    let has = |setting, part| labels.iter().any(|label| label.part() == Some(Var { setting, part }));
    let gap = |(setting, place): (SettingId, Place)| {
        let parts = labels.iter().filter_map(Label::part).filter(|var| var.setting == setting);
        let last = parts.filter_map(|var| if let Part::X(n) | Part::Y(n) = var.part { Some(n) } else { None }).max()?;
        let wanted = (0..=last).flat_map(|n| [Part::X(n), Part::Y(n)]);
        let missing: Vec<String> = wanted.filter(|part| !has(setting, *part)).map(part_words).collect();
        let finding = Finding::unusable("curve-incomplete", place, format!("of {setting} the map lacks {}", missing.join(", ")));
        (!missing.is_empty()).then(|| finding.hint("add a label for each, or `fixed: …` for what the device does not let anybody set"))
    };
    curves.into_iter().filter_map(gap).collect()
}

/// `point 2`, `level at point 2`; nothing of a whole.
pub(super) fn part_words(part: Part) -> String {
    match part {
        Part::X(n) => format!("point {}", n + 1),
        Part::Y(n) => format!("level at point {}", n + 1),
        Part::Whole | Part::PointCount => String::new(),
    }
}

/// What a part measures, for messages.
pub(super) fn measures(of: Var) -> &'static str {
    dimension(of).map_or("value", Dimension::name)
}
