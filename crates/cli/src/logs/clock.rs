//! Time stamps, in whole microseconds.

use jiff::Timestamp;
use jiff::civil::DateTime;
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
    /// Date and time, with an offset or without.
    Calendar,
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

/// Up to and with the colon before the seconds: `2026-01-14T12:03:`.
const MINUTE: usize = 17;

impl Clock {
    /// How the first stamp is written; `unit` is that of its heading.
    pub fn of(first: &[u8], unit: Option<&str>, decimal: u8) -> Result<Self, String> {
        let text = std::str::from_utf8(first).unwrap_or_default().trim();
        let new = |written, shown| Self { written, shown, decimal, minute: Vec::new(), rest: Vec::new(), base: 0 };
        let Some(number) = super::number::number(text.as_bytes(), decimal).filter(|number| !number.is_nan()) else {
            let (_, offset) = calendar(text)?;
            return Ok(new(Written::Calendar, offset.map_or(Shown::AsWritten, Shown::At)));
        };
        let per_unit = match unit {
            Some("ms") => 1_000,
            Some("us" | "µs") => 1,
            Some("min") => 60 * SECOND,
            Some("h") => 3600 * SECOND,
            Some("s") => SECOND,
            Some(other) => return Err(format!("`{other}` is no unit of time; write [s], [ms], [min] or [h]")),
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
            Written::Calendar => match self.within_minute(cell) {
                Some(at) => Ok(at),
                None => self.anew(cell),
            },
        }
    }

    /// A stamp of the same minute as the one before.
    #[inline]
    fn within_minute(&self, cell: &[u8]) -> Option<Micros> {
        let (minute, seconds) = cell.split_at_checked(MINUTE)?;
        if minute != self.minute {
            return None;
        }
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

    fn anew(&mut self, cell: &[u8]) -> Result<Micros, String> {
        let text = std::str::from_utf8(cell).unwrap_or_default().trim();
        let (at, offset) = calendar(text)?;
        if offset.is_some() != matches!(self.shown, Shown::At(_)) {
            return Err("some time stamps have an offset from UTC and some have none".to_owned());
        }
        if let Some((minute, seconds)) = text.as_bytes().split_at_checked(MINUTE)
            && minute.ends_with(b":")
        {
            self.minute = minute.to_vec();
            let after = seconds.iter().position(|b| !b.is_ascii_digit() && !matches!(b, b'.' | b',')).unwrap_or(seconds.len());
            self.rest = seconds[after..].to_vec();
            self.base = at.div_euclid(60 * SECOND) * 60 * SECOND;
        }
        Ok(at)
    }
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

/// Date and time, and the offset from UTC in seconds where it is written.
fn calendar(text: &str) -> Result<(Micros, Option<i32>), String> {
    let says = || {
        let is_other_order = text.len() >= 8 && text.as_bytes()[2..].first().is_some_and(|b| matches!(b, b'/' | b'.' | b'-'));
        let why = if is_other_order { ": day and month can be told apart by nobody" } else { "" };
        format!("`{text}` is no date and time that is read{why}")
    };
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok((time.as_microsecond(), Some(offset(text).unwrap_or(0))));
    }
    let time: DateTime = text.parse().map_err(|_| says())?;
    let time = Offset::UTC.to_timestamp(time).map_err(|_| says())?;
    Ok((time.as_microsecond(), None))
}

/// `+11:00` at the end, in seconds.
fn offset(text: &str) -> Option<i32> {
    let at = text.rfind(['+', '-']).filter(|at| *at > 10)?;
    let (sign, digits) = text[at..].split_at(1);
    let digits: String = digits.chars().filter(char::is_ascii_digit).collect();
    let hours: i32 = digits.get(..2)?.parse().ok()?;
    let minutes: i32 = digits.get(2..4).map_or(Ok(0), str::parse).ok()?;
    Some((hours * 3600 + minutes * 60) * if sign == "-" { -1 } else { 1 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(cells: &[&str], unit: Option<&str>) -> (Shown, Vec<Micros>) {
        let mut clock = Clock::of(cells[0].as_bytes(), unit, b'.').unwrap();
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
    fn the_same_minute_in_another_offset_is_another_time() {
        let cells = ["2026-04-05T02:59:59+11:00", "2026-04-05T02:59:59+10:00"];
        let (_, times) = read(&cells, None);
        assert_eq!(times[1] - times[0], 3600 * SECOND);
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in ["14/01/2026 12:03", "14.01.2026 12:03:00", "noon", "2026-13-01 00:00:00", "2026-01-14"] {
            assert!(Clock::of(text.as_bytes(), None, b'.').is_err() || text == "2026-01-14", "{text}");
        }
        let mut clock = Clock::of(b"2026-01-14 12:03:00", None, b'.').unwrap();
        assert!(clock.read(b"2026-01-14 12:03:00Z").is_err());
        assert!(clock.read(b"2026-01-14 12:03:61").is_err());
    }

    #[test]
    fn times_are_shown_as_the_log_has_them() {
        assert_eq!(Shown::At(39_600).time(1_768_392_180 * SECOND), "2026-01-14 23:03:00");
        assert_eq!(Shown::AsWritten.time(1_768_392_180 * SECOND + 1_250_000), "2026-01-14 12:03:01.250");
        assert_eq!(Shown::Relative.time(3_723 * SECOND), "1:02:03");
        assert_eq!((Shown::At(39_600).hour(1_768_392_180 * SECOND), Shown::Relative.hour(0)), (Some(23), None));
    }
}
