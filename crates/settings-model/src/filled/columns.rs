//! What the columns of a sheet are called, and where they stand.

use super::cells::Cell;
use crate::finding::{Finding, nearest};
use crate::source::Place;

/// What the columns of a sheet are called. `asleft sheet --format csv` writes these names; an office
/// may have names of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Columns {
    /// The device, by its name in the site's file.
    pub device: String,
    /// The setting, such as `overvoltage-1/threshold`.
    pub setting: String,
    /// What was found before the work.
    pub as_found: String,
    /// What was left after it.
    pub as_left: String,
    /// The number of the photo that shows it.
    pub photo: String,
    /// Whose sheet it is: the site's own name.
    pub site: String,
    /// In which unit a number without one is meant.
    pub unit: String,
    /// Who read the value, by initials.
    pub initials: String,
}

impl Columns {
    /// Every name, with the key that a column map has for it.
    fn names(&self) -> [(&'static str, &str); 8] {
        let Self { device, setting, as_found, as_left, photo, site, unit, initials } = self;
        [
            ("device", device),
            ("setting", setting),
            ("as-found", as_found),
            ("as-left", as_left),
            ("photo", photo),
            ("site", site),
            ("unit", unit),
            ("initials", initials),
        ]
        .map(|(key, name)| (key, name.as_str()))
    }
}

impl Columns {
    /// The columns that no sheet goes without, with the key that a column map has for each.
    pub(crate) fn needed(&self) -> [(&'static str, &str); 4] {
        let [device, setting, as_found, as_left, ..] = self.names();
        [device, setting, as_found, as_left]
    }
}

impl Default for Columns {
    fn default() -> Self {
        Self {
            device: "device".to_owned(),
            setting: "setting".to_owned(),
            as_found: "as found".to_owned(),
            as_left: "as left".to_owned(),
            photo: "photo".to_owned(),
            site: "site".to_owned(),
            unit: "unit".to_owned(),
            initials: "initials".to_owned(),
        }
    }
}

/// Where each column stands.
pub(super) struct Positions {
    pub(super) device: usize,
    pub(super) setting: usize,
    pub(super) moments: [usize; 2],
    pub(super) photo: Option<usize>,
    pub(super) site: Option<usize>,
    pub(super) unit: Option<usize>,
    pub(super) initials: Option<usize>,
}

impl Positions {
    /// Where the columns of a heading stand; what is missing is a finding.
    pub(super) fn of(heading: &[Cell], columns: &Columns, findings: &mut Vec<Finding>) -> Option<Self> {
        findings.extend(columns.names().into_iter().filter_map(|(_, name)| column_twice(name, heading)));
        let mut wanted = |name: &str| {
            let found = heading.iter().position(|cell| cell.text.eq_ignore_ascii_case(name));
            if found.is_none() {
                findings.push(column_missing(name, heading));
            }
            found
        };
        let (device, setting) = (wanted(&columns.device), wanted(&columns.setting));
        let moments = [wanted(&columns.as_found), wanted(&columns.as_left)];
        let usual = Columns::default();
        // what an office calls something else `unit` is no column of units
        let is_of_another = |name: &str| columns.names().into_iter().filter(|(_, other)| same_column(other, name)).count() > 1;
        // a column may be left out, but not one that an office took the trouble to name
        let mut optional = |name: &str, usual: &str| match heading.iter().position(|cell| cell.text.eq_ignore_ascii_case(name)) {
            None if name != usual => wanted(name),
            Some(_) if name == usual && is_of_another(name) => None,
            found => found,
        };
        let photo = optional(&columns.photo, &usual.photo);
        let site = optional(&columns.site, &usual.site);
        let unit = optional(&columns.unit, &usual.unit);
        let initials = optional(&columns.initials, &usual.initials);
        let [Some(found), Some(left)] = moments else { return None };
        Some(Self { device: device?, setting: setting?, moments: [found, left], photo, site, unit, initials })
    }

    /// Whether any column stands there.
    pub(super) fn has(&self, position: usize) -> bool {
        let Self { device, setting, moments, photo, site, unit, initials } = self;
        let needed = [*device, *setting, moments[0], moments[1]];
        needed.contains(&position) || [photo, site, unit, initials].contains(&&Some(position))
    }
}

/// Two columns of one name say two things; neither is believed. Nobody sees whether `as-left` or `as left` is meant.
fn column_twice(name: &str, heading: &[Cell]) -> Option<Finding> {
    let mut of_name = heading.iter().filter(|cell| same_column(&cell.text, name));
    let (first, second) = (of_name.next()?, of_name.next()?);
    let finding = Finding::unusable("column-twice", second.place, format!("a second column `{name}`"));
    Some(finding.because(first.place, "here first").hint("keep one of the two"))
}

/// Whether two names look like one column's.
pub(crate) fn same_column(one: &str, other: &str) -> bool {
    one.eq_ignore_ascii_case(other) || (!letters(other).is_empty() && letters(one) == letters(other))
}

/// A name without what is seen as the same: capitals, spaces, dashes, letters of other scripts that look alike, and
/// marks that are not seen at all.
fn letters(name: &str) -> String {
    name.chars().filter(|letter| letter.is_alphanumeric()).flat_map(char::to_lowercase).map(as_seen).collect()
}

/// Letters, and those of other scripts that are drawn alike (Unicode Technical Standard 39, `confusables.txt`): those of
/// small letters, as names are compared.
const ALIKE: [(char, &str); 18] = [
    ('a', "аɑαａ"),
    ('b', "ьЬｂ"),
    ('c', "сϲⅽｃ"),
    ('d', "ԁⅾｄ"),
    ('e', "еҽｅ"),
    ('f', "ſꞙｆ"),
    ('g', "ɡցｇ"),
    ('h', "һհｈ"),
    ('i', "іıιⅰｉ"),
    ('l', "ӏⅼｌ"),
    ('n', "ոｎ"),
    ('o', "оοօᴏｏ"),
    ('p', "рρｐ"),
    ('s', "ѕꜱｓ"),
    ('t', "тτｔ"),
    ('u', "υսᴜｕ"),
    ('v', "νѵⅴｖ"),
    ('x', "хⅹｘ"),
];

fn as_seen(letter: char) -> char {
    let alike = ALIKE.iter().find(|(_, others)| !letter.is_ascii() && others.contains(letter));
    alike.map_or(letter, |(seen, _)| *seen)
}

fn column_missing(name: &str, heading: &[Cell]) -> Finding {
    let place = heading.first().map_or(Place::NOWHERE, |cell| cell.place);
    let finding = Finding::unusable("column-missing", place, format!("no column `{name}`"));
    match nearest(name, heading.iter().map(|cell| cell.text.as_str())) {
        Some(meant) => finding.hint(format!("rename `{meant}`, or say in a column map what yours is called")),
        None => finding.hint("name the column so, or say in a column map what yours is called"),
    }
}
