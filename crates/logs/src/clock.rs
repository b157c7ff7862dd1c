//! Time stamps, in whole microseconds.

use super::calendar::{DateOrder, calendar, readings};
use jiff::Timestamp;
use jiff::tz::Offset;
use response::timeline::{LONGEST, Micros};

/// Microseconds of a second.
const SECOND: Micros = 1_000_000;

/// How a log's times are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// As the clock of this offset from UTC, in seconds, shows them.
    At(i32),
    /// As the log writes them; nobody says of which zone.
    AsWritten,
    /// From the log's own nought.
    Relative,
    /// From the beginning of a scenario.
    FromBeginning,
}

impl Shown {
    /// A time for people: `2026-01-14 12:03:10`, or `1:02:03` from nought.
    pub fn time(self, at: Micros) -> String {
        let offset = match self {
            Self::Relative | Self::FromBeginning => return span(at),
            Self::At(seconds) => Offset::from_seconds(seconds).unwrap_or(Offset::UTC),
            Self::AsWritten => Offset::UTC,
        };
        let Ok(time) = Timestamp::from_microsecond(at) else { return format!("{at} µs") };
        let time = offset.to_datetime(time);
        let fraction = time.subsec_nanosecond() / 1_000_000;
        let fraction = if fraction > 0 { format!(".{fraction:03}") } else { String::new() };
        format!("{} {:02}:{:02}:{:02}{fraction}", time.date(), time.hour(), time.minute(), time.second())
    }

    /// The hour of the day, from 0; `None` where nobody says what day it is.
    pub fn hour(self, at: Micros) -> Option<usize> {
        let offset = match self {
            Self::Relative | Self::FromBeginning => return None,
            Self::At(seconds) => Micros::from(seconds) * SECOND,
            Self::AsWritten => 0,
        };
        Some(((at + offset).div_euclid(3600 * SECOND)).rem_euclid(24) as usize)
    }

    /// In words.
    pub fn told(self) -> String {
        match self {
            Self::At(0) => "times in UTC".to_owned(),
            Self::At(seconds) => {
                let (sign, minutes) = (if seconds < 0 { '-' } else { '+' }, seconds.abs() / 60);
                format!("times of the zone UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60)
            }
            Self::AsWritten => "times as the log writes them, of a zone that it does not state".to_owned(),
            Self::Relative => "times from the log's own nought".to_owned(),
            Self::FromBeginning => "times from the beginning".to_owned(),
        }
    }
}

/// `1:02:03.5` from nought.
fn span(at: Micros) -> String {
    let (sign, at) = (if at < 0 { "-" } else { "" }, at.unsigned_abs());
    let (seconds, millis) = (at / 1_000_000, at / 1000 % 1000);
    let fraction = if millis > 0 { format!(".{millis:03}") } else { String::new() };
    format!("{sign}{}:{:02}:{:02}{fraction}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// How time stamps are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Written {
    /// Date and time, with an offset or without; a date whose parts may stand in several orders in this one.
    Calendar(Option<DateOrder>),
    /// A number of so many microseconds.
    Counted(i64),
}

/// Reads the time stamps of one log, all written alike.
#[derive(Clone, Debug)]
pub struct Clock {
    written: Written,
    pub shown: Shown,
    decimal: u8,
    /// The last stamp up to its minute, what follows its seconds, and the minute's own time.
    minute: Vec<u8>,
    rest: Vec<u8>,
    base: Micros,
}

/// Why time stamps cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub enum Unclear {
    /// This is no time.
    NoTime(String),
    /// It may be several days: in words, and the orders.
    SeveralDays(String, Vec<DateOrder>),
}

impl From<String> for Unclear {
    fn from(says: String) -> Self {
        Self::NoTime(says)
    }
}

/// The first stamps of a log.
#[derive(Clone, Copy, Debug)]
pub struct Stamps<'s> {
    /// As many of them as were looked at.
    pub first: &'s [String],
    /// The unit of their heading.
    pub unit: Option<&'s str>,
    /// What parts decimals.
    pub decimal: u8,
    /// Which part of a date stands first, where somebody says.
    pub order: Option<DateOrder>,
}

impl Clock {
    /// How time stamps are written, by the first of them.
    pub fn of(stamps: Stamps<'_>) -> Result<Self, Unclear> {
        let Stamps { first, unit, decimal, .. } = stamps;
        let text = first.first().map_or("", String::as_str);
        let new = |written, shown| Self { written, shown, decimal, minute: Vec::new(), rest: Vec::new(), base: 0 };
        let Some(number) = super::number::number(text.as_bytes(), decimal).filter(|number| !number.is_nan()) else {
            let order = stamps.order()?;
            let (_, offset) = calendar(text, order)?;
            return Ok(new(Written::Calendar(order), offset.map_or(Shown::AsWritten, Shown::At)));
        };
        if unit.is_none() && are_days_of_a_spreadsheet(first, decimal) {
            let says = format!("`{text}` looks like a spreadsheet's own number of a day, and not like seconds");
            return Err(format!("{says}: format the column as date and time, and save the log again").into());
        }
        let per_unit = match unit {
            Some("ms") => 1_000,
            Some("us" | "µs") => 1,
            Some("min") => 60 * SECOND,
            Some("h") => 3600 * SECOND,
            Some("s") => SECOND,
            Some(other) => return Err(format!("`{other}` is no unit of time; write [s], [ms], [min] or [h]").into()),
            // seconds, milliseconds or microseconds since 1970 are told apart by their size
            None => match number {
                1e11..1e14 => 1_000,
                1e14..1e17 => 1,
                _ => SECOND,
            },
        };
        // since 1970 is after 1973
        let shown = if number * per_unit as f64 >= 1e14 { Shown::At(0) } else { Shown::Relative };
        Ok(new(Written::Counted(per_unit), shown))
    }

    /// A stamp in microseconds.
    #[inline]
    pub fn read(&mut self, cell: &[u8]) -> Result<Micros, String> {
        match self.written {
            Written::Counted(per_unit) => counted(cell, per_unit, self.decimal),
            Written::Calendar(order) => match self.within_minute(cell) {
                Some(at) => Ok(at),
                None => self.anew(cell, order),
            },
        }
    }

    /// A stamp of the same minute as the one before.
    #[inline]
    fn within_minute(&self, cell: &[u8]) -> Option<Micros> {
        let seconds = cell.strip_prefix(self.minute.as_slice()).filter(|_| !self.minute.is_empty())?;
        let digit = |byte: &u8| Some(i64::from(byte.wrapping_sub(b'0'))).filter(|digit| *digit < 10);
        let whole = digit(seconds.first()?)? * 10 + digit(seconds.get(1)?)?;
        let mut at = self.base + whole * SECOND;
        let mut rest = &seconds[2..];
        if let [b'.' | b',', fraction @ ..] = rest {
            let mut scale = SECOND / 10;
            rest = fraction;
            while let Some(digit) = rest.first().and_then(digit) {
                at += digit * scale;
                scale /= 10;
                rest = &rest[1..];
            }
        }
        (whole < 60 && rest == self.rest).then_some(at)
    }

    fn anew(&mut self, cell: &[u8], order: Option<DateOrder>) -> Result<Micros, String> {
        let text = std::str::from_utf8(cell).unwrap_or_default().trim();
        let (at, offset) = calendar(text, order)?;
        if offset.is_some() != matches!(self.shown, Shown::At(_)) {
            return Err("some time stamps have an offset from UTC and some have none".to_owned());
        }
        self.minute.clear();
        if let Some((minute, seconds)) = at_seconds(text) {
            self.minute = minute.as_bytes().to_vec();
            let after = seconds.bytes().position(|b| !b.is_ascii_digit() && !matches!(b, b'.' | b',')).unwrap_or(seconds.len());
            self.rest = seconds.as_bytes()[after..].to_vec();
            self.base = at.div_euclid(60 * SECOND) * 60 * SECOND;
        }
        Ok(at)
    }

    /// Which part of a date stands first, where that had to be found.
    pub fn order(&self) -> Option<DateOrder> {
        if let Written::Calendar(order) = self.written { order } else { None }
    }
}

/// Whether stamps are days since 1900, with the time as a fraction: within a lifetime of today, and as seconds they would
/// all lie within a few.
fn are_days_of_a_spreadsheet(stamps: &[String], decimal: u8) -> bool {
    let numbers: Vec<f64> = stamps.iter().filter_map(|stamp| super::number::number(stamp.as_bytes(), decimal)).collect();
    let [Some(first), Some(last)] = [numbers.first(), numbers.last()] else { return false };
    let is_day = |number: &f64| (25_000.0..80_000.0).contains(number);
    let steps = numbers.len().saturating_sub(1) as f64;
    steps >= 2.0 && numbers.iter().all(is_day) && (last - first) / steps < 0.02 && numbers.iter().any(|number| number.fract() != 0.0)
}

/// A stamp up to and with the colon before its seconds, `2026-01-14T12:03:`, and from them on.
fn at_seconds(text: &str) -> Option<(&str, &str)> {
    let hours = text.find(':')?;
    let is_seconds = text.as_bytes().get(hours + 3) == Some(&b':') && text.as_bytes().get(hours + 5).is_some_and(u8::is_ascii_digit);
    is_seconds.then(|| text.split_at(hours + 4))
}

impl Stamps<'_> {
    /// Which part of the dates stands first; `None` where they are written in one way only.
    fn order(&self) -> Result<Option<DateOrder>, Unclear> {
        let Some(first) = self.first.first() else { return Ok(None) };
        // what is written year first needs no telling
        if calendar(first, None).is_ok() && readings(first).len() <= 1 && self.order.is_none() {
            return Ok(readings(first).first().map(|(order, _)| *order).filter(|order| *order != DateOrder::Year));
        }
        let said = self.order.or_else(|| self.unit.and_then(DateOrder::of_pattern));
        if said.is_some() || readings(first).is_empty() {
            return Ok(said);
        }
        let fits = |order: &DateOrder| self.first.iter().all(|stamp| readings(stamp).iter().any(|(other, _)| other == order));
        let orders: Vec<DateOrder> = DateOrder::ALL.into_iter().filter(fits).collect();
        // where midnight passes, the next day follows in the right order only
        let follow: Vec<DateOrder> = orders.iter().copied().filter(|order| self.days_follow(*order)).collect();
        match (if follow.len() == 1 { &follow } else { &orders }).as_slice() {
            [] => Err(format!("`{first}` is no date and time that is read: no order of day, month and year fits the first rows").into()),
            [order] => Ok(Some(*order)),
            _ => Err(several_days(first, &orders)),
        }
    }
}

impl Stamps<'_> {
    /// Whether each stamp is of the same day as the one before or of the next, in this order.
    fn days_follow(&self, order: DateOrder) -> bool {
        let day = |stamp: &String| readings(stamp).into_iter().find(|(other, _)| *other == order).map(|(_, day)| day);
        let follows = |pair: &[String]| {
            let [before, after] = [day(&pair[0]), day(&pair[1])];
            before == after || before.and_then(|day| day.tomorrow().ok()) == after
        };
        self.first.windows(2).all(follows)
    }
}

/// The readings of a date that is one of several days.
fn several_days(stamp: &str, orders: &[DateOrder]) -> Unclear {
    let days: Vec<String> = readings(stamp)
        .into_iter()
        .filter(|(order, _)| orders.contains(order))
        .map(|(order, day)| format!("{} ({})", day.strftime("%-d %B %Y"), order.word()))
        .collect();
    Unclear::SeveralDays(format!("`{stamp}` may be {}", days.join(" or ")), orders.to_vec())
}

/// A number of units, exactly: its digits are counted, not multiplied as a binary number.
#[inline]
fn counted(cell: &[u8], per_unit: Micros, decimal: u8) -> Result<Micros, String> {
    let whole_end = cell.iter().position(|b| *b == decimal).unwrap_or(cell.len());
    let digits = |bytes: &[u8]| bytes.iter().all(u8::is_ascii_digit);
    let (whole, fraction) = (&cell[..whole_end], cell.get(whole_end + 1..).unwrap_or_default());
    if !whole.is_empty() && whole.len() < 18 && digits(whole) && digits(fraction) {
        let number = |bytes: &[u8]| bytes.iter().fold(0i64, |n, b| n * 10 + i64::from(b - b'0'));
        let micros = number(whole).checked_mul(per_unit).filter(|micros| *micros <= LONGEST).ok_or("later than any clock shows")?;
        let kept = &fraction[..fraction.len().min(9)];
        let part = i128::from(number(kept)) * i128::from(per_unit) / 10i128.pow(kept.len() as u32);
        return Ok(micros + part as i64);
    }
    match super::number::number(cell, decimal) {
        Some(number) if !number.is_nan() => {
            let micros = (number * per_unit as f64).round();
            if micros.abs() <= LONGEST as f64 { Ok(micros as Micros) } else { Err("later than any clock shows".to_owned()) }
        }
        _ => Err("this is no time".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(cells: &[&str], unit: Option<&str>) -> Result<Clock, Unclear> {
        let first: Vec<String> = cells.iter().map(|cell| (*cell).to_owned()).collect();
        Clock::of(Stamps { first: &first, unit, decimal: b'.', order: None })
    }

    fn read(cells: &[&str], unit: Option<&str>) -> (Shown, Vec<Micros>) {
        let mut clock = of(cells, unit).unwrap();
        let times = cells.iter().map(|cell| clock.read(cell.as_bytes()).unwrap()).collect();
        (clock.shown, times)
    }

    /// 2026-01-14T12:03:00Z is 1768392180 seconds since 1970.
    #[test]
    fn every_way_to_write_a_time_counts_in_microseconds() {
        let base = 1_768_392_180 * SECOND;
        let expected = vec![base, base + 1_250_000, base + 60 * SECOND];
        let zulu = ["2026-01-14T12:03:00Z", "2026-01-14T12:03:01.25Z", "2026-01-14T12:04:00Z"];
        assert_eq!(read(&zulu, None), (Shown::At(0), expected.clone()));
        let offset = ["2026-01-14T23:03:00+11:00", "2026-01-14T23:03:01.250+11:00", "2026-01-14T23:04:00.000+11:00"];
        assert_eq!(read(&offset, None), (Shown::At(39_600), expected.clone()));
        let local = ["2026-01-14 12:03:00", "2026-01-14 12:03:01,25", "2026-01-14 12:04"];
        assert_eq!(read(&local, None), (Shown::AsWritten, expected.clone()));
        assert_eq!(read(&["1768392180", "1768392181.25", "1768392240"], None), (Shown::At(0), expected.clone()));
        assert_eq!(read(&["1768392180000", "1768392181250", "1768392240000"], None), (Shown::At(0), expected));
        assert_eq!(read(&["0", "1.25", "60"], None), (Shown::Relative, vec![0, 1_250_000, 60 * SECOND]));
        assert_eq!(read(&["0.0", "1250", "60000"], Some("ms")), (Shown::Relative, vec![0, 1_250_000, 60 * SECOND]));
        // 0.1 has no binary number of its own: counted, 3 × 0.1 s is 300 ms
        assert_eq!(read(&["0.1", "0.2", "0.3", "0.7"], None).1, vec![100_000, 200_000, 300_000, 700_000]);
    }

    #[test]
    fn a_spreadsheets_number_of_a_day_is_no_seconds() {
        let days: Vec<String> = (0..20).map(|n| format!("{:.6}", 46_036.5 + f64::from(n) / 86_400.0)).collect();
        let cells: Vec<&str> = days.iter().map(String::as_str).collect();
        assert!(matches!(of(&cells, None), Err(Unclear::NoTime(says)) if says.contains("spreadsheet")));
        assert!(of(&["46036", "46037", "46038"], None).is_ok() && of(&["46036.00", "46036.01", "46036.02"], Some("s")).is_ok());
    }

    #[test]
    fn the_same_minute_in_another_offset_is_another_time() {
        let cells = ["2026-04-05T02:59:59+11:00", "2026-04-05T02:59:59+10:00"];
        let (_, times) = read(&cells, None);
        assert_eq!(times[1] - times[0], 3600 * SECOND);
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in ["14/13/2026 12:03", "32.01.2026 12:03:00", "noon", "2026-13-01 00:00:00", "12:03:10", "14/01/2026 13:03 PM"] {
            assert!(matches!(of(&[text], None), Err(Unclear::NoTime(_))), "{text}");
        }
        let mut clock = of(&["2026-01-14 12:03:00"], None).unwrap();
        assert!(clock.read(b"2026-01-14 12:03:00Z").is_err());
        assert!(clock.read(b"2026-01-14 12:03:61").is_err());
    }

    /// The first date does not say which part is the day, a later one does; or none.
    #[test]
    fn days_and_months_are_told_apart_by_the_log_or_not_at_all() {
        let (_, times) = read(&["12/01/2026 23:59:59", "13/01/2026 00:00:00", "13/01/2026 00:00:01"], None);
        assert_eq!(times, [0, 1, 2].map(|n| 1_768_262_399 * SECOND + n * SECOND));
        let (_, times) = read(&["03/04/2026 11:59:59 PM", "04/04/2026 12:00:00 AM"], None);
        assert_eq!(times, [1_775_260_799 * SECOND, 1_775_260_800 * SECOND]);
        assert_eq!(read(&["4/3/2026 11:59 PM", "4/4/2026 12:00 AM"], None).1, [1_775_260_740 * SECOND, 1_775_260_800 * SECOND]);
        let unclear = of(&["03/04/2026 11:59:59 PM"], None);
        let says = "`03/04/2026 11:59:59 PM` may be 3 April 2026 (day-first) or 4 March 2026 (month-first)".to_owned();
        assert_eq!(unclear.err(), Some(Unclear::SeveralDays(says, vec![DateOrder::Day, DateOrder::Month])));
        assert_eq!(read(&["03/04/2026 00:00:00"], Some("MM/dd/yyyy")).1, [1_772_582_400 * SECOND]);
    }

    #[test]
    fn times_are_shown_as_the_log_has_them() {
        assert_eq!(Shown::At(39_600).time(1_768_392_180 * SECOND), "2026-01-14 23:03:00");
        assert_eq!(Shown::AsWritten.time(1_768_392_180 * SECOND + 1_250_000), "2026-01-14 12:03:01.250");
        assert_eq!(Shown::Relative.time(3_723 * SECOND), "1:02:03");
        assert_eq!((Shown::At(39_600).hour(1_768_392_180 * SECOND), Shown::Relative.hour(0)), (Some(23), None));
    }
}
