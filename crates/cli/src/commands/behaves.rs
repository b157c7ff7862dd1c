//! `asleft behaves`: whether a device did what it is set to do, by a log of measurements.

mod accuracy;
mod asked;
mod fleet;
mod looks_like;
mod part;
mod people;
mod picture;
mod programs;
mod together;
mod words;

use super::logged::{self, Begun, Refused, expected, prove_means};
use super::operand::{Operand, operand};
use super::{assessor, day, refused};
use crate::args::{Behaves, BehavesFormat, MeasuredAt, QPositive};
use crate::report::behaves::BehavesReport;
use crate::report::behaves_counters::CountedUnder;
use crate::{Exit, files, render};
use asked::{DeviceQuery, Judged, asked};
use behaviour::band::{Judge, Margins};
use behaviour::counters::{Counters, Day};
use behaviour::counting::Counting;
use behaviour::deciding::{Answer, Known, Verdict, decide, decide_timed};
use behaviour::function::Function;
use behaviour::happenings::{Happenings, Margin};
use behaviour::hypotheses::{Counts, Grid, Place};
use behaviour::needs::Lacks;
use behaviour::reading::Setup;
use behaviour::resolution::resolution;
use behaviour::stretches::{OneStretch, Stretches};
use behaviour::thresholds::{MOST_RISE, RESPONSE_TIME};
use logs::{Layout, LeftOut, Log, Shown, Spacing};
use part::Part;
use plot::figure::Figure;
use plot::svg;
use replay::acting::{Equipment, Measured, equipment};
use replay::held::site;
use replay::playing::sample;
use replay::subjects::{NoSite, Subject, subjects};
use response::timeline::Values;
use rules::assess::Assessor;
use std::io::{self, Write};
use std::path::Path;

/// How far frequency may lie off, in hertz (IEEE 1547-2018, table 3, as test scripts for IEEE 1547.1 restate it).
const FREQUENCY_ERROR: f64 = 0.01;
/// A wait of a minute is seen in steps below this, in seconds.
const LONGEST_STEP: f64 = 30.0;

/// Judges a log, or those of many sites.
pub fn run(args: &Behaves) -> io::Result<Exit> {
    if args.fleet {
        return fleet::run(args);
    }
    if args.logs.len() > 1 {
        return refused("several logs are named: of one device name one, or judge many sites with `--fleet`");
    }
    let mut assessor = assessor(&args.under)?;
    let (report, figures) = match judged(args, &mut assessor) {
        Ok(judged) => judged,
        Err(refused) => return logged::write_refused(refused, args.log(), &mut assessor),
    };
    let mut out = terminal::stdout();
    match args.format {
        BehavesFormat::Json => render::json(&mut out, &report)?,
        BehavesFormat::Ndjson => {
            return refused("`--format ndjson` is one device a line, with `--fleet`; of one device say `--format json`");
        }
        BehavesFormat::Text => people::write(&mut out, &report, args.all.then_some(&figures))?,
    }
    if let Some(file) = &args.svg {
        draw(file, &figures)?;
    }
    Ok(if report.is_fine() { Exit::Fine } else { Exit::NotFine })
}

/// Draws each picture; of several, one file each.
fn draw(file: &Path, figures: &[(&'static str, Figure)]) -> io::Result<()> {
    if figures.is_empty() {
        return writeln!(terminal::stderr(), "nothing is drawn: no response to voltage was judged over 10 minutes at any volt");
    }
    for (key, figure) in figures {
        let file = if figures.len() > 1 { files::one_of_several(file, key) } else { file.to_owned() };
        files::write_whole(&file, svg::svg(figure, key).as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(&file))?;
    }
    Ok(())
}

type Pictures = Vec<(&'static str, Figure)>;

fn judged(args: &Behaves, assessor: &mut Assessor) -> Result<(BehavesReport, Pictures), Refused> {
    let functions = functions(&args.functions)?;
    let operands = [(args.site.as_str(), operand(&args.site, assessor)?)];
    let [(_, Operand::Site(of))] = &operands else {
        return Err("name a site's file: a log is of a device, and requirements are none".to_owned().into());
    };
    let (sites, bare) = ([Some(site(of)?)], NoSite::default());
    let subjects = subjects(&operands, &sites, &bare, assessor)?;
    let all = subjects.iter().map(|subject| asked(&subject.held, &operands[0].1, args, &functions)).collect::<Result<Vec<_>, _>>();
    let (subject, asked) = match &subjects[..] {
        [subject] => (subject, all?.remove(0)),
        [subject, ..] if args.together => (subject, together::together(all?)),
        _ => return Err(which_one(args, &subjects).into()),
    };
    let mut log = Log::open(args.log(), &logged::options(&args.form)?)?;
    let seen = seen(args, subject, &asked, &mut log)?;
    let known = known(subject, &asked, &seen, assessor);
    Ok((programs::report(args, &asked, &seen, &known), picture::figures(&asked, &seen)))
}

/// What to say where a site has several inverters.
fn which_one(args: &Behaves, subjects: &[Subject<'_>]) -> String {
    let names: Vec<&str> = subjects.iter().map(|subject| subject.held.name).collect();
    format!(
        "the site has several inverters: name the one that the log is of, as in `{}:{}` (it has {}), or say `--together` where the log \
         is of all of them",
        args.site,
        names[0],
        names.join(", ")
    )
}

/// What a response that departs may be mistaken for; where nothing departs, nobody has to look, and of several inverters
/// together nobody can.
fn known(subject: &Subject<'_>, asked: &DeviceQuery, seen: &Seen, assessor: &mut Assessor) -> looks_like::Known {
    let has_departed = seen.verdicts.iter().any(|verdict| verdict.answer == Answer::Departs);
    if has_departed && !asked.are_several() { looks_like::known(&subject.held, asked, assessor) } else { looks_like::Known::default() }
}

/// The functions that somebody asks about; all where nobody names any.
fn functions(keys: &[String]) -> Result<Vec<Function>, String> {
    let known = || Function::ALL.map(Function::key).join(", ");
    let find = |key: &String| Function::of_key(key.trim()).ok_or_else(|| format!("--functions: `{key}` is none of {}", known()));
    if keys.is_empty() { Ok(Function::ALL.to_vec()) } else { keys.iter().map(find).collect() }
}

/// What was seen of a device.
pub struct Seen {
    about: About,
    setup: Setup,
    margins: Margins,
    known: Known,
    grid: Grid,
    counted: Counted,
    days: usize,
    total: Day,
    left_out: Vec<LeftOut>,
    /// In the order of the rules that were counted.
    verdicts: Vec<Verdict>,
    stretches: Vec<(Vec<OneStretch>, u64)>,
    /// What it was counted under, where counters are kept.
    counted_under: Option<CountedUnder>,
    /// Which part of the log was judged, where it is not all of it; in words.
    parts: Vec<String>,
}

impl Seen {
    /// A day for people.
    fn day(&self, day: i32) -> String {
        match self.about.layout.clock {
            Shown::At(_) | Shown::AsWritten => part::date(day),
            Shown::Relative | Shown::FromBeginning => format!("day {} of the log", day + 1),
        }
    }
}

/// What a log is, as far as anything is decided by it.
#[derive(Clone)]
pub struct About {
    layout: Layout,
    spacing: Spacing,
    are_means: bool,
}

/// What was counted of it.
#[derive(Default)]
pub struct Counted {
    counters: Counters,
    /// The highest frequency, in hertz.
    highest: Option<f64>,
}

/// What a device's log is held against.
struct Frame {
    equipment: Equipment,
    setup: Setup,
    margins: Margins,
    known: Known,
    grid: Grid,
}

fn seen(args: &Behaves, subject: &Subject<'_>, asked: &DeviceQuery, log: &mut Log) -> Result<Seen, Refused> {
    let held = &subject.held;
    let Begun { mut rows, mut plausible, spacing, are_means, shift } = logged::begin(log, &args.form, expected(held))?;
    let about = About { layout: log.layout.clone(), spacing, are_means };
    let frame = frame(args, subject, asked, &about, |phases| resolution(&rows, phases))?;
    let Frame { equipment, setup, margins, known, grid } = &frame;
    let mut counting = Counting::new(&asked.rules, &asked.beside, grid, setup, *margins);
    let values = Values { phases: equipment.phases.len(), are_means, prove_means: prove_means(are_means, spacing) };
    let margin = Margin { volts: known.accuracy.volts, hertz: FREQUENCY_ERROR, watts: margins.tolerance + known.accuracy.watts };
    let mut happenings = Happenings::new(&equipment.device, &equipment.protection, values, setup, margin);
    let mut highest = f64::NEG_INFINITY;
    let mut part = Part::of(held, asked.moment, about.layout.clock);
    while !rows.is_empty() {
        for row in &rows {
            if !part.takes(row, setup) {
                continue;
            }
            counting.push(row);
            if !asked.are_several() {
                happenings.push(sample(row, equipment, setup.is_net), row.power());
            }
            highest = highest.max(row.frequency());
        }
        rows = log.more_into(rows)?;
        plausible.volts(&mut rows, &about.layout)?;
        rows.iter_mut().for_each(|row| row.at -= shift);
    }
    plausible.end(&about.layout)?;
    let parts = part.told()?;
    let (mut counters, stretches) = counting.end();
    counters.take_in(happenings.days);
    let counted = Counted { counters, highest: Some(highest).filter(|hertz| hertz.is_finite()) };
    let counted_under = args.counters.is_some().then(|| fleet::counted_under(&frame, asked, day(&args.under)));
    let seen = frame.decided(asked, about, counted);
    let stretches = stretches.into_iter().map(Stretches::longest).collect();
    Ok(Seen { stretches, left_out: plausible.left_out().to_vec(), counted_under, parts, ..seen })
}

/// What the log of a device is held against; `resolution` is in which steps it writes the values of these phases.
fn frame(
    args: &Behaves,
    subject: &Subject<'_>,
    asked: &DeviceQuery,
    about: &About,
    resolution: impl FnOnce(&[usize]) -> [f64; 3],
) -> Result<Frame, Refused> {
    let (held, About { layout, spacing, .. }) = (&subject.held, about);
    if !layout.has_power() {
        let help = "log it beside the voltage, as `P [kW]`, or say which column it is: `--columns \"power=HEADING [kW]\"`";
        return Err(
            logs::LogError::new("no-power", "no column is the power that the device gives: nobody knows when it was on", help).into()
        );
    }
    let measured =
        Measured { phases: layout.phases(), frequency: layout.has_frequency(), available: layout.has_available(), load: layout.has_load() };
    let equipment = equipment(held, &subject.relays, measured)?;
    let setup = Setup {
        nominal: expected(held).nominal,
        rated: asked.rated,
        nameplate: asked.nameplate,
        phases: if asked.are_several() { (0..layout.phases()).collect() } else { equipment.phases.clone() },
        is_net: layout.is_net(),
        step: spacing.usual,
        longest: spacing.longest,
        response_time: asked.response_time.max(RESPONSE_TIME),
        spread: args.spread.as_deref().map(|text| accuracy::spread(text, held)).transpose()?,
        day_shift: if let Shown::At(seconds) = layout.clock { i64::from(seconds) * 1_000_000 } else { 0 },
    };
    let accuracy = accuracy::accuracy(args.accuracy.as_deref(), setup.nominal, setup.rated)?;
    let known = Known {
        accuracy,
        place: place(args.measured_at),
        counts: counts(args.q_positive, layout.counts_absorbed())?,
        is_tolerance_assumed: asked.tolerance.is_assumed,
        has_available: layout.has_available(),
        has_reactive: layout.has_reactive(),
        is_fine: setup.is_fine(),
        rated: setup.rated,
    };
    let margins = Margins { tolerance: asked.tolerance.watts, tolerance_volts: 0.0, accuracy, resolution: resolution(&setup.phases) };
    let most_rise = if known.place == Place::Terminals { 0.0 } else { MOST_RISE * setup.nominal };
    let grid = Grid::new(accuracy.volts, most_rise, setup.phases.len(), known.counts);
    Ok(Frame { equipment, setup, margins, known, grid })
}

impl Frame {
    /// What is asked, rule by rule.
    fn judges<'f>(&'f self, asked: &'f DeviceQuery) -> impl Iterator<Item = Judge<'f>> {
        asked.rules.iter().map(|rule| Judge::new(rule.clone(), &asked.beside, &self.grid, &self.setup, self.margins))
    }

    /// What was counted shows of each function.
    fn decided(self, asked: &DeviceQuery, about: About, counted: Counted) -> Seen {
        let counters = &counted.counters;
        let judges = self.judges(asked).enumerate();
        let mut verdicts: Vec<Verdict> = judges.map(|(place, judge)| decide(&judge, place, counters, &self.known)).collect();
        let Self { setup, margins, known, grid, .. } = self;
        let timed = asked.functions.iter().filter(|function| function.judged == Judged::ByTime).map(|function| function.function);
        let highest = counted.highest.unwrap_or(f64::NEG_INFINITY);
        let lacks = |function| timed_lacks(function, &about.layout, asked, highest);
        verdicts.extend(timed.filter_map(|function| decide_timed(function, counters, &known, lacks(function))));
        Seen {
            about,
            margins,
            known,
            grid,
            days: counters.days.len(),
            total: counters.total(),
            left_out: Vec::new(),
            stretches: vec![(Vec::new(), 0); verdicts.len()],
            verdicts,
            setup,
            counted,
            counted_under: None,
            parts: Vec::new(),
        }
    }
}

/// What would show a function that answers at a time.
fn timed_lacks(function: Function, layout: &Layout, asked: &DeviceQuery, highest: f64) -> Lacks {
    match function {
        Function::Trips => Lacks::Trip,
        Function::Reconnection => Lacks::Return(LONGEST_STEP),
        _ if !layout.has_frequency() => Lacks::Column("f [Hz]"),
        _ => Lacks::Hertz(asked.over_frequency_from.unwrap_or(f64::NAN) + FREQUENCY_ERROR, highest),
    }
}

fn place(measured_at: Option<MeasuredAt>) -> Place {
    match measured_at {
        Some(MeasuredAt::Terminals) => Place::Terminals,
        Some(MeasuredAt::Switchboard) => Place::Between,
        Some(MeasuredAt::Supply) => Place::Supply,
        None => Place::NotStated,
    }
}

/// Which way vars are counted: by the heading, or as somebody says.
fn counts(q_positive: Option<QPositive>, is_absorbed: Option<bool>) -> Result<Counts, String> {
    match (is_absorbed, q_positive) {
        (Some(true), Some(QPositive::Supplies)) => {
            Err("--q-positive supplies: the heading says that it counts what is absorbed".to_owned())
        }
        (Some(false), Some(QPositive::Absorbs)) => Err("--q-positive absorbs: the heading says that it counts what is supplied".to_owned()),
        // rows hold what is supplied, whichever the heading says
        (Some(_), _) | (None, Some(QPositive::Supplies)) => Ok(Counts::Supplies),
        (None, Some(QPositive::Absorbs)) => Ok(Counts::Absorbs),
        (None, None) => Ok(Counts::NotStated),
    }
}
