//! A sheet to fill in by hand: what is required, beside empty places for what was found and left.

use super::{basis_word, origin_of, task_words};
use rules::sheet::{DeviceSheet, Labels, OnDisplay, Row, Task};
use settings_model::catalogue::{Equipment, HeldBy, Shape};
use settings_model::claim::Evidence;
use settings_model::files::SiteFile;

/// The lines of one device.
pub struct Blank {
    /// The device, by its name in the site's file.
    pub device: String,
    /// What it stands under.
    pub under: String,
    /// How many of its figures nobody verified; `None` where all were.
    pub unverified: Option<String>,
    /// Its lines, in the order of the work.
    pub lines: Vec<Line>,
}

/// One line to fill in.
#[derive(Clone)]
pub struct Line {
    /// What a person does with it.
    pub task: &'static str,
    /// The key by which a filled sheet is read: a setting, the display's words for it, or what is noted of
    /// the whole device.
    pub key: String,
    /// For people: the function, and of it the setting.
    pub title: (&'static str, String),
    /// In which unit a number alone is meant.
    pub unit: String,
    /// What is required.
    pub required: String,
    /// What complies.
    pub complies_within: String,
    /// How it has to be known, where that is asked.
    pub evidence: String,
    /// Who may change it.
    pub moved_by: String,
    /// Where the figure was found.
    pub from: String,
    /// How sure it is.
    pub basis: &'static str,
    /// Whether there is anything to read on the device or to work out: a line without is for reading only.
    pub is_to_fill: bool,
    /// Whether somebody at the site has to act on it: such lines are on the page of the crew.
    pub is_acted_on: bool,
    /// The words that may be entered, where it is a choice in the catalogue's own words.
    pub choices: Vec<&'static str>,
}

/// The blanks of a site.
pub fn blanks(site: &SiteFile<'_>, sheets: &[DeviceSheet]) -> Vec<Blank> {
    sheets.iter().map(|sheet| blank(site, sheet)).collect()
}

fn blank(site: &SiteFile<'_>, sheet: &DeviceSheet) -> Blank {
    let settings = told_once(sheet.rows.iter().flat_map(|row| of_row(row, sheet.is_acted_on(row))));
    let lines = if sheet.kind == Equipment::Installation {
        settings
    } else {
        let region = (sheet.kind == Equipment::Inverter).then(|| of_region(site, sheet));
        region.into_iter().chain(of_holding()).chain(settings).collect()
    };
    Blank { device: sheet.name.clone(), under: sheet.under.clone(), unverified: sheet.figures().warning("on it"), lines }
}

fn of_region(site: &SiteFile<'_>, sheet: &DeviceSheet) -> Line {
    let title = ("Region", "region or country code".to_owned());
    if let Some(says) = &sheet.no_region {
        return Line { key: "region-selected".to_owned(), title, complies_within: says.clone(), ..noted("SELECT") };
    }
    if let Labels::Used { region: Some(on), .. } = &sheet.labels {
        let required = on.shows.clone().unwrap_or_default();
        return Line { key: path(on), title, required, complies_within: sheet.region.clone(), ..noted("SELECT") };
    }
    let older = site.devices.get(&sheet.name).and_then(|device| device.stands_under.as_ref());
    let key = older.map_or(&site.requirements.region, |older| &older.region);
    Line {
        task: "SELECT",
        key: "region-selected".to_owned(),
        title,
        required: key.to_string(),
        complies_within: sheet.region.clone(),
        ..noted("SELECT")
    }
}

/// One label may stand for several settings, such as a choice among modes: it has one line.
fn told_once(all: impl Iterator<Item = Line>) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for line in all {
        if !lines.iter().any(|earlier| earlier.key == line.key) {
            lines.push(line);
        }
    }
    lines
}

/// What is noted of the whole device.
fn of_holding() -> [Line; 3] {
    // that a region stands for a value is for the tool to say
    let known_by: Vec<&str> = Evidence::ALL.into_iter().filter(|kind| *kind != Evidence::Region).map(Evidence::word).collect();
    let line = |key: &str, title: &str, reads: &str| Line {
        key: key.to_owned(),
        title: ("Record", title.to_owned()),
        complies_within: reads.to_owned(),
        ..noted("NOTE")
    };
    [
        line("date", "date", "such as 2026-04-09"),
        line("role", "role", "a role and not a name, such as licensed installer"),
        Line { choices: known_by.clone(), ..line("known-by", "how the values are known", &known_by.join(", ")) },
    ]
}

fn noted(task: &'static str) -> Line {
    Line {
        task,
        key: String::new(),
        title: ("", String::new()),
        unit: String::new(),
        required: String::new(),
        complies_within: String::new(),
        evidence: String::new(),
        moved_by: String::new(),
        from: String::new(),
        basis: "",
        is_to_fill: true,
        is_acted_on: true,
        choices: Vec::new(),
    }
}

/// The lines of one required setting: where a display shows it in parts, a line for each part, in the
/// display's words.
fn of_row(row: &Row, is_acted_on: bool) -> Vec<Line> {
    let whole = Line { is_acted_on, ..of_setting(row) };
    if row.display.is_empty() || !whole.is_to_fill {
        return vec![whole];
    }
    let on_display = |on: &OnDisplay| {
        let required = on.shows.clone().unwrap_or_else(|| whole.required.clone());
        Line {
            key: path(on),
            choices: Vec::new(),
            title: (whole.title.0, on.part.clone().unwrap_or_else(|| whole.title.1.clone())),
            unit: unit_of(&required).to_owned(),
            required,
            complies_within: on
                .note
                .as_ref()
                .map_or_else(|| whole.complies_within.clone(), |note| format!("{}; {note}", whole.complies_within)),
            ..whole.clone()
        }
    };
    row.display.iter().map(on_display).collect()
}

/// How a row names what stands on a display: with its menu, so that it is never two things.
fn path(on: &OnDisplay) -> String {
    on.menu.iter().map(String::as_str).chain([on.words.as_str()]).collect::<Vec<_>>().join(" > ")
}

/// The unit that a display shows behind a number.
fn unit_of(shown: &str) -> &str {
    let begins_as_number = shown.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+');
    shown.split_once(' ').filter(|(_, unit)| begins_as_number && !unit.contains(' ')).map_or("", |(_, unit)| unit)
}

fn of_setting(row: &Row) -> Line {
    let parameter = row.setting.parameter();
    let unit = match parameter.shape {
        Shape::Quantity(dimension) => dimension.unit_of(&row.required),
        Shape::Choice(_) | Shape::Curve { .. } => "",
    };
    let moved_by = match &row.moved_by {
        (who, Some(range)) => format!("{}, {range}", who.word()),
        (who, None) => who.word().to_owned(),
    };
    Line {
        task: task_words(row.task).0,
        key: row.setting.to_string(),
        title: (row.setting.function().title, parameter.title.to_owned()),
        unit: unit.to_owned(),
        required: if row.set.is_none() && row.task >= Task::TypeTest { String::new() } else { row.required.clone() },
        complies_within: row.complies_within.clone(),
        evidence: row.known_by.clone().unwrap_or_default(),
        moved_by,
        from: origin_of(row),
        basis: basis_word(row),
        is_to_fill: matches!(row.task, Task::Enter | Task::Verify) || parameter.held_by == HeldBy::Calculated,
        is_acted_on: true,
        choices: match parameter.shape {
            Shape::Choice(words) => words.to_vec(),
            Shape::Quantity(_) | Shape::Curve { .. } => Vec::new(),
        },
    }
}
