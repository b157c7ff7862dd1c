//! A setting as a position in the table: what reading and judging ask at every value, worked out by
//! the compiler.

use super::{FUNCTIONS, Function, Group, Harm, Parameter, Shape, functions};
use crate::quantity::Dimension;
use std::fmt;
use std::sync::LazyLock;

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
static STAGE_TIMES_OF: [[u16; COUNT]; 3] = [siblings("definite-delay"), siblings("operate-time"), siblings("clearing-time")];

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

    /// The limits on power of the function whose state this is: they limit nothing while it is not enabled. Of any
    /// other setting, none.
    pub fn limits_switched(self) -> impl Iterator<Item = Self> {
        static LIMITS: LazyLock<Vec<SettingId>> = LazyLock::new(|| SettingId::all().filter(|id| id.is_limit_on_power()).collect());
        LIMITS.iter().copied().filter(move |limit| self.is_state() && limit.same_function(self))
    }

    fn is_limit_on_power(self) -> bool {
        let is_power = matches!(self.parameter().shape, Shape::Quantity(Dimension::ActivePower | Dimension::ApparentPower));
        is_power && self.group() == Group::Limit && self.parameter().above == Harm::ExportBreach
    }

    /// The setting of the same function for a time that a display shows without its meaning.
    #[must_use]
    pub fn bare_time(self) -> Option<Self> {
        listed(BARE_TIMES_OF[self.index()])
    }

    /// The times that the stage of this setting may be set by, of which the first that is known is the earliest at
    /// which it acts.
    pub fn stage_times(self) -> impl Iterator<Item = Self> {
        STAGE_TIMES_OF.iter().filter_map(move |times| listed(times[self.index()]))
    }

    /// Every setting that is a curve.
    pub fn curves() -> impl Iterator<Item = Self> {
        static CURVES: LazyLock<Vec<SettingId>> =
            LazyLock::new(|| SettingId::all().filter(|id| matches!(id.parameter().shape, Shape::Curve { .. })).collect());
        CURVES.iter().copied()
    }

    /// Every bare time of the catalogue.
    pub fn bare_times() -> impl Iterator<Item = Self> {
        static BARE_TIMES: LazyLock<Vec<SettingId>> = LazyLock::new(|| SettingId::all().filter(|id| id.bare_time() == Some(*id)).collect());
        BARE_TIMES.iter().copied()
    }

    /// The times of trip stages that are set: every trip delay, operate time and clearing time.
    pub fn set_times() -> impl Iterator<Item = Self> {
        static TIMES: LazyLock<Vec<SettingId>> = LazyLock::new(|| {
            let is_set = |id: &SettingId| BARE_TIMES_OF[id.index()] != NONE && SET_TIMES.contains(&id.parameter().key);
            SettingId::all().filter(is_set).collect()
        });
        TIMES.iter().copied()
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
pub const MEANINGS_OF_TIME: [&str; 4] = ["definite-delay", "clearing-time", "operate-time", "disconnection"];

/// Those of them that are set, and not shown by a type test.
const SET_TIMES: [&str; 3] = ["definite-delay", "operate-time", "clearing-time"];

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
