//! From a setting to where it is found on the display, and what is to be entered there.

use super::building::part_words;
use super::reading::other_time;
use super::unit::{Site, nearest_multiple};
use super::{Label, LabelMap, Number, Sign, Takes};
use crate::catalogue::SettingId;
use crate::claim::{Part, Var};
use crate::exact::Exact;
use crate::files::DirectionWord;
use crate::settings::Step;
use crate::value::Value;

/// A setting, or a part of it, on a display.
#[derive(Clone, Debug)]
pub struct OnDisplay<'m> {
    /// The label.
    pub label: &'m Label,
    /// Of a curve, which part: `point 2`.
    pub part: Option<String>,
    /// Where the label is of another time of the stage: which.
    pub other_time: Option<SettingId>,
    /// What to enter; `None` where no value is meant, or it cannot be worked out.
    pub enter: Option<Enter>,
}

/// What to enter on a display.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enter {
    /// As the display shows it.
    pub text: String,
    /// Whether it is just what was meant; otherwise the nearest that the display can show.
    pub is_exact: bool,
}

/// The catalogue's words for a direction, by their places in its list.
const ABSORBING: u8 = 0;
const SUPPLYING: u8 = 1;

impl LabelMap {
    /// The label of a part of a setting.
    #[must_use]
    pub fn label_of(&self, of: Var) -> Option<&Label> {
        let shows = |label: &&Label| match &label.takes {
            Takes::Number { of: own, .. } => *own == of,
            Takes::Words(setting, _) => Var::from(*setting) == of,
            _ => false,
        };
        let is_mode_of = |label: &&Label| matches!(label.takes, Takes::Modes(_)) && label.settings().contains(&of.setting);
        let is_signed = |label: &&Label| label.part().is_some() && label.settings().contains(&of.setting);
        let shown = || self.labels.iter().filter(|label| label.is_shown());
        shown()
            .find(shows)
            .or_else(|| shown().find(is_mode_of))
            .or_else(|| shown().find(is_signed).filter(|_| of.setting.parameter().key == "direction"))
    }

    /// The label of the region.
    #[must_use]
    pub fn region(&self, region: &str) -> Option<(&Label, Option<&str>)> {
        self.labels.iter().filter(|label| label.is_shown()).find_map(|label| match &label.takes {
            Takes::Regions(words) => Some((label, words.iter().find(|(_, own)| own == region).map(|(word, _)| word.as_str()))),
            _ => None,
        })
    }

    /// Where a setting is found on the display, and what to enter there for a value; a curve part by
    /// part. `fits` says whether a word that a mode brings with it is as asked.
    #[must_use]
    pub fn on_display(
        &self,
        setting: SettingId,
        value: Option<&Value>,
        site: Site<'_>,
        fits: &dyn Fn(SettingId, u8) -> bool,
    ) -> Vec<OnDisplay<'_>> {
        let points = self.points(setting);
        if points > 0 {
            let parts = (0..points as u8).flat_map(|n| [Part::X(n), Part::Y(n)]).map(|part| Var { setting, part });
            return parts.filter_map(|of| self.part_on_display(of, value, site, fits)).collect();
        }
        self.part_on_display(setting.into(), value, site, fits).into_iter().collect()
    }

    /// How finely the display shows a value that stands on its steps; `None` where it does not, or where
    /// the map does not say.
    #[must_use]
    pub fn step_of(&self, setting: SettingId, value: &Value, site: Site<'_>) -> Option<Step> {
        let step_of = |part: Part| {
            let label = self.label_of(Var { setting, part }).filter(|label| label.part() == Some(Var { setting, part }))?;
            let Takes::Number { of, number, .. } = &label.takes else { return None };
            let (ratio, resolution) = (number.unit.ratio(*of, site).ok()?, number.resolution?);
            let shown = ratio.to_shown(value.part(part)?.at(site.facts)?)?;
            let stands = shown.off_by > Exact::ZERO || nearest_multiple(shown.number, resolution)? == shown.number;
            let size = ratio.step_to_base(resolution, shown.off_by)?;
            stands.then_some((size, shown.off_by == Exact::ZERO && !number.rounded))
        };
        match value {
            Value::Quantity(_) => step_of(Part::Whole).map(|(size, exact)| Step { size, level: None, exact }),
            Value::Curve(points) => {
                let parts = |part: fn(u8) -> Part| (0..points.len() as u8).filter_map(move |n| step_of(part(n)));
                let (along, across): (Vec<_>, Vec<_>) = (parts(Part::X).collect(), parts(Part::Y).collect());
                let coarsest = |steps: &[(Exact, bool)]| steps.iter().map(|(size, _)| *size).max();
                let exact = along.iter().chain(&across).all(|(_, exact)| *exact);
                Some(Step { size: coarsest(&along)?, level: Some(coarsest(&across)?), exact })
            }
            Value::Never | Value::Word(_) => None,
        }
    }

    fn part_on_display(
        &self,
        of: Var,
        value: Option<&Value>,
        site: Site<'_>,
        fits: &dyn Fn(SettingId, u8) -> bool,
    ) -> Option<OnDisplay<'_>> {
        let part = (of.part != Part::Whole).then(|| part_words(of.part));
        if let Some(label) = self.label_of(of) {
            return Some(OnDisplay { label, part, other_time: None, enter: value.and_then(|value| label.enter(of, value, site, fits)) });
        }
        // the display may go by another time of the stage
        let key = match of.setting.parameter().key {
            "definite-delay" => "clearing-time",
            "clearing-time" => "definite-delay",
            _ => return None,
        };
        let other = of.setting.sibling(key)?;
        let label = self.label_of(other.into()).or_else(|| self.label_of(other.bare_time()?.into()))?;
        let time = value.and_then(|value| value.part(Part::Whole)?.at(site.facts));
        let worked_out = time.zip(self.own_time).and_then(|(time, own)| other_time(of.setting, time, own));
        let enter = worked_out.and_then(|(_, time)| label.enter_number(time, site));
        Some(OnDisplay { label, part, other_time: label.part().map(|var| var.setting), enter })
    }
}

impl Label {
    /// What to enter for a value of a part of a setting.
    #[must_use]
    pub fn enter(&self, of: Var, value: &Value, site: Site<'_>, fits: &dyn Fn(SettingId, u8) -> bool) -> Option<Enter> {
        let just = |text: &str| Enter { text: text.to_owned(), is_exact: true };
        match (&self.takes, value) {
            (Takes::Number { of: own, number, .. }, _) if *own == of => {
                let base = value.part(of.part)?.at(site.facts)?;
                let direction = of.setting.sibling("direction").filter(|_| number.sign != Sign::None && of.part == Part::Whole);
                let base = match direction.map(|direction| [fits(direction, ABSORBING), fits(direction, SUPPLYING)]) {
                    None | Some([false, true]) => base,
                    Some([true, false]) => -base,
                    // an amount whose direction is open cannot be entered
                    Some(_) if base != Exact::ZERO => return None,
                    Some(_) => base,
                };
                self.enter_number(base, site)
            }
            (Takes::Words(_, words), Value::Word(wanted)) => words.iter().find(|(_, word)| word == wanted).map(|(shown, _)| just(shown)),
            (Takes::Modes(modes), Value::Word(wanted)) => {
                let brings = |means: &[(SettingId, u8)]| {
                    means.contains(&(of.setting, *wanted))
                        && means.iter().all(|(setting, word)| *setting == of.setting || fits(*setting, *word))
                };
                modes.iter().find(|(_, means)| brings(means)).map(|(shown, _)| just(shown))
            }
            _ => None,
        }
    }

    /// What to enter for a number of base units.
    fn enter_number(&self, base: Exact, site: Site<'_>) -> Option<Enter> {
        let Takes::Number { of, number, .. } = &self.takes else { return None };
        let shown = number.unit.ratio(*of, site).ok()?.to_shown(base)?;
        let entered = match number.resolution {
            Some(step) => nearest_multiple(shown.number, step)?,
            None => shown.number.rounded(6),
        };
        Some(Enter { text: number.show(entered), is_exact: shown.off_by == Exact::ZERO && entered == shown.number })
    }
}

impl Number {
    /// A number, positive where reactive power is supplied, as the display shows it.
    #[must_use]
    pub fn show(&self, number: Exact) -> String {
        match &self.sign {
            Sign::Positive(DirectionWord::Absorbing) => self.unit.show(-number),
            Sign::Words(_) if number == Exact::ZERO => self.unit.show(number),
            Sign::Words(words) => {
                let word = if number < Exact::ZERO { &words.absorbing } else { &words.supplying };
                format!("{} {word}", self.unit.show(number.abs()))
            }
            Sign::None | Sign::Positive(DirectionWord::Supplying) => self.unit.show(number),
        }
    }
}
