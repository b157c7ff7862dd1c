//! `asleft trip-map`: how long a device has to stay on, when it may trip and by when it must be off,
//! against voltage and frequency; and the stages that it holds.

use super::acting::Values;
use super::held::{Held, devices, site};
use super::operand::{Fault, Moment, Operand, RequirementsOperand, SiteOperand, operand};
use super::{CAUTIONS, assessor, refused};
use crate::args::{Format, MapOf, TripMap as Args};
use crate::render::figure::Axis;
use crate::render::regions::{Acts, RegionMap, Strip};
use crate::render::{self, blocks, svg, table};
use crate::report::trip_map::{HeldStageReport, MapReport, SliceReport, TripMapReport};
use crate::walk::write_messages;
use crate::{Exit, files};
use rules::assess::Assessor;
use rules::book::{Book, Counted};
use rules::standing::{Figures, standing};
use rules::trip_map::{Slice, Stay, TripMap, thresholds, trip_map};
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use settings_model::value::Value;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Prints each map, and draws it.
pub fn run(args: &Args) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let maps = match maps(args, &mut assessor) {
        Ok(maps) if maps.is_empty() => return refused(&format!("no stage is required of {}", args.file)),
        Ok(maps) => maps,
        Err(Fault::Findings(findings)) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
        Err(Fault::Words(says)) => return refused(&says),
    };
    let mut out = anstream::stdout().lock();
    match args.format {
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &TripMapReport { maps: maps.iter().map(Map::report).collect() })?;
            writeln!(out)?;
        }
        Format::Text => {
            for map in &maps {
                map.write(&mut out)?;
                if !args.no_plot {
                    writeln!(out, "{}", blocks::plot(&map.picture(), render::width()))?;
                }
            }
            writeln!(out, "{}", render::wrapped(CAUTIONS[0], render::width(), 0))?;
        }
    }
    if let Some(file) = &args.svg {
        for map in &maps {
            let file = if maps.len() == 1 { file.clone() } else { beside(file, map.map.measured.name()) };
            files::write_whole(&file, svg::map(&map.picture(), map.map.measured.name()).as_bytes())?;
            writeln!(io::stderr(), "drawn: {}", file.display())?;
        }
    }
    Ok(Exit::Fine)
}

/// `map.svg` of frequency is `map-frequency.svg`.
fn beside(file: &Path, measured: &str) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let extension = file.extension().map_or("svg".into(), |extension| extension.to_string_lossy());
    file.with_file_name(format!("{stem}-{measured}.{extension}"))
}

/// A map, and whose it is.
struct Map {
    title: String,
    map: TripMap,
    /// Whether thresholds count in per unit, as nobody says of how many volts.
    is_per_unit: bool,
    held: Vec<HeldStage>,
    /// Of how many figures, how many nobody verified.
    figures: Figures,
    /// Whether a device was looked at.
    is_of_device: bool,
}

/// A stage that a device holds.
struct HeldStage {
    threshold: SettingId,
    below: bool,
    at: Exact,
    after: Option<Exact>,
}

fn maps(args: &Args, assessor: &mut Assessor) -> Result<Vec<Map>, Fault> {
    let measured = match args.of {
        Some(MapOf::Voltage) => vec![Dimension::Voltage],
        Some(MapOf::Frequency) => vec![Dimension::Frequency],
        None => vec![Dimension::Voltage, Dimension::Frequency],
    };
    match operand(&args.file, assessor)? {
        Operand::Site(site) => of_site(&site, &measured, assessor),
        Operand::Requirements(requirements) => of_requirements(&requirements, &args.file, &measured),
    }
}

fn of_site(operand: &SiteOperand, measured: &[Dimension], assessor: &mut Assessor) -> Result<Vec<Map>, Fault> {
    let site = site(operand)?;
    let held = devices(operand, &site, operand.moment.unwrap_or(Moment::AsLeft), assessor)?;
    let inverters = held.iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter);
    Ok(inverters.flat_map(|held| measured.iter().filter_map(|measured| of_device(held, *measured))).collect())
}

fn of_device(held: &Held<'_>, measured: Dimension) -> Option<Map> {
    let (book, counted) = held.asked.as_ref()?;
    let map = trip_map(measured, &counted.requirement, &held.facts)?;
    let figures = figures(measured, book, counted);
    let stages = thresholds(measured).filter_map(|(threshold, below)| held_stage(held, threshold, below, &map));
    Some(Map { title: held.title.clone(), held: stages.collect(), map, is_per_unit: false, figures, is_of_device: true })
}

/// A stage as the device holds it, or as the region selected on it brings it.
fn held_stage(held: &Held<'_>, threshold: SettingId, below: bool, map: &TripMap) -> Option<HeldStage> {
    let values = Values::of(held);
    let number = |setting: SettingId| values.value(setting)?.part(Part::Whole)?.at(&held.facts);
    if values.value(threshold.state()?) != Some(&Value::Word(ENABLED)) {
        return None;
    }
    let at = number(threshold)?;
    let stated = ["definite-delay", "clearing-time"].iter().find_map(|key| number(threshold.sibling(key)?));
    // what the region leaves open lies within what is asked past the threshold
    let by_region = || {
        let function = threshold.function().key;
        let mut own = map.slices.iter().filter(|slice| slice.stages.contains(&function));
        let slice = if below { own.next_back() } else { own.next() }?;
        match slice.stays[usize::from(below)] {
            Stay::For(seconds) if held.region_stands => Some(seconds),
            _ => None,
        }
    };
    Some(HeldStage { threshold, below, at, after: stated.or_else(by_region) })
}

fn of_requirements(operand: &RequirementsOperand, word: &str, measured: &[Dimension]) -> Result<Vec<Map>, Fault> {
    let (title, books) = operand.of_one_region(word)?;
    let book = books.on(Equipment::Inverter);
    let mut facts = Facts::default();
    // where nobody says of how many volts, one per unit counts as one
    let nominal = book.rulebook.nominal;
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
        })
    };
    Ok(measured.iter().filter_map(of).collect())
}

/// How many figures stages rest on, and how many of them nobody verified.
fn figures(measured: Dimension, book: &Book, counted: &Counted) -> Figures {
    const KEYS: [&str; 4] = ["threshold", "definite-delay", "clearing-time", "disconnection"];
    let settings = thresholds(measured).flat_map(|(threshold, _)| KEYS.iter().filter_map(move |key| threshold.sibling(key)));
    settings.filter_map(|setting| standing(&counted.requirement.get(setting)?.entry, &book.rulebook)).collect()
}

impl Map {
    fn unit(&self) -> &'static str {
        if self.is_per_unit { "pu" } else { self.map.measured.symbols().next().unwrap_or("") }
    }

    fn shown(&self, value: Exact) -> String {
        if self.is_per_unit { format!("{value} pu") } else { self.map.measured.show(value) }
    }

    /// `180 V to 265 V`, with the edges as people read them.
    fn place(&self, slice: &Slice) -> String {
        match (slice.from, slice.to) {
            (None, Some(to)) => format!("below {}", self.shown(to)),
            (Some(from), None) => format!("above {}", self.shown(from)),
            (Some(from), Some(to)) => format!("{} to {}", self.shown(from), self.shown(to)),
            (None, None) => "everywhere".to_owned(),
        }
    }

    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let what = self.map.measured.name();
        render::title(out, &what.to_uppercase(), &self.title)?;
        let mut table = table::table(["Where", "Must stay on", "May trip", "Must be off", "Stages"], render::width());
        for slice in self.map.slices.iter().rev() {
            let stages: Vec<&str> = slice.stages.iter().filter_map(|key| Some(SettingId::of_function(key)?.function().title)).collect();
            let cells = [self.place(slice), stays(slice), may(slice), off(slice), stages.join("\n")];
            table.add_row(cells.map(|cell| render::unbroken(&cell)));
        }
        writeln!(out, "{}", table::lines(&table, &[]))?;
        for stage in &self.held {
            writeln!(out, "  {}", self.held_words(stage))?;
        }
        if self.is_of_device && self.held.is_empty() {
            writeln!(out, "  nothing is stated of the device's stages")?;
        }
        if let Some(says) = self.figures.warning("of its stages") {
            writeln!(out, "  {}", render::wrapped(&says, render::width() - 2, 2))?;
        }
        if !self.map.withstand_is_asked {
            let says = "The standard's withstand was not seen or is not asked: only the least delays of stages say how long to stay on.";
            writeln!(out, "  {}", render::wrapped(says, render::width() - 2, 2))?;
        }
        writeln!(out)
    }

    fn held_words(&self, stage: &HeldStage) -> String {
        let side = if stage.below { "below" } else { "above" };
        let after =
            stage.after.map_or("after a time that is not known".to_owned(), |after| format!("after {}", Dimension::Time.show(after)));
        format!("the device: {} trips {side} {} {after}", stage.threshold.function().title, self.shown(stage.at))
    }

    fn picture(&self) -> RegionMap {
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
        });
        let held: Vec<Acts> = self
            .held
            .iter()
            .filter_map(|stage| Some(Acts { below: stage.below, at: stage.at.approximate(), after: stage.after?.approximate() }))
            .collect();
        let described: Vec<String> =
            self.map.slices.iter().map(|slice| format!("{}: {}, {}", self.place(slice), stays(slice), off(slice))).collect();
        RegionMap {
            title: format!(
                "{} against duration: {}{}",
                render::capitalised(what),
                self.title,
                if self.figures.unverified > 0 { " (unverified figures)" } else { "" }
            ),
            description: described.join("; "),
            y: Axis { label: render::capitalised(what), unit: self.unit().to_owned(), second: None },
            strips: strips.collect(),
            devices: if held.is_empty() { Vec::new() } else { vec![("the device".to_owned(), held)] },
        }
    }

    fn report(&self) -> MapReport {
        let seconds = |stay: Stay| match stay {
            Stay::Always => None,
            Stay::For(seconds) => Some(seconds.approximate()),
        };
        MapReport {
            of: self.title.clone(),
            measured: self.map.measured.name(),
            unit: self.unit(),
            withstand_known: self.map.withstand_is_asked,
            figures: self.figures.all,
            unverified: self.figures.unverified,
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
                })
                .collect(),
            held: self
                .held
                .iter()
                .map(|stage| HeldStageReport {
                    stage: stage.threshold.function().key,
                    acts: if stage.below { "below" } else { "above" },
                    threshold: stage.at.approximate(),
                    after: stage.after.map(Exact::approximate),
                })
                .collect(),
        }
    }
}

fn time(seconds: Exact) -> String {
    Dimension::Time.show(seconds)
}

fn stays(slice: &Slice) -> String {
    match slice.stays {
        [Stay::For(low), Stay::For(high)] if low != high => format!("{} to {}, along a line", time(low.min(high)), time(low.max(high))),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "not at all".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => time(seconds),
        [Stay::Always, Stay::Always] => "as long as it lasts".to_owned(),
    }
}

fn may(slice: &Slice) -> String {
    match slice.stays {
        [Stay::Always, Stay::Always] => "-".to_owned(),
        [Stay::For(low), Stay::For(high)] if low != high => "after that".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "at once".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => format!("from {}", time(seconds)),
    }
}

fn off(slice: &Slice) -> String {
    slice.off_by.map_or("-".to_owned(), |seconds| format!("by {}", time(seconds)))
}
