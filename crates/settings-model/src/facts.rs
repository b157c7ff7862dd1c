//! The catalogue of site facts: what a requirement may depend on, and one site's answers.
//!
//! A fact that a site does not state is unknown, never a default. `today` is a fact too, so that
//! expiry and retroactive rules need no clock of their own.

use crate::exact::Exact;
use crate::quantity::Dimension;
use crate::slip::Slip;
use jiff::civil::Date;
use std::cmp::Ordering;

/// One row of [`FACTS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum FactId {
    /// Nominal voltage, line to neutral.
    NominalVoltage,
    /// Number of phases of the supply.
    Phases,
    /// Part of the network that the site is connected to.
    SubNetwork,
    /// How export is limited.
    ExportKind,
    /// Export that the operator approved for the whole site.
    ApprovedExport,
    /// Which of several ways to comply the site takes.
    Route,
    /// What kind of work was done.
    Work,
    /// Whether the operator exempted the work from what is new.
    Exempted,
    /// Sum of the nameplate apparent powers of the site's inverters.
    NameplateTotal,
    /// Sum of what the site's inverters are limited to.
    LimitedTotal,
    /// What the device is fed from.
    EnergySource,
    /// Apparent power on the device's nameplate.
    Nameplate,
    /// What the device is limited to.
    LimitedTo,
    /// Rated active power of the device.
    RatedPower,
    /// Number of phases the device feeds.
    DevicePhases,
    /// Year of the edition that the device is certified to.
    CertifiedYear,
    /// Date of the application to connect.
    Applied,
    /// Date of the operator's approval.
    Approved,
    /// Date of installation.
    Installed,
    /// Date of the last alteration.
    Altered,
    /// The day the question is asked for.
    Today,
}

/// What values a fact takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactShape {
    /// One of a few words.
    Choice(&'static [&'static str]),
    /// A quantity with a unit.
    Quantity(Dimension),
    /// A calendar date, counted in days for arithmetic.
    Date,
}

/// What the tool knows about a fact.
#[derive(Clone, Copy, Debug)]
pub struct Fact {
    /// Its place in the catalogue.
    pub id: FactId,
    /// Its key in conditions.
    pub key: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What values it takes.
    pub shape: FactShape,
    /// Where a site file states it, or what it is worked out from.
    pub stated_as: &'static str,
    /// Whether each device has its own answer.
    pub of_device: bool,
}

const fn of_site(id: FactId, key: &'static str, title: &'static str, shape: FactShape, stated_as: &'static str) -> Fact {
    Fact { id, key, title, shape, stated_as, of_device: false }
}

const fn of_device(id: FactId, key: &'static str, title: &'static str, shape: FactShape, stated_as: &'static str) -> Fact {
    Fact { of_device: true, ..of_site(id, key, title, shape, stated_as) }
}

/// Every fact, in the order of [`FactId`].
pub const FACTS: [Fact; 21] = [
    of_site(
        FactId::NominalVoltage,
        "nominal-voltage",
        "nominal voltage",
        FactShape::Quantity(Dimension::Voltage),
        "supply/nominal, or the standard's own nominal",
    ),
    of_site(FactId::Phases, "phases", "phases", FactShape::Quantity(Dimension::Count), "supply/phases"),
    of_site(
        FactId::SubNetwork,
        "sub-network",
        "part of the network",
        FactShape::Choice(&["main", "single-wire", "isolated", "constrained"]),
        "supply/sub-network",
    ),
    of_site(FactId::ExportKind, "export-kind", "kind of export", FactShape::Choice(&[NO_EXPORT, "fixed", "dynamic"]), "export/kind"),
    of_site(FactId::ApprovedExport, "approved-export", "approved export", FactShape::Quantity(Dimension::ActivePower), "export/approved"),
    of_site(
        FactId::Route,
        "route",
        "route to compliance",
        FactShape::Choice(&["remote-limits", "low-export", "wide-window", "narrow-window"]),
        "requirements/route",
    ),
    of_site(
        FactId::Work,
        "work",
        "kind of work",
        FactShape::Choice(&["new", "addition", "like-for-like", "warranty-replacement", "settings-only"]),
        "work/kind",
    ),
    of_site(FactId::Exempted, "exempted", "exemption by the operator", FactShape::Choice(&["no", "yes"]), "work/exemption"),
    of_site(
        FactId::NameplateTotal,
        "nameplate-total",
        "nameplate rating of all inverters",
        FactShape::Quantity(Dimension::ApparentPower),
        "the sum of every device's nameplate",
    ),
    of_site(
        FactId::LimitedTotal,
        "limited-total",
        "limited rating of all inverters",
        FactShape::Quantity(Dimension::ApparentPower),
        "the sum of every device's limited-to, or else its nameplate",
    ),
    of_device(
        FactId::EnergySource,
        "energy-source",
        "energy source",
        FactShape::Choice(&["solar", "storage", "solar-and-storage", "other"]),
        "the device's source",
    ),
    of_device(
        FactId::Nameplate,
        "nameplate",
        "nameplate rating of the device",
        FactShape::Quantity(Dimension::ApparentPower),
        "the device's nameplate",
    ),
    of_device(
        FactId::LimitedTo,
        "limited-to",
        "limited rating of the device",
        FactShape::Quantity(Dimension::ApparentPower),
        "the device's limited-to, or else its nameplate",
    ),
    of_device(
        FactId::RatedPower,
        "rated-power",
        "rated active power of the device",
        FactShape::Quantity(Dimension::ActivePower),
        "the device's rated-power",
    ),
    of_device(FactId::DevicePhases, "device-phases", "phases of the device", FactShape::Quantity(Dimension::Count), "the device's phases"),
    of_device(
        FactId::CertifiedYear,
        "certified-edition",
        "edition the device is certified to",
        FactShape::Quantity(Dimension::Count),
        "the device's certified/edition/year",
    ),
    of_site(FactId::Applied, "applied", "date of application", FactShape::Date, "dates/applied"),
    of_site(FactId::Approved, "approved", "date of approval", FactShape::Date, "dates/approved"),
    of_site(FactId::Installed, "installed", "date of installation", FactShape::Date, "dates/installed"),
    of_site(FactId::Altered, "altered", "date of the last alteration", FactShape::Date, "dates/altered"),
    of_site(FactId::Today, "today", "the day asked about", FactShape::Date, "--as-of, else the clock"),
];

/// The kind of export of a site that may export nothing.
pub const NO_EXPORT: &str = "none";

impl FactId {
    /// Its row.
    #[must_use]
    pub fn row(self) -> &'static Fact {
        &FACTS[self as usize]
    }

    /// The words that may answer it; none where a number does.
    #[must_use]
    pub fn words(self) -> &'static [&'static str] {
        if let FactShape::Choice(words) = self.row().shape { words } else { &[] }
    }

    /// Whether it counts something: phases, days.
    #[must_use]
    pub fn is_whole(self) -> bool {
        matches!(self.row().shape, FactShape::Date | FactShape::Quantity(Dimension::Count))
    }

    /// The least and the greatest value that a site can have at all, whatever a file says.
    #[must_use]
    pub fn possible(self) -> (Option<Possible>, Option<Possible>) {
        let edge = |at, open| Some(Possible { at, open });
        match self {
            Self::NominalVoltage => (edge(0, true), None),
            // the largest inverters lie near 10 MVA, the largest power stations near 20 GW
            Self::Nameplate | Self::LimitedTo | Self::RatedPower => (edge(0, true), edge(1_000_000_000, false)),
            Self::NameplateTotal | Self::LimitedTotal => (edge(0, true), edge(100_000_000_000, false)),
            Self::ApprovedExport => (edge(0, false), edge(100_000_000_000, false)),
            Self::Phases | Self::DevicePhases => (edge(1, false), edge(3, false)),
            // the first edition of any interconnection standard that a device may name
            Self::CertifiedYear => (edge(1980, false), None),
            Self::SubNetwork
            | Self::ExportKind
            | Self::Route
            | Self::Work
            | Self::Exempted
            | Self::EnergySource
            | Self::Applied
            | Self::Approved
            | Self::Installed
            | Self::Altered
            | Self::Today => (None, None),
        }
    }

    /// The smallest that any device is rated for, in base units (common practice, no source: the smallest inverters lie
    /// near 100 VA). Ratings of next to nothing would keep a site below every size from which more is asked.
    fn smallest(self) -> Option<Possible> {
        let is_rating = matches!(self, Self::Nameplate | Self::NameplateTotal | Self::RatedPower);
        is_rating.then_some(Possible { at: 10, open: false })
    }

    /// Reads a quantity that answers this fact, in base units.
    ///
    /// # Errors
    /// What is wrong with the text, or that no site and no device can have such a value.
    pub fn read(self, text: &str) -> Result<Exact, Slip> {
        let FactShape::Quantity(dimension) = self.row().shape else {
            return Err(Slip::new(format!("`{text}` is no {}", self.row().title), "write one of its words"));
        };
        let number = dimension.parse(text)?.number;
        let (least, most) = self.possible();
        let least = self.smallest().or(least);
        let is_beyond = |edge: Possible, order: Ordering| {
            let at = number.cmp(&Exact::from(edge.at));
            at == order || (edge.open && at == Ordering::Equal)
        };
        let too_low = least.filter(|edge| is_beyond(*edge, Ordering::Less));
        let too_high = most.filter(|edge| is_beyond(*edge, Ordering::Greater));
        let Some(edge) = too_low.or(too_high) else { return Ok(number) };
        let bound = match (too_low.is_some(), edge.open) {
            (true, true) => "above",
            (true, false) => "at least",
            (false, _) => "at most",
        };
        let says = format!("`{}` cannot be the {}", text.trim(), self.row().title);
        Err(Slip::new(says, format!("check sign and unit: it is {bound} {}", dimension.show(Exact::from(edge.at)))))
    }

    /// The fact with this key.
    #[must_use]
    pub fn named(key: &str) -> Option<Self> {
        FACTS.iter().find(|fact| fact.key == key).map(|fact| fact.id)
    }
}

/// An edge of what a fact can be at all, in base units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Possible {
    /// Where it lies.
    pub at: i64,
    /// Whether the edge itself is impossible.
    pub open: bool,
}

/// The answer to one fact: a number in base units, days since 1970 for a date, or the index of a
/// word in the row's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FactValue {
    /// A quantity in base units, or a date in days.
    Number(Exact),
    /// An index into [`FactShape::Choice`].
    Word(u8),
}

/// One site's answers. Not stated is `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts([Option<FactValue>; FACTS.len()]);

impl Facts {
    /// The answer, if the site gives one.
    #[must_use]
    pub fn get(&self, id: FactId) -> Option<FactValue> {
        self.0[id as usize]
    }

    /// The answer as a number (quantities and dates).
    #[must_use]
    pub fn number(&self, id: FactId) -> Option<Exact> {
        match self.get(id) {
            Some(FactValue::Number(n)) => Some(n),
            _ => None,
        }
    }

    /// Whether the device is known to be fed from storage, alone or with something else.
    #[must_use]
    pub fn has_storage(&self) -> bool {
        let words = FactId::EnergySource.words();
        let source = match self.get(FactId::EnergySource) {
            Some(FactValue::Word(word)) => words.get(usize::from(word)),
            _ => None,
        };
        source.is_some_and(|source| ["storage", "solar-and-storage"].contains(source))
    }

    /// Whether the site is known to be one that may export nothing.
    #[must_use]
    pub fn is_without_export(&self) -> bool {
        let word = FactId::ExportKind.words().iter().position(|word| *word == NO_EXPORT);
        word.is_some_and(|word| self.get(FactId::ExportKind) == Some(FactValue::Word(word as u8)))
    }

    /// States a fact.
    pub fn set(&mut self, id: FactId, value: FactValue) {
        self.0[id as usize] = Some(value);
    }

    /// Takes back what is stated of a fact.
    pub fn unset(&mut self, id: FactId) {
        self.0[id as usize] = None;
    }

    /// States a fact that is one of its row's words.
    pub fn set_word(&mut self, id: FactId, word: u8) {
        self.set(id, FactValue::Word(word));
    }

    /// States a fact that is a quantity in base units.
    pub fn set_number(&mut self, id: FactId, number: Exact) {
        self.set(id, FactValue::Number(number));
    }

    /// States a fact that is a date.
    pub fn set_date(&mut self, id: FactId, date: Date) {
        self.set_number(id, days(date));
    }
}

/// A date as a whole number of days since 1970-01-01.
#[must_use]
pub fn days(date: Date) -> Exact {
    const HOURS: i64 = 24;
    Exact::from(date.duration_since(Date::constant(1970, 1, 1)).as_hours() / HOURS)
}

/// The date that a number of [`days`] stands for.
#[must_use]
pub fn date_of(days: Exact) -> Option<Date> {
    let whole: i32 = days.to_string().parse().ok()?;
    Date::constant(1970, 1, 1).checked_add(jiff::Span::new().try_days(whole).ok()?).ok()
}

/// A fact's value as people write it.
#[must_use]
pub fn show(id: FactId, value: FactValue) -> String {
    match (id.row().shape, value) {
        (FactShape::Choice(words), FactValue::Word(w)) => words.get(usize::from(w)).copied().unwrap_or("?").to_owned(),
        (FactShape::Quantity(dimension), FactValue::Number(n)) => dimension.show(n),
        (FactShape::Date, FactValue::Number(n)) => date_of(n).map_or_else(|| n.to_string(), |d| d.to_string()),
        _ => "?".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_in_the_order_of_their_ids_and_keys_are_distinct() {
        for (index, fact) in FACTS.iter().enumerate() {
            assert_eq!(fact.id as usize, index, "{}", fact.key);
            assert_eq!(FactId::named(fact.key), Some(fact.id));
        }
    }

    #[test]
    fn storage_is_told_by_the_source() {
        let words = FactId::EnergySource.words();
        let with = |word: usize| {
            let mut facts = Facts::default();
            facts.set_word(FactId::EnergySource, word as u8);
            facts.has_storage()
        };
        let stores: Vec<&str> = (0..words.len()).filter(|word| with(*word)).map(|word| words[word]).collect();
        assert_eq!(stores, ["storage", "solar-and-storage"]);
        assert!(!Facts::default().has_storage());
    }

    #[test]
    fn dates_count_in_days_and_back() {
        let date = Date::constant(2026, 2, 3);
        assert_eq!(date_of(days(date)), Some(date));
        assert_eq!(days(Date::constant(1970, 1, 2)), Exact::ONE);
    }
}
