//! A map of stages, and whose it is: of a device with what it holds, or of requirements.

use super::words::{average, short, told};
use crate::report::trip_map::{HeldStageReport, MapReport, MeanReport, SliceReport};
use plot::figure::Axis;
use plot::regions::{Acts, MeanLine, RegionMap, Strip};
use replay::acting::{Play, Values, left_out};
use replay::held::{DeviceAtMoment, devices, site};
use rules::assess::Assessor;
use rules::book::{Book, Counted};
use rules::operand::{Moment, Operand, OperandError, RequirementsOperand, SiteOperand};
use rules::phrase::capitalised;
use rules::provenance::{Figures, standing};
use rules::trip_map::{SUSTAINED, Slice, Stay, TripMap, thresholds, trip_map};
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use settings_model::value::Value;

/// A map, and whose it is.
pub struct Map {
    /// Site and device, or the requirements.
    pub title: String,
    /// What is asked.
    pub map: TripMap,
    /// Whether thresholds count in per unit, as nobody says of how many volts.
    pub is_per_unit: bool,
    /// The stages that the device holds.
    pub held: Vec<HeldStage>,
    /// Of how many figures, how many nobody verified.
    pub figures: Figures,
    /// Whether a device was looked at.
    pub is_of_device: bool,
    /// What else makes the device leave, or keeps it from it, and is not on the map.
    pub left_out: Vec<String>,
}

/// A stage that a device holds.
pub struct HeldStage {
    threshold: SettingId,
    below: bool,
    at: Exact,
    /// When it trips; not known of a mean.
    pub when: Trips,
    /// The window of the mean that it looks at, in seconds; `None` where it looks at moments.
    pub window: Option<Exact>,
}

/// When a stage that a device holds trips, in seconds from when its condition began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trips {
    /// Once this has passed.
    After(Exact),
    /// It is off by then; how long it stays on at least its own time does not say.
    OffBy(Exact),
    /// Nobody knows.
    NotKnown,
}

impl Trips {
    /// The seconds that are stated.
    pub fn seconds(self) -> Option<Exact> {
        match self {
            Self::After(seconds) | Self::OffBy(seconds) => Some(seconds),
            Self::NotKnown => None,
        }
    }

    /// Which of several comes first: one whose time nobody knows comes last.
    pub fn order(self) -> (bool, Option<Exact>) {
        (self == Self::NotKnown, self.seconds())
    }
}

impl HeldStage {
    /// Whether it acts at a value of a moment, or at a mean.
    fn acts_at(&self, value: Exact) -> bool {
        if self.below { value < self.at } else { value > self.at }
    }
}

/// The maps of what a word names: for each device, or for requirements in one region. `nominal` is the
/// voltage of requirements that leave it to the site.
pub fn maps(
    operand: &Operand,
    word: &str,
    measured: &[Dimension],
    nominal: Option<Exact>,
    assessor: &mut Assessor,
) -> Result<Vec<Map>, OperandError> {
    match operand {
        Operand::Site(site) => of_site(site, measured, assessor),
        Operand::Requirements(requirements) => of_requirements(requirements, word, measured, nominal),
    }
}

fn of_site(operand: &SiteOperand, measured: &[Dimension], assessor: &mut Assessor) -> Result<Vec<Map>, OperandError> {
    let site = site(operand)?;
    let held = devices(operand, &site, operand.moment.unwrap_or(Moment::AsLeft), assessor)?;
    let inverters = held.iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter);
    Ok(inverters.flat_map(|held| measured.iter().filter_map(|measured| of_device(held, *measured))).collect())
}

fn of_device(held: &DeviceAtMoment<'_>, measured: Dimension) -> Option<Map> {
    let (book, counted) = held.asked.as_ref()?;
    let map = trip_map(measured, &counted.requirement, &held.facts)?;
    let figures = figures(measured, book, counted);
    let stages = thresholds(measured).filter_map(|(threshold, below)| held_stage(held, threshold, below, &map));
    let of_mean = if measured == Dimension::Voltage { held_limit(held) } else { None };
    let left_out = left_out(&Values::of(held), Play::Stages);
    Some(Map {
        title: held.title.clone(),
        held: stages.chain(of_mean).collect(),
        map,
        is_per_unit: false,
        figures,
        is_of_device: true,
        left_out,
    })
}

/// A stage as the device holds it, or as the region selected on it brings it.
fn held_stage(held: &DeviceAtMoment<'_>, threshold: SettingId, below: bool, map: &TripMap) -> Option<HeldStage> {
    let values = Values::of(held);
    let number = |setting: SettingId| values.value(setting)?.part(Part::Whole)?.at(&held.facts);
    if values.value(threshold.state()?) != Some(&Value::Word(ENABLED)) {
        return None;
    }
    let at = number(threshold)?;
    let stated = |key| number(threshold.sibling(key)?);
    let when = ["definite-delay", "operate-time"].into_iter().find_map(stated).map(Trips::After);
    // what the region leaves open lies within what is asked past the threshold
    let by_region = || {
        let function = threshold.function().key;
        let mut own = map.slices.iter().filter(|slice| slice.stages.contains(&function));
        let slice = if below { own.next_back() } else { own.next() }?;
        match slice.stays[usize::from(below)] {
            Stay::For(seconds) if held.region_stands => Some(Trips::After(seconds)),
            _ => None,
        }
    };
    let when = when.or_else(|| stated("clearing-time").map(Trips::OffBy)).or_else(by_region).unwrap_or(Trips::NotKnown);
    Some(HeldStage { threshold, below, at, when, window: None })
}

/// The limit on the mean that the device holds, or that its region brings.
fn held_limit(held: &DeviceAtMoment<'_>) -> Option<HeldStage> {
    let values = Values::of(held);
    let number = |setting: SettingId| values.value(setting)?.part(Part::Whole)?.at(&held.facts);
    if values.value(SUSTAINED.state()?) != Some(&Value::Word(ENABLED)) {
        return None;
    }
    let window = SUSTAINED.sibling("averaging-window").and_then(number).unwrap_or(Exact::new(600, 0));
    Some(HeldStage { threshold: SUSTAINED, below: false, at: number(SUSTAINED)?, when: Trips::NotKnown, window: Some(window) })
}

fn of_requirements(
    operand: &RequirementsOperand,
    word: &str,
    measured: &[Dimension],
    nominal: Option<Exact>,
) -> Result<Vec<Map>, OperandError> {
    let (title, books) = operand.of_one_region(word)?;
    let book = books.on(Equipment::Inverter);
    let mut facts = Facts::default();
    // where nobody says of how many volts, one per unit counts as one
    let nominal = nominal.or(book.rulebook.nominal);
    facts.set_number(FactId::NominalVoltage, nominal.unwrap_or(Exact::ONE));
    let counted = book.requirement(&facts, &[]);
    let of = |measured: &Dimension| {
        let map = trip_map(*measured, &counted.requirement, &facts)?;
        let is_per_unit = nominal.is_none() && *measured == Dimension::Voltage;
        Some(Map {
            title: title.clone(),
            map,
            is_per_unit,
            held: Vec::new(),
            figures: figures(*measured, book, &counted),
            is_of_device: false,
            left_out: Vec::new(),
        })
    };
    Ok(measured.iter().filter_map(of).collect())
}

/// How many figures stages rest on, and how many of them nobody verified.
fn figures(measured: Dimension, book: &Book, counted: &Counted) -> Figures {
    const KEYS: [&str; 6] = ["threshold", "definite-delay", "operate-time", "clearing-time", "disconnection", "averaging-window"];
    let of_mean = (measured == Dimension::Voltage).then_some((SUSTAINED, false));
    let settings = thresholds(measured).chain(of_mean).flat_map(|(threshold, _)| KEYS.iter().filter_map(move |key| threshold.sibling(key)));
    settings.filter_map(|setting| standing(&counted.requirement.get(setting)?.entry, &book.rulebook)).collect()
}

impl Map {
    /// Voltage or frequency.
    pub fn measured(&self) -> Dimension {
        self.map.measured
    }

    /// The slice that treats a value, in the unit of the map. A stage acts past its threshold, so an edge
    /// belongs to what lies nearer to nominal.
    pub fn slice_at(&self, value: Exact, nominal: Exact) -> &Slice {
        let reaches = |slice: &&Slice| match value < nominal {
            true => slice.from.is_none_or(|from| from <= value) && slice.to.is_none_or(|to| value < to),
            false => slice.from.is_none_or(|from| from < value) && slice.to.is_none_or(|to| value <= to),
        };
        self.map.slices.iter().find(reaches).expect("slices leave no gap")
    }

    /// Of the stages that the device holds and that act at a value, the one that trips first; one whose time
    /// nobody knows comes last.
    pub fn held_at(&self, value: Exact) -> Option<&HeldStage> {
        let acting = self.held.iter().filter(|stage| stage.window.is_none() && stage.acts_at(value));
        acting.min_by_key(|stage| stage.when.order())
    }

    /// The limit on the mean that the device holds, where a value that stays leads past it.
    pub fn held_mean_at(&self, value: Exact) -> Option<&HeldStage> {
        self.held.iter().find(|stage| stage.window.is_some() && stage.acts_at(value))
    }

    /// The unit of thresholds.
    pub fn unit(&self) -> &'static str {
        if self.is_per_unit { "pu" } else { self.map.measured.symbols().next().unwrap_or("") }
    }

    /// `265 V`.
    pub fn shown(&self, value: Exact) -> String {
        if self.is_per_unit { format!("{value} pu") } else { self.map.measured.show(value) }
    }

    /// `180 V to 265 V`, with the edges as people read them.
    pub fn place(&self, slice: &Slice) -> String {
        match (slice.from, slice.to) {
            (None, Some(to)) => format!("below {}", self.shown(to)),
            (Some(from), None) => format!("above {}", self.shown(from)),
            (Some(from), Some(to)) => format!("{} to {}", self.shown(from), self.shown(to)),
            (None, None) => "everywhere".to_owned(),
        }
    }

    /// `the device: Overvoltage, stage 1 trips above 265 V after 1.5 s`, or `is off by 2 s above 265 V`.
    pub fn held_words(&self, stage: &HeldStage) -> String {
        let side = if stage.below { "below" } else { "above" };
        if let Some(window) = stage.window {
            let (title, average) = (short(stage.threshold.function().title), average(window));
            return format!("the device: {title} trips once {average} is {side} {}", self.shown(stage.at));
        }
        let (title, at) = (stage.threshold.function().title, self.shown(stage.at));
        match stage.when {
            Trips::After(seconds) => format!("the device: {title} trips {side} {at} after {}", Dimension::Time.show(seconds)),
            Trips::OffBy(seconds) => format!("the device: {title} trips {side} {at}; it is off by {}", Dimension::Time.show(seconds)),
            Trips::NotKnown => format!("the device: {title} trips {side} {at} after a time that is not known"),
        }
    }

    /// As a picture.
    pub fn picture(&self) -> RegionMap {
        let what = self.map.measured.name();
        let seconds = |stay: Stay| match stay {
            Stay::Always => None,
            Stay::For(seconds) => Some(seconds.approximate()),
        };
        let strips = self.map.slices.iter().map(|slice| Strip {
            from: slice.from.map(Exact::approximate),
            to: slice.to.map(Exact::approximate),
            stays: slice.stays.map(seconds),
            off_by: slice.off_by.map(Exact::approximate),
            by_mean: slice.by_mean,
        });
        let held: Vec<Acts> = self
            .held
            .iter()
            .filter_map(|stage| Some(Acts { below: stage.below, at: stage.at.approximate(), after: stage.when.seconds()?.approximate() }))
            .collect();
        let are_latest = self.held.iter().any(|stage| matches!(stage.when, Trips::OffBy(_)));
        let line = if are_latest { "the device trips, or is off by then" } else { "the device trips" };
        let described: Vec<String> =
            self.map.slices.iter().map(|slice| format!("{}: {}.", capitalised(&self.place(slice)), told(slice, self))).collect();
        RegionMap {
            title: format!(
                "{} against duration: {}{}",
                capitalised(what),
                self.title,
                if self.figures.unverified() > 0 { " (unverified figures)" } else { "" }
            ),
            description: described.join(" "),
            y: Axis { label: capitalised(what), unit: self.unit().to_owned(), second: None },
            strips: strips.collect(),
            devices: if held.is_empty() { Vec::new() } else { vec![(line.to_owned(), held)] },
            means: self.mean_lines(),
        }
    }

    /// The limits on a mean: what is asked, and what the device holds, once where they are alike.
    fn mean_lines(&self) -> Vec<MeanLine> {
        let line = |at: Exact, window: Exact, words: &str| MeanLine {
            at: at.approximate(),
            label: format!("{} above {}: {words}", capitalised(&average(window)), self.shown(at)),
        };
        let held = self.held.iter().find_map(|stage| Some((stage.at, stage.window?)));
        let mut lines: Vec<MeanLine> = held.iter().map(|(at, window)| line(*at, *window, "the device trips")).collect();
        if let Some(mean) = &self.map.mean {
            let mut asked = mean.above.to_vec();
            asked.dedup();
            asked.retain(|at| held.is_none_or(|(held, _)| held != *at));
            lines.extend(
                asked.into_iter().map(|at| line(at, mean.window, if at == mean.above[1] { "trips, as required" } else { "may trip" })),
            );
        }
        lines
    }

    /// The machine-readable form.
    pub fn report(&self) -> MapReport {
        let seconds = |stay: Stay| match stay {
            Stay::Always => None,
            Stay::For(seconds) => Some(seconds.approximate()),
        };
        MapReport {
            of: self.title.clone(),
            measured: self.map.measured.name(),
            unit: self.unit(),
            withstand_known: self.map.withstand_is_asked,
            figures: self.figures,
            mean: self.map.mean.as_ref().map(|mean| MeanReport {
                stage: mean.function,
                above: mean.above.map(Exact::approximate),
                window: mean.window.approximate(),
                off_within: mean.off_within.map(Exact::approximate),
            }),
            left_out: self.left_out.clone(),
            slices: self
                .map
                .slices
                .iter()
                .map(|slice| SliceReport {
                    from: slice.from.map(Exact::approximate),
                    to: slice.to.map(Exact::approximate),
                    stays: slice.stays.map(seconds),
                    off_by: slice.off_by.map(Exact::approximate),
                    stages: slice.stages.clone(),
                    by_mean: slice.by_mean,
                })
                .collect(),
            held: self
                .held
                .iter()
                .map(|stage| HeldStageReport {
                    stage: stage.threshold.function().key,
                    acts: if stage.below { "below" } else { "above" },
                    threshold: stage.at.approximate(),
                    after: if let Trips::After(seconds) = stage.when { Some(seconds.approximate()) } else { None },
                    off_by: if let Trips::OffBy(seconds) = stage.when { Some(seconds.approximate()) } else { None },
                    window: stage.window.map(Exact::approximate),
                })
                .collect(),
        }
    }
}
