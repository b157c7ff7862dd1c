//! Round times beside an axis: as the log's own clock shows them, or from its own nought.

use jiff::civil::{Date, date};
use jiff::{Span, ToSpan};
use logs::Shown;
use response::timeline::Micros;

/// How a picture's times are shown.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    /// By which clock.
    pub shown: Shown,
    /// When the picture begins.
    pub first: Micros,
}

/// A round time.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Seconds since the picture begins.
    pub at: f64,
    /// As people read it.
    pub text: String,
}

const SECOND: Micros = 1_000_000;
const MINUTE: Micros = 60 * SECOND;
const HOUR: Micros = 60 * MINUTE;
const DAY: Micros = 24 * HOUR;

/// Steps that people count in, up to two weeks.
const STEPS: [Micros; 26] = [
    1_000,
    2_000,
    5_000,
    10_000,
    20_000,
    50_000,
    100_000,
    200_000,
    500_000,
    SECOND,
    2 * SECOND,
    5 * SECOND,
    10 * SECOND,
    20 * SECOND,
    30 * SECOND,
    MINUTE,
    2 * MINUTE,
    5 * MINUTE,
    10 * MINUTE,
    20 * MINUTE,
    30 * MINUTE,
    HOUR,
    2 * HOUR,
    3 * HOUR,
    6 * HOUR,
    12 * HOUR,
];
const DAYS: [Micros; 4] = [DAY, 2 * DAY, 7 * DAY, 14 * DAY];
const MONTHS: [i32; 7] = [1, 2, 3, 6, 12, 24, 60];

/// Monday, the fifth of January 1970: weeks begin there.
const A_MONDAY: Micros = 4 * DAY;

impl Clock {
    /// Round times of so many seconds from the beginning on, at most `most` of them or few more.
    pub fn ticks(&self, lasts: f64, most: usize) -> Vec<Tick> {
        let (first, last) = (self.local(0.0), self.local(lasts));
        let at_least = (last - first) / (most.max(1) as Micros);
        let step = STEPS.into_iter().chain(DAYS).find(|step| *step >= at_least);
        match step {
            Some(step) => {
                let begins = if step >= 7 * DAY && !self.is_relative() { A_MONDAY } else { 0 };
                let start = (first - begins).div_euclid(step) * step + begins;
                let moments = (0..).map(|n| start + n * step).skip_while(|at| *at < first).take_while(|at| *at <= last);
                moments.map(|at| self.tick(at, self.text(at, step, last))).collect()
            }
            None if self.is_relative() => {
                let step = at_least.div_euclid(DAY) + 1;
                let days = (0..).map(|n| n * step).take_while(|day| day * DAY <= last).filter(|day| day * DAY >= first);
                days.map(|day| self.tick(day * DAY, format!("{day} d"))).collect()
            }
            None => self.months(first, last, most),
        }
    }

    /// What the times are: a date, a zone, a unit.
    pub fn title(&self, lasts: f64) -> String {
        if self.is_relative() {
            let unit = match self.local(lasts) {
                last if last < HOUR => "min:s",
                last if last < 2 * DAY => "h:min",
                _ => "days",
            };
            let told = self.shown.told();
            return format!("Time{} ({unit})", told.trim_start_matches("times"));
        }
        let (first, last) = (day_of(self.local(0.0)), day_of(self.local(lasts)));
        let zone = self.shown.told();
        let zone = zone.strip_prefix("times ").unwrap_or(&zone);
        let long = |day: Date| format!("{} {} {}", day.day(), month(day), day.year());
        let zone = zone
            .replace("of the zone ", "")
            .replace("in UTC", "UTC")
            .replace("as the log writes them, of a zone that it does not state", "no zone stated");
        if first == last { format!("{}, {zone}", long(first)) } else { format!("{} to {}, {zone}", long(first), long(last)) }
    }

    fn is_relative(&self) -> bool {
        matches!(self.shown, Shown::Relative | Shown::FromBeginning)
    }

    fn offset(&self) -> Micros {
        if let Shown::At(seconds) = self.shown { Micros::from(seconds) * SECOND } else { 0 }
    }

    /// A moment as the clock shows it, in microseconds since its own 1970.
    fn local(&self, seconds: f64) -> Micros {
        self.first + self.offset() + (seconds * 1e6).round() as Micros
    }

    fn tick(&self, local: Micros, text: String) -> Tick {
        Tick { at: (local - self.offset() - self.first) as f64 / 1e6, text }
    }

    fn text(&self, at: Micros, step: Micros, last: Micros) -> String {
        if step >= DAY && self.is_relative() {
            return format!("{} d", at / DAY);
        }
        let day = day_of(at);
        let of_day = if self.is_relative() { at } else { at.rem_euclid(DAY) };
        if !self.is_relative() && (step >= DAY || of_day == 0) {
            return format!("{} {}", day.day(), month(day));
        }
        let (sign, of_day) = (if of_day < 0 { "-" } else { "" }, of_day.abs());
        let (hours, minutes, seconds) = (of_day / HOUR, of_day / MINUTE % 60, of_day / SECOND % 60);
        let fraction = match step {
            SECOND.. => String::new(),
            100_000.. => format!(".{}", of_day / 100_000 % 10),
            _ => format!(".{:03}", of_day / 1_000 % 1000),
        };
        match (self.is_relative(), step >= MINUTE) {
            (true, _) if last < HOUR => format!("{sign}{}:{seconds:02}{fraction}", of_day / MINUTE),
            (true, true) => format!("{sign}{hours}:{minutes:02}"),
            (true, false) => format!("{sign}{hours}:{minutes:02}:{seconds:02}{fraction}"),
            (false, true) => format!("{hours:02}:{minutes:02}"),
            (false, false) => format!("{hours:02}:{minutes:02}:{seconds:02}{fraction}"),
        }
    }

    fn months(&self, first: Micros, last: Micros, most: usize) -> Vec<Tick> {
        let (from, until) = (day_of(first), day_of(last));
        let span = i32::from(until.year() - from.year()) * 12 + i32::from(until.month() - from.month());
        let step = MONTHS.into_iter().find(|step| span / step < most as i32).unwrap_or(120);
        let months = (0..).map_while(|n| date(from.year(), 1, 1).checked_add(Span::new().try_months(n * step).ok()?).ok());
        let shown = months.map(|day| (day, micros_of(day))).skip_while(|(_, at)| *at < first).take_while(|(_, at)| *at <= last);
        let mut year = None;
        shown
            .map(|(day, at)| {
                let is_new = year.replace(day.year()) != Some(day.year());
                let text = if is_new || step >= 12 { format!("{} {}", month(day), day.year()) } else { month(day).to_owned() };
                self.tick(at, text)
            })
            .collect()
    }
}

fn day_of(local: Micros) -> Date {
    let days = local.div_euclid(DAY);
    date(1970, 1, 1).checked_add(days.days()).unwrap_or(Date::ZERO)
}

fn micros_of(day: Date) -> Micros {
    let days = date(1970, 1, 1).until(day).map_or(0, |span| span.get_days());
    Micros::from(days) * DAY
}

fn month(day: Date) -> &'static str {
    const NAMES: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    NAMES[(day.month() - 1) as usize % 12]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-01-14T12:03:00Z.
    const NOON: Micros = 1_768_392_180 * SECOND;

    fn texts(shown: Shown, first: Micros, lasts: f64, most: usize) -> Vec<(f64, String)> {
        Clock { shown, first }.ticks(lasts, most).into_iter().map(|tick| (tick.at, tick.text)).collect()
    }

    fn only_texts(shown: Shown, first: Micros, lasts: f64, most: usize) -> Vec<String> {
        texts(shown, first, lasts, most).into_iter().map(|(_, text)| text).collect()
    }

    #[test]
    fn round_times_by_the_clock_of_the_log() {
        let of = |texts: &[(f64, &str)]| texts.iter().map(|(at, text)| (*at, (*text).to_owned())).collect::<Vec<_>>();
        // 23:03 in a zone eleven hours ahead: midnight is 57 minutes on
        let night = texts(Shown::At(39_600), NOON, 7200.0, 4);
        assert_eq!(night, of(&[(1620.0, "23:30"), (3420.0, "15 Jan"), (5220.0, "00:30"), (7020.0, "01:00")]));
        assert_eq!(only_texts(Shown::AsWritten, NOON, 2.0, 4), ["12:03:00.0", "12:03:00.5", "12:03:01.0", "12:03:01.5", "12:03:02.0"]);
        assert_eq!(texts(Shown::Relative, 0, 70.4, 4), of(&[(0.0, "0:00"), (20.0, "0:20"), (40.0, "0:40"), (60.0, "1:00")]));
        assert_eq!(only_texts(Shown::Relative, 3_000 * SECOND, 7_000.0, 4), ["1:00", "1:30", "2:00", "2:30"]);
        assert_eq!(only_texts(Shown::AsWritten, NOON, 20.0 * 86_400.0, 3), ["19 Jan", "26 Jan", "2 Feb"], "Mondays");
        assert_eq!(only_texts(Shown::AsWritten, NOON, 200.0 * 86_400.0, 4), ["Mar 2026", "May", "Jul"]);
        assert_eq!(texts(Shown::AsWritten, NOON, 200.0 * 86_400.0, 4)[0].0, 45.0 * 86_400.0 + 11.0 * 3600.0 + 57.0 * 60.0);
    }

    #[test]
    fn what_the_times_are_is_said() {
        let title = |shown, lasts| Clock { shown, first: NOON }.title(lasts);
        assert_eq!(title(Shown::At(36_000), 60.0), "14 Jan 2026, UTC+10:00");
        assert_eq!(title(Shown::At(0), 86_400.0), "14 Jan 2026 to 15 Jan 2026, UTC");
        assert_eq!(title(Shown::AsWritten, 60.0), "14 Jan 2026, no zone stated");
        assert_eq!(Clock { shown: Shown::Relative, first: 0 }.title(60.0), "Time from the log's own nought (min:s)");
    }
}
