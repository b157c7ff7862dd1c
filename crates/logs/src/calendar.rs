//! Date and time of day, as loggers and spreadsheets write them.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::Offset;
use response::timeline::Micros;

/// Which part of a date stands first, where no part has four digits or the last has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 14/01/2026
    Day,
    /// 01/14/2026
    Month,
    /// 26/01/14
    Year,
}

impl DateOrder {
    /// Every order.
    pub const ALL: [Self; 3] = [Self::Day, Self::Month, Self::Year];

    /// A day in it.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Day => "14/01/2026",
            Self::Month => "01/14/2026",
            Self::Year => "26/01/14",
        }
    }

    /// The word that names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Day => "day-first",
            Self::Month => "month-first",
            Self::Year => "year-first",
        }
    }

    /// As a heading shows it: `dd/mm/yyyy hh:mm:ss`.
    pub fn of_pattern(pattern: &str) -> Option<Self> {
        let pattern = pattern.to_lowercase();
        let day = pattern.find('d')?;
        let (month, year) = (pattern.find('m')?, pattern.find("yy")?);
        Some(match [day, month, year].into_iter().min()? {
            first if first == day => Self::Day,
            first if first == month => Self::Month,
            _ => Self::Year,
        })
    }
}

/// Date and time, and the offset from UTC in seconds where it is written. A date whose parts may stand in
/// several orders is read in this one.
pub fn calendar(text: &str, order: Option<DateOrder>) -> Result<(Micros, Option<i32>), String> {
    let says = || format!("`{text}` is no date and time that is read");
    // as RFC 3339 and ISO 8601 have it
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok((time.as_microsecond(), Some(offset(text).unwrap_or(0))));
    }
    if let Ok(time) = text.parse::<DateTime>() {
        return Ok((micros(time).ok_or_else(says)?, None));
    }
    if is_time_of_day(text) {
        return Err(format!("`{text}` is a time of day without a date"));
    }
    let (parts, rest) = Parts::of(text).ok_or_else(says)?;
    let order = parts.sure_order().or(order).or_else(|| parts.only_order()).ok_or_else(says)?;
    let date = parts.date(order).ok_or_else(|| format!("`{text}` is no date with the {} first", order.first()))?;
    let rest = rest.trim_start_matches([' ', ',', 'T']).trim();
    // midnight as the end of a day
    let (rest, date) = match rest.strip_prefix("24:00") {
        Some(after) => (format!("00:00{after}"), date.tomorrow().map_err(|_| says())?),
        None => (rest.to_owned(), date),
    };
    let (time, zone) = if rest.is_empty() { (Time::midnight(), None) } else { time_of_day(&rest).ok_or_else(says)? };
    let at = micros(date.to_datetime(time)).ok_or_else(says)?;
    Ok((at - zone.map_or(0, |seconds| Micros::from(seconds) * 1_000_000), zone))
}

impl DateOrder {
    fn first(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Month => "month",
            Self::Year => "year",
        }
    }
}

/// The date of a stamp in each order that its parts allow.
pub fn readings(text: &str) -> Vec<(DateOrder, Date)> {
    let Some((parts, _)) = Parts::of(text) else { return Vec::new() };
    let only = parts.only_order();
    let orders = DateOrder::ALL.into_iter().filter(|order| only.is_none_or(|only| only == *order));
    orders.filter_map(|order| Some((order, parts.date(order)?))).collect()
}

/// Whether it is a time of day, and no date stands beside it.
pub fn is_time_of_day(text: &str) -> bool {
    text.contains(':') && time_of_day(text.trim()).is_some()
}

fn micros(time: DateTime) -> Option<Micros> {
    Offset::UTC.to_timestamp(time).ok().map(Timestamp::as_microsecond)
}

/// The three parts of a date as they stand.
struct Parts<'t> {
    parts: [&'t str; 3],
    mark: char,
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

impl<'t> Parts<'t> {
    /// The parts at the beginning of a text, and what follows.
    fn of(text: &'t str) -> Option<(Self, &'t str)> {
        let mark = text.chars().find(|c| !c.is_ascii_alphanumeric()).filter(|mark| "/.- ".contains(*mark))?;
        let (first, rest) = text.split_once(mark)?;
        let (second, rest) = rest.trim_start().split_once(mark)?;
        let rest = rest.trim_start();
        let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        let (third, rest) = rest.split_at(end);
        let parts = [first, second.trim_end_matches(','), third];
        let is_month = |part: &str| month_name(part).is_some();
        let is_part = |part: &str| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        let is_date = parts.iter().all(|part| is_part(part) || is_month(part)) && parts.iter().filter(|part| is_month(part)).count() <= 1;
        // by spaces only with a month's name: otherwise it may be anything
        (is_date && (mark != ' ' || parts.iter().any(|part| is_month(part)))).then_some((Self { parts, mark }, rest))
    }

    /// The order, whatever anybody says: a year of four digits stands first, or a month has its name.
    fn sure_order(&self) -> Option<DateOrder> {
        let [first, second, _] = self.parts;
        match (first.len(), month_name(first), month_name(second)) {
            (_, Some(_), _) => Some(DateOrder::Month),
            (_, _, Some(_)) => Some(DateOrder::Day),
            (4, ..) => Some(DateOrder::Year),
            _ => None,
        }
    }

    /// The only order in which dates are written so, where nobody says otherwise: no calendar of the Unicode
    /// CLDR writes a date with dots month first (from memory).
    fn only_order(&self) -> Option<DateOrder> {
        self.sure_order().or((self.mark == '.').then_some(DateOrder::Day))
    }

    fn date(&self, order: DateOrder) -> Option<Date> {
        let [first, second, third] = self.parts;
        let (year, month, day) = match order {
            DateOrder::Day => (third, second, first),
            DateOrder::Month => (third, first, second),
            DateOrder::Year => (first, second, third),
        };
        let number = |part: &str| part.parse::<i16>().ok();
        let year = match year.len() {
            4 => number(year)?,
            2 => 2000 + number(year)?,
            _ => return None,
        };
        let month = month_name(month).or_else(|| i8::try_from(number(month)?).ok())?;
        Date::new(year, month, i8::try_from(number(day)?).ok()?).ok()
    }
}

fn month_name(part: &str) -> Option<i8> {
    let part = part.to_lowercase();
    let at = MONTHS.iter().position(|month| part.len() >= 3 && part.is_ascii() && part.starts_with(month) && part.len() <= 9)?;
    Some(at as i8 + 1)
}

/// `12:03:10.5 PM +11:00`: a time of day, by a clock of 24 or 12 hours, and the offset in seconds.
fn time_of_day(text: &str) -> Option<(Time, Option<i32>)> {
    let (hour, rest) = digits(text, 2)?;
    let mark = rest.chars().next().filter(|mark| matches!(mark, ':' | '.'))?;
    let (minute, rest) = digits(rest.strip_prefix(mark)?, 2)?;
    let (second, rest) = match rest.strip_prefix(mark) {
        Some(rest) => digits(rest, 2)?,
        None => (0, rest),
    };
    let (nanos, rest) = match rest.strip_prefix(['.', ',']) {
        Some(rest) => fraction(rest)?,
        None => (0, rest),
    };
    let rest = rest.trim_start();
    let (hour, rest) = match half_of_day(rest) {
        Some((is_afternoon, rest)) if (1..=12).contains(&hour) => (hour % 12 + if is_afternoon { 12 } else { 0 }, rest),
        Some(_) => return None,
        None => (hour, rest),
    };
    let part = |number: i32| i8::try_from(number).ok();
    let time = Time::new(part(hour)?, part(minute)?, part(second)?, nanos).ok()?;
    let zone = match rest.trim() {
        "" => None,
        "Z" | "z" | "UTC" | "GMT" => Some(0),
        zone => Some(offset_of(zone.trim_start_matches("UTC").trim_start_matches("GMT"))?),
    };
    Some((time, zone))
}

/// `PM`, `p.m.`, `pm` at the beginning: whether it is the afternoon, and what follows.
fn half_of_day(text: &str) -> Option<(bool, &str)> {
    let end = text.find(|c: char| !c.is_ascii_alphabetic() && c != '.').unwrap_or(text.len());
    let word: String = text[..end].chars().filter(char::is_ascii_alphabetic).collect();
    match word.to_ascii_lowercase().as_str() {
        "am" => Some((false, &text[end..])),
        "pm" => Some((true, &text[end..])),
        _ => None,
    }
}

fn digits(text: &str, most: usize) -> Option<(i32, &str)> {
    let end = text.bytes().take(most).take_while(u8::is_ascii_digit).count();
    Some((text[..end].parse().ok()?, &text[end..]))
}

/// A fraction of a second in nanoseconds.
fn fraction(text: &str) -> Option<(i32, &str)> {
    let end = text.bytes().take_while(u8::is_ascii_digit).count();
    let kept = &text[..end.min(9)];
    let nanos: i32 = kept.parse().ok()?;
    Some((nanos * 10i32.pow(9 - kept.len() as u32), &text[end..]))
}

/// `+11:00` at the end, in seconds.
fn offset(text: &str) -> Option<i32> {
    offset_of(&text[text.rfind(['+', '-']).filter(|at| *at > 10)?..])
}

fn offset_of(zone: &str) -> Option<i32> {
    let sign = zone.chars().next().filter(|sign| matches!(sign, '+' | '-'))?;
    let digits: String = zone.chars().filter(char::is_ascii_digit).collect();
    let hours: i32 = digits.get(..2)?.parse().ok()?;
    let minutes: i32 = digits.get(2..4).map_or(Ok(0), str::parse).ok()?;
    Some((hours * 3600 + minutes * 60) * if sign == '-' { -1 } else { 1 })
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOON: Micros = 1_768_392_180_000_000;

    #[test]
    fn one_moment_in_many_spellings() {
        for text in [
            "2026-01-14 12:03:00",
            "2026-01-14T12:03",
            "2026/01/14 12:03:00",
            "14/01/2026 12:03:00",
            "14.01.2026 12:03:00,000",
            "14.1.2026 12.03.00",
            "14-Jan-2026 12:03:00",
            "14 January 2026 12:03",
            "Jan 14, 2026 12:03:00 PM",
            "01/14/2026 12:03:00 pm",
            "1/14/2026, 12:03 p.m.",
            "26/01/14 12:03:00",
            "14.01.26 12:03",
        ] {
            let order = readings(text).first().map(|(order, _)| *order).filter(|_| !text.starts_with("26"));
            let order = if text.starts_with("26") { Some(DateOrder::Year) } else { order };
            assert_eq!(calendar(text, order), Ok((NOON, None)), "{text}");
        }
        assert_eq!(calendar("14/01/2026 11:03:00 PM +11:00", Some(DateOrder::Day)), Ok((NOON, Some(39_600))));
        assert_eq!(calendar("14/01/2026 12:03:00 UTC", Some(DateOrder::Day)), Ok((NOON, Some(0))));
    }

    #[test]
    fn midnight_and_noon_of_twelve_hours() {
        let at = |text: &str| calendar(&format!("14/01/2026 {text}"), Some(DateOrder::Day)).unwrap().0 - NOON;
        let minute = 60_000_000;
        assert_eq!(at("12:03 AM"), -12 * 60 * minute);
        assert_eq!(at("1:03 PM"), 60 * minute);
        assert_eq!(at("11:03am"), -60 * minute);
        assert_eq!(at("24:00"), (12 * 60 - 3) * minute);
        for text in ["13:03 PM", "0:03 AM", "24:01", "12:61", "25:00", "12:03 XM"] {
            assert!(calendar(&format!("14/01/2026 {text}"), Some(DateOrder::Day)).is_err(), "{text}");
        }
    }

    #[test]
    fn what_may_be_read_twice_has_two_readings() {
        let orders = |text| readings(text).into_iter().map(|(order, _)| order).collect::<Vec<_>>();
        use DateOrder::{Day, Month, Year};
        assert_eq!(orders("03/04/2026 12:03"), [Day, Month]);
        assert_eq!(orders("3-4-2026"), [Day, Month]);
        assert_eq!(orders("14/01/2026"), [Day]);
        assert_eq!(orders("01/14/2026"), [Month]);
        assert_eq!(orders("03.04.2026"), [Day]);
        assert_eq!(orders("03/04/05"), [Day, Month, Year]);
        assert_eq!(orders("2026/04/03"), [Year]);
        assert_eq!(orders("noon"), []);
        assert_eq!(DateOrder::of_pattern("dd/MM/yyyy HH:mm:ss"), Some(Day));
        assert_eq!(DateOrder::of_pattern("MM/dd/yy"), Some(Month));
        assert_eq!((DateOrder::of_pattern("UTC"), DateOrder::of_pattern("ms")), (None, None));
    }
}
