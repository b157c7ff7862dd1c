//! Which column is what: by its heading and the unit in it, or as the user says.

use super::fault::LogError;
use settings_model::slip::one_of;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// Voltage of the first phase, or between the first two lines.
    L1 = 0,
    /// Of the second.
    L2 = 1,
    /// Of the third.
    L3 = 2,
    /// Frequency.
    Frequency = 3,
    /// Active power given.
    Power = 4,
    /// Reactive power given.
    Reactive = 5,
    /// Active power that could have been given; of storage, below zero, what it wanted to charge with.
    Available = 6,
    /// Active power that the site uses itself.
    Load = 7,
    /// Net active power that leaves the site at its connection point.
    NetExport = 8,
    /// Net active power that enters it there.
    NetImport = 9,
    /// Time, or its date.
    Time = 10,
    /// The time of day, beside a date.
    TimeOfDay = 11,
    /// A date: the time, or beside a time of day.
    Date = 12,
    /// The site that a row is of, in a log of many.
    Site = 13,
    /// The device of that site.
    Device = 14,
}

impl Slot {
    pub fn is_voltage(self) -> bool {
        matches!(self, Self::L1 | Self::L2 | Self::L3)
    }

    /// Where a row keeps it: of the site's own use and net flow a log has one.
    pub fn place(self) -> usize {
        if self.is_net() { Self::Load as usize } else { self as usize }
    }

    /// Whether it is the net flow at the connection point.
    pub fn is_net(self) -> bool {
        matches!(self, Self::NetExport | Self::NetImport)
    }

    /// Whether it is an active power.
    fn is_power(self) -> bool {
        matches!(self, Self::Power | Self::Available | Self::Load) || self.is_net()
    }

    pub fn is_time(self) -> bool {
        matches!(self, Self::Time | Self::TimeOfDay | Self::Date)
    }

    /// Whether it says whose a row is, and is no measurement.
    fn is_name(self) -> bool {
        matches!(self, Self::Site | Self::Device)
    }

    pub fn word(self) -> &'static str {
        WORDS.iter().find(|(_, slot)| *slot == self).map_or("time of day", |(word, _)| word)
    }

    /// The symbols of its units, in base units.
    fn units(self) -> &'static [(&'static str, f64)] {
        match self {
            Self::L1 | Self::L2 | Self::L3 => &[("V", 1.0), ("kV", 1e3), ("mV", 1e-3), ("pu", 0.0), ("p.u.", 0.0)],
            Self::Frequency => &[("Hz", 1.0), ("mHz", 1e-3)],
            Self::Power | Self::Available | Self::Load | Self::NetExport | Self::NetImport => &[("W", 1.0), ("kW", 1e3), ("MW", 1e6)],
            Self::Reactive => &[("var", 1.0), ("kvar", 1e3), ("Mvar", 1e6)],
            Self::Time | Self::TimeOfDay | Self::Date | Self::Site | Self::Device => &[],
        }
    }
}

/// The words of `--columns`.
const WORDS: [(&str, Slot); 15] = [
    ("time", Slot::Time),
    ("L1", Slot::L1),
    ("L2", Slot::L2),
    ("L3", Slot::L3),
    ("frequency", Slot::Frequency),
    ("power", Slot::Power),
    ("reactive", Slot::Reactive),
    ("available", Slot::Available),
    ("load", Slot::Load),
    ("net-export", Slot::NetExport),
    ("net-import", Slot::NetImport),
    ("time-of-day", Slot::TimeOfDay),
    ("date", Slot::Date),
    ("site", Slot::Site),
    ("device", Slot::Device),
];

/// A column that is read.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its place in a row, from 0.
    pub index: usize,
    /// What it holds.
    pub slot: Slot,
    /// Its heading, or its number where there is none.
    pub heading: String,
    /// Its unit in base units; 0 for per unit.
    pub scale: f64,
    /// The unit as written.
    pub unit: Option<String>,
    /// Whether its unit is nowhere said.
    pub is_unit_assumed: bool,
    /// Between lines, by its heading.
    pub is_line_to_line: bool,
    /// Of means, by its heading.
    pub is_mean: bool,
    /// Of reactive power, whether its heading says that it counts what is absorbed, or what is supplied.
    pub is_absorbed: Option<bool>,
}

impl Column {
    /// One in base units, by its word in `--columns`.
    pub fn of_word(index: usize, word: &str, counts_absorbed: Option<bool>) -> Option<Self> {
        let (word, slot) = WORDS.iter().find(|(known, slot)| *known == word && !slot.is_name())?;
        Some(Self {
            index,
            slot: *slot,
            heading: (*word).to_owned(),
            scale: 1.0,
            unit: None,
            is_unit_assumed: false,
            is_line_to_line: false,
            is_mean: false,
            is_absorbed: counts_absorbed.filter(|_| *slot == Slot::Reactive),
        })
    }

    /// `L1 from "V_L1 [V]"`.
    pub fn told(&self) -> String {
        format!("{} from \"{}\"", self.slot.word(), self.heading)
    }
}

/// What the user says of columns: `L1=U_a [V], frequency=4`.
#[derive(Clone, Debug)]
pub struct Chosen(Vec<(Slot, String)>);

impl Chosen {
    /// Reads `--columns`.
    pub fn parse(text: &str) -> Result<Self, LogError> {
        let words = || one_of(&WORDS.map(|(word, _)| word));
        let mut chosen = Vec::new();
        for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
            let slip = |says: String| LogError::new("columns-unclear", says, format!("write `L1=HEADING [V]` or `L1=2`, with {}", words()));
            let (word, column) = part.split_once('=').ok_or_else(|| slip(format!("--columns: `{part}` names no column")))?;
            let known = WORDS.iter().find(|(known, _)| known.eq_ignore_ascii_case(word.trim()));
            let (_, slot) = known.ok_or_else(|| slip(format!("--columns: `{}` is nothing that a log holds", word.trim())))?;
            if chosen.iter().any(|(other, _)| other == slot) {
                return Err(slip(format!("--columns: `{}` is named twice", slot.word())));
            }
            chosen.push((*slot, column.trim().to_owned()));
        }
        Ok(Self(chosen))
    }

    /// Whether it says which column holds the names of sites or devices.
    pub fn has_names(&self) -> bool {
        self.0.iter().any(|(slot, _)| slot.is_name())
    }

    /// Whether every column is told by its number, so that no heading is needed.
    pub fn needs_no_heading(&self) -> bool {
        !self.0.is_empty() && self.0.iter().all(|(_, column)| split(column).0.parse::<usize>().is_ok())
    }
}

/// Name and unit of a heading: `V_L1 [V]`, `voltage L1 (V)`, `U1 / V`.
fn split(heading: &str) -> (&str, Option<&str>) {
    let heading = heading.trim();
    let bracketed = |open, close: char| {
        let (name, unit) = heading.strip_suffix(close)?.rsplit_once(open)?;
        Some((name.trim(), Some(unit.trim()).filter(|unit| !unit.is_empty())))
    };
    let slashed =
        || heading.rsplit_once('/').filter(|(_, unit)| unit.trim().len() <= 4).map(|(name, unit)| (name.trim(), Some(unit.trim())));
    bracketed('[', ']').or_else(|| bracketed('(', ')')).or_else(slashed).unwrap_or((heading, None))
}

/// The columns of a heading line, and the headings of those that are not read.
pub fn columns(headings: &[String], chosen: Option<&Chosen>) -> Result<(Vec<Column>, Vec<String>), LogError> {
    let mut found: Vec<Column> = Vec::new();
    for (slot, said) in chosen.iter().flat_map(|chosen| &chosen.0).filter(|(slot, _)| !slot.is_name()) {
        let index = index_of(said, headings)?;
        let unit = split(said).1.or_else(|| split(&headings[index]).1);
        found.push(column(index, *slot, &headings[index], unit)?);
    }
    let is_letter = |name: &str| name.eq_ignore_ascii_case("t");
    let is_time = |(name, unit): (&str, Option<&str>)| !is_letter(name) && meaning(name, unit).is_some_and(|meant| meant.slot.is_time());
    // beside a column that says so in a word, `T` may be anything
    let has_word_for_time = headings.iter().any(|heading| is_time(split(heading)));
    for (index, heading) in headings.iter().enumerate() {
        if found.iter().any(|column| column.index == index) {
            continue;
        }
        let (name, unit) = split(heading);
        let Some(meant) = meaning(name, unit).filter(|meant| !(meant.slot == Slot::Time && is_letter(name) && has_word_for_time)) else {
            continue;
        };
        // what the user says of a slot stands, whatever other columns are called
        if chosen
            .is_some_and(|chosen| chosen.0.iter().any(|(slot, _)| *slot == meant.slot || (slot.is_voltage() && meant.slot.is_voltage())))
        {
            continue;
        }
        if let Some(other) = found.iter().find(|column| column.slot == meant.slot) {
            let word = meant.slot.word();
            let says = format!("`{}` and `{heading}` could both be {word}", other.heading);
            return Err(LogError::new("column-twice", says, format!("say which, as in `--columns \"{word}={heading}\"`")));
        }
        let column = column(index, meant.slot, heading, unit)?;
        // what is absorbed is supplied the other way round
        let scale = if meant.is_absorbed == Some(true) { -column.scale } else { column.scale };
        let Meant { is_line_to_line, is_mean, is_absorbed, .. } = meant;
        found.push(Column { is_line_to_line, is_mean, is_absorbed, scale, ..column });
    }
    date_and_time(&mut found);
    one_use(&mut found)?;
    found.sort_by_key(|column| column.slot as usize);
    let is_left = |n: &usize| !headings[*n].is_empty() && found.iter().all(|column| column.index != *n);
    let ignored = (0..headings.len()).filter(is_left).map(|n| headings[n].clone()).collect();
    if !found.iter().any(|column| column.slot == Slot::Time) {
        return Err(LogError::new("no-time", "no column is the time", "name it `time`, or say which, as in `--columns \"time=HEADING\"`"));
    }
    let phases: Vec<usize> = found.iter().filter(|column| column.slot.is_voltage()).map(|column| column.slot as usize).collect();
    if phases.is_empty() {
        let help = "name it `V_L1 [V]`, or say which, as in `--columns \"L1=HEADING [V]\"`";
        return Err(LogError::new("no-voltage", "no column is a voltage", help));
    }
    if phases.iter().enumerate().any(|(n, phase)| n != *phase) {
        let help = "say which columns are L1, L2 and L3, as in `--columns \"L1=HEADING [V]\"`";
        return Err(LogError::new("phases-unclear", "the voltages are not of the first phase, the first two or all three", help));
    }
    Ok((found, ignored))
}

/// Where a log of many says whose a row is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Names {
    /// The column of sites.
    pub site: Option<usize>,
    /// The column of devices.
    pub device: Option<usize>,
}

impl Names {
    /// Among headings: a column `site` and a column `device`, or as the user says.
    pub fn among(headings: &[String], chosen: Option<&Chosen>) -> Result<Self, LogError> {
        let of = |slot: Slot| {
            let said = chosen.and_then(|chosen| chosen.0.iter().find(|(other, _)| *other == slot));
            let by_word = || headings.iter().position(|heading| split(heading).0.eq_ignore_ascii_case(slot.word()));
            said.map_or_else(|| Ok(by_word()), |(_, said)| index_of(said, headings).map(Some))
        };
        Ok(Self { site: of(Slot::Site)?, device: of(Slot::Device)? })
    }

    /// Whether a column is one of them.
    pub fn has(self, index: usize) -> bool {
        [self.site, self.device].contains(&Some(index))
    }
}

/// Of the site's own use and its net flow one is read: they say the same.
fn one_use(found: &mut Vec<Column>) -> Result<(), LogError> {
    let has = |slot| found.iter().find(|column| column.slot == slot);
    if has(Slot::Load).is_some() {
        found.retain(|column| !column.slot.is_net());
        return Ok(());
    }
    if let (Some(export), Some(import)) = (has(Slot::NetExport), has(Slot::NetImport)) {
        let says = format!("`{}` and `{}` are two columns of one net flow", export.heading, import.heading);
        let help = "write one column, `net export [kW]`: what leaves the site less what enters it";
        return Err(LogError::new("column-twice", says, help));
    }
    Ok(())
}

/// A date beside a time of day is one time stamp of two columns; either alone is the time.
fn date_and_time(found: &mut Vec<Column>) {
    let has = [Slot::Date, Slot::Time, Slot::TimeOfDay].map(|slot| found.iter().any(|column| column.slot == slot));
    let mut turn = |from, to| found.iter_mut().filter(|column| column.slot == from).for_each(|column| column.slot = to);
    match has {
        [true, true, false] => {
            turn(Slot::Time, Slot::TimeOfDay);
            turn(Slot::Date, Slot::Time);
        }
        [true, false, _] => turn(Slot::Date, Slot::Time),
        [false, false, true] => turn(Slot::TimeOfDay, Slot::Time),
        // a time stamp is there already
        [true, true, true] => found.retain(|column| column.slot != Slot::Date),
        _ => {}
    }
}

fn index_of(said: &str, headings: &[String]) -> Result<usize, LogError> {
    let (name, _) = split(said);
    let by_name = |heading: &String| heading == said || split(heading).0.eq_ignore_ascii_case(name);
    if let Some(index) = headings.iter().position(by_name) {
        return Ok(index);
    }
    let by_number = name.parse::<usize>().ok().and_then(|number| number.checked_sub(1)).filter(|index| *index < headings.len());
    by_number.ok_or_else(|| {
        let help = format!("the log has {}", headings.iter().map(|heading| format!("`{heading}`")).collect::<Vec<_>>().join(", "));
        LogError::new("no-such-column", format!("the log has no column `{said}`"), help)
    })
}

fn column(index: usize, slot: Slot, heading: &str, unit: Option<&str>) -> Result<Column, LogError> {
    let units = slot.units();
    let scale = match unit.map(symbol) {
        _ if slot.is_time() => 1.0,
        Some(unit) => {
            let known = units.iter().find(|(symbol, _)| *symbol == unit).or(units.iter().find(|(s, _)| s.eq_ignore_ascii_case(unit)));
            let (_, scale) = known.ok_or_else(|| {
                let symbols: Vec<&str> = units.iter().map(|(symbol, _)| *symbol).collect();
                let says = format!("`{heading}`: `{unit}` is no unit of {}", if slot.is_voltage() { "a voltage" } else { slot.word() });
                LogError::new("unit-unknown", says, format!("write {}", one_of(&symbols)))
            })?;
            *scale
        }
        // a power may be of either, and nothing in it says of which
        None if slot.is_power() || slot == Slot::Reactive => {
            let says = format!("`{heading}` does not say its unit");
            let help =
                format!("write it into the heading, `{heading} [W]` or `[kW]`, or say it: `--columns \"{}={heading} [kW]\"`", slot.word());
            return Err(LogError::new("unit-missing", says, help));
        }
        None => 1.0,
    };
    Ok(Column {
        index,
        slot,
        heading: heading.to_owned(),
        // what enters leaves the other way round
        scale: if slot == Slot::NetImport { -scale } else { scale },
        unit: unit.map(str::to_owned),
        is_unit_assumed: unit.is_none() && slot.is_voltage(),
        is_line_to_line: false,
        is_mean: false,
        is_absorbed: None,
    })
}

/// The symbol of a unit that is written as a word, or with what its values are.
fn symbol(unit: &str) -> &str {
    match unit.to_lowercase().as_str() {
        "volt" | "volts" | "v rms" | "vrms" | "v ac" | "vac" => "V",
        "hertz" => "Hz",
        _ => unit,
    }
}

/// What a heading means.
struct Meant {
    slot: Slot,
    is_line_to_line: bool,
    is_mean: bool,
    is_absorbed: Option<bool>,
}

/// Words for a time, as loggers and spreadsheets have them.
const TIMES: [&str; 11] =
    ["time", "timestamp", "datetime", "dateandtime", "utc", "localtime", "epoch", "unixtime", "seconds", "measuredat", "zeitstempel"];
/// Units of a time; `t` in any other is a temperature, a torque or something else.
const UNITS_OF_TIME: [&str; 8] = ["s", "sec", "seconds", "ms", "us", "µs", "min", "h"];

/// Words for reactive power that say which way it is counted, and whether that is what is absorbed.
const COUNTED: [(&str, bool); 6] = [
    ("reactivepowersupplied", false),
    ("reactivesupplied", false),
    ("qsupplied", false),
    ("reactivepowerabsorbed", true),
    ("reactiveabsorbed", true),
    ("qabsorbed", true),
];

const FREQUENCIES: [&str; 6] = ["f", "freq", "frequency", "hz", "frequenz", "linefrequency"];

/// The rest of a word that begins with the supply that a device is connected to.
fn of_supply(word: &str) -> &str {
    ["ac", "grid", "mains", "supply", "netz"].iter().find_map(|supply| word.strip_prefix(supply)).unwrap_or(word)
}

fn meaning(name: &str, unit: Option<&str>) -> Option<Meant> {
    let plain: String = name.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
    // `terminal` is no lowest value
    let plain = plain.replace("terminals", "").replace("terminal", "");
    // lowest and highest values within an interval are neither samples nor means
    if ["min", "max", "thd", "angle", "phase angle"].iter().any(|word| plain.contains(word)) && !plain.contains("minute") {
        return None;
    }
    let is_mean = ["avg", "mean", "average"].iter().any(|word| plain.contains(word));
    let plain = ["average", "mean", "avg", "rms"].iter().fold(plain, |plain, word| plain.replace(word, ""));
    let meant = |slot| Some(Meant { slot, is_line_to_line: false, is_mean, is_absorbed: None });
    match plain.as_str() {
        "date" | "datum" | "day" => return meant(Slot::Date),
        "timeofday" | "uhrzeit" | "zeit" => return meant(Slot::TimeOfDay),
        "t" if unit.is_none_or(|unit| UNITS_OF_TIME.contains(&unit)) => return meant(Slot::Time),
        word if TIMES.contains(&word) => return meant(Slot::Time),
        word if FREQUENCIES.contains(&of_supply(word)) => return meant(Slot::Frequency),
        "p" | "power" | "activepower" | "pac" | "output" | "pout" | "outputpower" => return meant(Slot::Power),
        "q" | "reactivepower" | "reactive" | "qac" => return meant(Slot::Reactive),
        word if COUNTED.iter().any(|(known, _)| *known == word) => {
            let is_absorbed = COUNTED.iter().find(|(known, _)| *known == word).map(|(_, is_absorbed)| *is_absorbed);
            return meant(Slot::Reactive).map(|meant| Meant { is_absorbed, ..meant });
        }
        "load" | "loadpower" | "siteload" | "consumption" | "siteconsumption" | "ownuse" | "siteuse" => return meant(Slot::Load),
        "export" | "netexport" | "exportpower" | "gridexport" | "feedin" => return meant(Slot::NetExport),
        "import" | "netimport" | "importpower" | "gridimport" => return meant(Slot::NetImport),
        "available" | "availablepower" | "pavailable" | "pavail" | "poweravailable" => return meant(Slot::Available),
        _ => {}
    }
    let is_volts = unit.map(symbol).is_some_and(|unit| Slot::L1.units().iter().any(|(symbol, _)| symbol.eq_ignore_ascii_case(unit)));
    let plain = of_supply(&plain);
    let words = ["voltage", "spannung", "volts", "volt", "u", "v"];
    let rest = words.iter().find_map(|word| plain.strip_prefix(word).or_else(|| plain.strip_suffix(word)));
    let phase = rest.or(Some(plain).filter(|_| is_volts))?;
    let phase = phase.trim_start_matches("phase").trim_start_matches("line");
    let (slot, is_line_to_line) = match phase {
        "" | "l1" | "1" | "a" | "l1n" | "1n" | "an" | "ln" | "l" | "n" | "tn" => (Slot::L1, false),
        "l2" | "2" | "b" | "l2n" | "2n" | "bn" => (Slot::L2, false),
        "l3" | "3" | "c" | "l3n" | "3n" | "cn" => (Slot::L3, false),
        "l1l2" | "l12" | "12" | "ab" | "ll" => (Slot::L1, true),
        "l2l3" | "l23" | "23" | "bc" => (Slot::L2, true),
        "l3l1" | "l31" | "31" | "ca" => (Slot::L3, true),
        _ => return None,
    };
    Some(Meant { slot, is_line_to_line, is_mean, is_absorbed: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Result<Vec<(Slot, f64)>, String> {
        let headings: Vec<String> = line.split(';').map(|heading| heading.trim().to_owned()).collect();
        let (columns, _) = columns(&headings, None).map_err(|fault| fault.says)?;
        Ok(columns.iter().map(|column| (column.slot, column.scale)).collect())
    }

    #[test]
    fn headings_are_known_by_their_words_and_units() {
        use Slot::{Available, Frequency, L1, L2, L3, Power, Time};
        let three = Ok(vec![(L1, 1.0), (L2, 1.0), (L3, 1.0), (Frequency, 1.0), (Time, 1.0)]);
        for line in [
            "time;V_L1 [V];V_L2 [V];V_L3 [V];f [Hz]",
            "timestamp;voltage L1 (V);voltage L2 (V);voltage L3 (V);frequency (Hz)",
            "Time;U1/V;U2/V;U3/V;Frequency/Hz",
            "utc;Van;Vbn;Vcn;Hz",
            "t [s];L1 [V];L2 [V];L3 [V];freq",
            "f;V1 avg [V];V2 avg [V];V3 avg [V];time;V1 max [V];V1 min [V]",
        ] {
            assert_eq!(read(line), three, "{line}");
        }
        let powers = read("time;V [kV];P [kW];available power [W]").unwrap();
        assert_eq!(powers, [(L1, 1e3), (Power, 1e3), (Available, 1.0), (Time, 1.0)]);
        assert_eq!(read("time;V [pu]").unwrap()[0], (L1, 0.0));
        assert_eq!(read("time;V [V];consumption [kW];net export [W]").unwrap()[1], (Slot::Load, 1e3));
        assert_eq!(read("time;V [V];net import [kW]").unwrap()[1], (Slot::NetImport, -1e3));
        assert_eq!(read("T [°C];V [V];t [s]"), Ok(vec![(L1, 1.0), (Time, 1.0)]));
        assert_eq!(read("time;V [V];T"), Ok(vec![(L1, 1.0), (Time, 1.0)]));
        assert_eq!(read("Date;Time;V [V]").unwrap()[1..], [(Time, 1.0), (Slot::TimeOfDay, 1.0)]);
        assert_eq!(read("Datum;Uhrzeit;V [V]").unwrap()[1..], [(Time, 1.0), (Slot::TimeOfDay, 1.0)]);
        assert_eq!(read("Date;V [V]").unwrap()[1..], [(Time, 1.0)]);
        // neither says which way it counts
        assert_eq!(read("time;V [V];net [kW];grid power [kW]").unwrap().len(), 2);
    }

    #[test]
    fn what_is_not_clear_is_refused() {
        for (line, says) in [
            ("time;V_L1 [V];U1 [V]", "could both be L1"),
            ("time;temperature [C]", "no column is a voltage"),
            ("V_L1 [V];f [Hz]", "no column is the time"),
            ("T [°C];V_L1 [V]", "no column is the time"),
            ("time;V_L1 [A]", "`A` is no unit"),
            ("time;V_L1 [V];P", "does not say its unit"),
            ("time;V_L1 [V];load", "does not say its unit"),
            ("time;V_L1 [V];export [kW];import [kW]", "two columns of one net flow"),
            ("time;V_L2 [V]", "not of the first phase"),
        ] {
            assert!(read(line).is_err_and(|fault| fault.contains(says)), "{line}");
        }
    }
}
