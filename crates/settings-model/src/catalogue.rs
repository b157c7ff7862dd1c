//! The catalogue of settings: the one list that drives parsing, schemas, checking and printing.
//!
//! A setting is a *parameter* of a *function*, written `overvoltage-1/threshold`. The code knows a
//! few shapes; which settings exist, and what each means, is this table. A new setting of a known
//! shape is one row here and its numbers in `profiles/`.

mod connection;
mod frequency_response;
mod functions;
mod installation;
mod limits;
mod rows;
mod trips;
mod voltage_response;
mod withstand;

pub use functions::FUNCTIONS;

use crate::quantity::Dimension;
use std::fmt;
use std::sync::LazyLock;

/// What holds settings, or is rated: requirements speak of one of these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Equipment {
    /// An inverter.
    Inverter,
    /// A relay that protects the connection as a whole.
    GridProtectionRelay,
    /// The installation: what is added up over devices, calculated, or built once for the site.
    Installation,
}

impl Equipment {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Inverter, Self::GridProtectionRelay, Self::Installation];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        ["inverter", "grid-protection-relay", "installation"][self as usize]
    }

    /// The kind with this word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// What functions have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Group {
    /// Disconnects past a threshold.
    Trip,
    /// Rides through.
    Withstand,
    /// Connects, reconnects, ramps.
    Connection,
    /// Answers to the voltage, and fixed reactive modes.
    VoltageResponse,
    /// Answers to the frequency.
    FrequencyResponse,
    /// Limits what flows.
    Limit,
    /// Figures of the installation.
    Installation,
}

/// A function of a device, or a figure of the installation.
#[derive(Clone, Copy, Debug)]
pub struct Function {
    /// Its key in files.
    pub key: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What it does, in one sentence.
    pub meaning: &'static str,
    /// What may have it.
    pub held_by: &'static [Equipment],
    /// Its settings, in the order in which people read them.
    pub parameters: &'static [Parameter],
}

/// One setting of a function.
#[derive(Clone, Copy, Debug)]
pub struct Parameter {
    /// Its key in files.
    pub key: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What it means: measurement basis, sign, of what a percentage is taken.
    pub meaning: &'static str,
    /// What values it takes.
    pub shape: Shape,
    /// How a device comes to have it.
    pub held_by: HeldBy,
    /// What follows when it lies above what is required.
    pub above: Harm,
    /// What follows when it lies below, or is not the word required.
    pub below: Harm,
    /// What to do where it is not as required, if entering a value does not mend it.
    pub to_do: Option<&'static str>,
}

/// What values a setting takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// One quantity.
    Quantity(Dimension),
    /// One of a few words.
    Choice(&'static [&'static str]),
    /// Points of a piecewise-linear curve, ascending in `x`; flat outside its ends.
    Curve {
        /// The axis that is measured.
        x: Dimension,
        /// The axis that follows.
        y: Dimension,
    },
}

/// How a device comes to have a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeldBy {
    /// It can be set, or comes with the region that is selected.
    Setting,
    /// Nobody sets it: the type test of the certified device shows it.
    TypeTest,
    /// Nobody sets it: it is calculated for the site, which states it.
    Calculated,
    /// Nobody sets or states it: it is added up from the devices of the site.
    AddedUp,
    /// A device's display shows it without saying which of several meanings it has.
    AmbiguousDisplay,
}

/// What follows when a setting is not as required. Ordered by how much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Harm {
    /// People and equipment are protected less than required.
    ProtectsLess,
    /// More may flow into the network than was approved.
    ExportBreach,
    /// More is installed than is allowed there.
    OverRated,
    /// The phases are loaded unevenly.
    Unbalances,
    /// The network's voltage or frequency is supported less than required.
    SupportsLess,
    /// The device may connect when it should wait.
    ConnectsTooSoon,
    /// The device disconnects when it should stay.
    DropsOutTooEasily,
    /// The owner loses energy without need.
    GivesUpEnergy,
    /// It differs from what is required.
    Departs,
}

impl Harm {
    /// For people, as the end of a sentence.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::ProtectsLess => "protects less than required",
            Self::ExportBreach => "may export more than approved",
            Self::OverRated => "more is installed than is allowed",
            Self::Unbalances => "loads the phases unevenly",
            Self::SupportsLess => "supports the network less than required",
            Self::ConnectsTooSoon => "may connect when it should wait",
            Self::DropsOutTooEasily => "drops out too easily",
            Self::GivesUpEnergy => "gives up energy without need",
            Self::Departs => "differs from what is required",
        }
    }
}

/// The states of a function. Unknown is not a state.
pub const STATES: &[&str] = &["absent", "off", "enabled"];
/// Index of `enabled` in [`STATES`].
pub const ENABLED: u8 = 2;

const fn count() -> usize {
    let (mut total, mut function) = (0, 0);
    while function < FUNCTIONS.len() {
        total += FUNCTIONS[function].parameters.len();
        function += 1;
    }
    total
}

/// How many settings the catalogue has.
pub const COUNT: usize = count();

/// A setting with its place: which function, and which of its parameters. Flat, as reading asks at
/// every key.
#[derive(Clone, Copy)]
struct Row {
    parameter: Parameter,
    function: u16,
    own: u16,
}

const fn rows() -> [Row; COUNT] {
    let mut rows = [Row { parameter: FUNCTIONS[0].parameters[0], function: 0, own: 0 }; COUNT];
    let (mut row, mut function) = (0, 0);
    while function < FUNCTIONS.len() {
        let parameters = FUNCTIONS[function].parameters;
        let mut own = 0;
        while own < parameters.len() {
            rows[row] = Row { parameter: parameters[own], function: function as u16, own: own as u16 };
            row += 1;
            own += 1;
        }
        function += 1;
    }
    rows
}

static ROWS: [Row; COUNT] = rows();

const fn first_rows() -> [u16; FUNCTIONS.len()] {
    let mut first = [0; FUNCTIONS.len()];
    let (mut row, mut function) = (0, 0);
    while function < FUNCTIONS.len() {
        first[function] = row;
        row += FUNCTIONS[function].parameters.len() as u16;
        function += 1;
    }
    first
}

static FIRST_ROWS: [u16; FUNCTIONS.len()] = first_rows();

/// For each row the row of its function's parameter with this key; [`NONE`] where it has none.
/// Judging asks for these at every value, so they are worked out once, by the compiler.
const fn siblings(key: &str) -> [u16; COUNT] {
    let rows = rows();
    let mut siblings = [NONE; COUNT];
    let mut row = 0;
    while row < COUNT {
        let parameters = FUNCTIONS[rows[row].function as usize].parameters;
        let mut other = 0;
        while other < parameters.len() {
            if same(parameters[other].key, key) {
                siblings[row] = row as u16 - rows[row].own + other as u16;
            }
            other += 1;
        }
        row += 1;
    }
    siblings
}

const NONE: u16 = u16::MAX;

const fn same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut at = 0;
    while at < one.len() && at < other.len() && one[at] == other[at] {
        at += 1;
    }
    one.len() == other.len() && at == one.len()
}

static STATES_OF: [u16; COUNT] = siblings("state");
static BARE_TIMES_OF: [u16; COUNT] = siblings("unnamed-time");

/// A row of the catalogue; ordered as the catalogue is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SettingId(u16);

impl SettingId {
    /// Every setting, in catalogue order.
    pub fn all() -> impl DoubleEndedIterator<Item = Self> {
        (0..COUNT as u16).map(Self)
    }

    /// Its position in the catalogue, below [`COUNT`].
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }

    fn row(self) -> &'static Row {
        &ROWS[self.index()]
    }

    /// The function it belongs to.
    #[must_use]
    pub fn function(self) -> &'static Function {
        &FUNCTIONS[usize::from(self.row().function)]
    }

    /// The group of its function.
    #[must_use]
    pub fn group(self) -> Group {
        functions::GROUP_OF[usize::from(self.row().function)]
    }

    /// Its own row.
    #[must_use]
    pub fn parameter(self) -> &'static Parameter {
        &self.row().parameter
    }

    /// The setting of the same function with another parameter key.
    #[must_use]
    pub fn sibling(self, parameter: &str) -> Option<Self> {
        let first = self.0 - self.row().own;
        self.function().parameters.iter().position(|p| p.key == parameter).map(|p| Self(first + p as u16))
    }

    /// `overvoltage-1` and `threshold`, if the catalogue has it.
    #[must_use]
    pub fn find(function: &str, parameter: &str) -> Option<Self> {
        Self::of_function(function)?.sibling(parameter)
    }

    /// A setting that code names; looked up by the compiler, which refuses what the catalogue lacks.
    ///
    /// # Panics
    /// Where it is not called by the compiler and the catalogue lacks the setting.
    #[must_use]
    pub const fn of(function: &str, parameter: &str) -> Self {
        let mut row = 0;
        while row < COUNT {
            if same(ROWS[row].parameter.key, parameter) && same(FUNCTIONS[ROWS[row].function as usize].key, function) {
                return Self(row as u16);
            }
            row += 1;
        }
        panic!("no such setting in the catalogue")
    }

    /// Whether both belong to one function.
    #[must_use]
    pub fn same_function(self, other: Self) -> bool {
        self.row().function == other.row().function
    }

    /// The state of every trip stage.
    pub fn trip_stages() -> impl Iterator<Item = Self> {
        static STAGES: LazyLock<Vec<SettingId>> =
            LazyLock::new(|| SettingId::all().filter(|id| id.is_state() && id.group() == Group::Trip).collect());
        STAGES.iter().copied()
    }

    /// The first setting of a function.
    #[must_use]
    pub fn of_function(key: &str) -> Option<Self> {
        Self::of_function_after(None, key)
    }

    /// The first setting of a function, looked for from the function after `last` on: files mostly
    /// keep the catalogue's order.
    #[must_use]
    pub fn of_function_after(last: Option<Self>, key: &str) -> Option<Self> {
        let start = last.map_or(0, |id| usize::from(id.row().function) + 1);
        let order = (start..FUNCTIONS.len()).chain(0..start);
        order.into_iter().find(|function| FUNCTIONS[*function].key == key).map(|function| Self(FIRST_ROWS[function]))
    }

    /// A setting of the same function; the one after this is tried first.
    #[must_use]
    pub fn sibling_after(self, key: &str) -> Option<Self> {
        let next = Self(self.0 + 1);
        let is_next = ROWS.get(next.index()).is_some_and(|row| row.function == self.row().function && row.parameter.key == key);
        if is_next { Some(next) } else { self.sibling(key) }
    }

    /// `overvoltage-1/threshold`, if the catalogue has it.
    #[must_use]
    pub fn named(path: &str) -> Option<Self> {
        let (function, parameter) = path.split_once('/')?;
        Self::find(function, parameter)
    }

    /// The setting that says whether the function acts, if it has one.
    #[must_use]
    pub fn state(self) -> Option<Self> {
        listed(STATES_OF[self.index()])
    }

    /// Whether it is the state of its function.
    #[must_use]
    pub fn is_state(self) -> bool {
        self.0 == STATES_OF[self.index()]
    }

    /// The setting of the same function for a time that a display shows without its meaning.
    #[must_use]
    pub fn bare_time(self) -> Option<Self> {
        listed(BARE_TIMES_OF[self.index()])
    }

    /// Every bare time of the catalogue.
    pub fn bare_times() -> impl Iterator<Item = Self> {
        static BARE_TIMES: LazyLock<Vec<SettingId>> = LazyLock::new(|| SettingId::all().filter(|id| id.bare_time() == Some(*id)).collect());
        BARE_TIMES.iter().copied()
    }

    /// Whether it is one of the meanings that a bare time may have.
    #[must_use]
    pub fn is_meaning_of_time(self) -> bool {
        BARE_TIMES_OF[self.index()] != NONE && MEANINGS_OF_TIME.contains(&self.parameter().key)
    }

    /// `Overvoltage, stage 1: threshold`.
    #[must_use]
    pub fn title(self) -> String {
        format!("{}: {}", self.function().title, self.parameter().title)
    }
}

/// What a display that says only "time" may mean.
pub const MEANINGS_OF_TIME: [&str; 3] = ["definite-delay", "operate-time", "disconnection"];

fn listed(row: u16) -> Option<SettingId> {
    (row != NONE).then_some(SettingId(row))
}

/// `overvoltage-1/threshold`.
impl fmt::Display for SettingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.function().key, self.parameter().key)
    }
}
impl fmt::Debug for SettingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_setting_is_found_by_its_own_name_and_by_no_other() {
        let mut names: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
        for id in SettingId::all() {
            assert_eq!(SettingId::named(&id.to_string()), Some(id));
        }
        names.sort();
        names.dedup();
        assert_eq!(names.len(), COUNT);
        assert_eq!(SettingId::named("overvoltage-1/points"), None);
    }

    #[test]
    fn keys_are_plain_words_that_any_yaml_reader_takes_as_text() {
        for id in SettingId::all() {
            for key in [id.function().key, id.parameter().key] {
                assert!(key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{key}");
                assert!(!matches!(key, "on" | "off" | "yes" | "no" | "y" | "n"), "{key} is a truth value to YAML 1.1");
            }
        }
    }

    #[test]
    fn a_state_knows_its_function_and_the_function_its_state() {
        let threshold = SettingId::named("overvoltage-2/threshold").unwrap();
        let state = threshold.state().unwrap();
        assert!(state.is_state() && !threshold.is_state());
        assert_eq!(state.to_string(), "overvoltage-2/state");
        assert_eq!(SettingId::named("reconnection/observation-time").unwrap().state(), None);
        assert_eq!(STATES[usize::from(ENABLED)], "enabled");
    }
}
