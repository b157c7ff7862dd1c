//! Counters in files: written while logs are judged, a line a device and day, and read in place of them.

use super::super::{About, Counted, Frame, Seen};
use crate::commands::behaves::asked::DeviceQuery;
use crate::report::behaves_counters::{CountedLog, CountedUnder, CountersKind, CountersLine};
use behaviour::counters::{Counters, Day, RuleDay};
use jiff::ToSpan;
use jiff::civil::Date;
use logs::{Layout, Shown, Spacing};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The version of the form that is written and read.
pub const VERSION: u32 = 1;

/// The lines of a device, where counters are kept.
pub fn lines(seen: &Seen, asked: &DeviceQuery) -> Vec<CountersLine> {
    let Some(under) = &seen.counted_under else { return Vec::new() };
    let log = log(&seen.about, seen.margins.resolution, seen.counted.highest);
    let line = |(day, counts): (&i32, &Day)| CountersLine {
        kind: CountersKind::BehaviourCounters,
        version: VERSION,
        site: asked.site.clone(),
        device: asked.device.clone(),
        day: day_written(*day, log.has_dates),
        counted_under: under.clone(),
        log: log.clone(),
        counts: counts.clone(),
    };
    seen.counted.counters.days.iter().map(line).collect()
}

/// What a device is counted under.
pub fn counted_under(frame: &Frame, asked: &DeviceQuery, as_of: Date) -> CountedUnder {
    let Frame { equipment, setup, margins, known, grid } = frame;
    let mut text = String::new();
    let of_device = (&equipment.device, &equipment.protection);
    // numbers are written so that each is read back as itself
    let _ = write!(text, "{:?} {:?} {setup:?} {margins:?} {known:?} {grid:?} {of_device:?}", asked.rules, asked.beside);
    let sha256 = Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
    CountedUnder { program: env!("CARGO_PKG_VERSION").to_owned(), as_of: as_of.to_string(), sha256 }
}

fn log(about: &About, resolution: [f64; 3], highest: Option<f64>) -> CountedLog {
    let About { layout, spacing, are_means } = about;
    CountedLog {
        columns: layout.words().into_iter().map(str::to_owned).collect(),
        counts_absorbed: layout.counts_absorbed(),
        utc_offset_s: if let Shown::At(seconds) = layout.clock { Some(seconds) } else { None },
        has_dates: matches!(layout.clock, Shown::At(_) | Shown::AsWritten),
        step_us: spacing.usual,
        longest_step_us: spacing.longest,
        are_means: *are_means,
        resolution_milli: resolution.map(|step| (step * 1e3).round() as u32),
        highest_frequency_milli: highest.map(|hertz| (hertz * 1e3).round() as u32),
    }
}

/// What a log was, by what stands in its counters.
pub fn about(log: &CountedLog) -> Option<About> {
    let clock = match (log.has_dates, log.utc_offset_s) {
        (true, Some(seconds)) => Shown::At(seconds),
        (true, None) => Shown::AsWritten,
        (false, _) => Shown::Relative,
    };
    let layout = Layout::of_words(&log.columns, log.counts_absorbed, clock)?;
    let spacing = Spacing { usual: log.step_us, longest: log.longest_step_us };
    Some(About { layout, spacing, are_means: log.are_means })
}

/// The steps in which values were written.
pub fn resolution(log: &CountedLog) -> [f64; 3] {
    log.resolution_milli.map(|step| f64::from(step) / 1e3)
}

const FIRST_DAY: Date = Date::constant(1970, 1, 1);

fn day_written(day: i32, has_dates: bool) -> String {
    let date = FIRST_DAY.checked_add(day.days()).ok().filter(|_| has_dates);
    date.map_or_else(|| day.to_string(), |date| date.to_string())
}

/// The number of a day.
pub fn day_read(text: &str, has_dates: bool) -> Option<i32> {
    if !has_dates {
        return text.parse().ok();
    }
    let date: Date = text.parse().ok()?;
    FIRST_DAY.until(date).ok().map(|span| span.get_days())
}

/// Whether a line was counted under what is asked now.
///
/// # Errors
/// In words, where it was not.
pub fn are_under(line: &CountersLine, under: &CountedUnder) -> Result<(), String> {
    let was = &line.counted_under;
    let differs = match () {
        () if was == under => return Ok(()),
        () if was.program != under.program => format!("by version {} of this program, and this is {}", was.program, under.program),
        () if was.as_of != under.as_of => format!("as of {}, and the question is as of {} (`--as-of`)", was.as_of, under.as_of),
        () => "under other settings, requirements or flags".to_owned(),
    };
    Err(format!("{}: its counters were counted {}; count its log again", terminal::escaped(&line.day), terminal::escaped(&differs)))
}

/// Whether counters are of the rules that are asked about.
///
/// # Errors
/// In words, where they are not.
pub fn fit(counted: &Counted, frame: &Frame, asked: &DeviceQuery) -> Result<(), String> {
    let tried: Vec<usize> = frame.judges(asked).map(|judge| judge.grid.all.len()).collect();
    let fits = |day: &Day| {
        let is_of = |(rule, tried): (&RuleDay, &usize)| rule.constant.is_empty() || rule.constant.len() == *tried;
        day.rules.len() == tried.len() && day.rules.iter().zip(&tried).all(is_of)
    };
    if counted.counters.days.values().all(fits) {
        Ok(())
    } else {
        Err("its counters are of other functions; count its log again".to_owned())
    }
}

/// The counters of one device, from the lines of its days.
///
/// # Errors
/// In words, where they cannot be of one log.
pub fn added_up(lines: &[CountersLine]) -> Result<Counted, String> {
    let Some(first) = lines.first() else { return Ok(Counted::default()) };
    let mut counted = Counted { counters: Counters::default(), highest: None };
    let mut of_day: BTreeMap<i32, Vec<&CountersLine>> = BTreeMap::new();
    for line in lines {
        let frequency = |log: &CountedLog| CountedLog { highest_frequency_milli: None, ..log.clone() };
        if frequency(&line.log) != frequency(&first.log) {
            return Err(format!("{}: its log has another form (columns, clock or step) than that of {}", line.day, first.day));
        }
        let day = day_read(&line.day, line.log.has_dates).ok_or_else(|| format!("`{}` is no day", line.day))?;
        let others = of_day.entry(day).or_default();
        if others.contains(&line) {
            return Err(format!("{}: the same line stands twice: its rows would count twice", line.day));
        }
        others.push(line);
        let sum = counted.counters.days.entry(day).or_default();
        sum.add(&line.counts);
        if let Some(key) = sum.impossible() {
            return Err(format!("{}: its lines together say more under `{key}` than one day has: some rows were counted twice", line.day));
        }
        let highest = line.log.highest_frequency_milli.map(|milli| f64::from(milli) / 1e3);
        counted.highest = counted.highest.into_iter().chain(highest).reduce(f64::max);
    }
    Ok(counted)
}
