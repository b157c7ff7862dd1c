//! The one page that a crew carries: what to select, enter, photograph and test, and room to sign.

use super::tables::{self, Says};
use super::{SAFETY, SheetQuery, basis_word, display, task_words};
use crate::render::{self, heading, wrapped};
use record::Certainty;
use record::site_tests;
use rules::sheet::{DeviceSheet, Row, Task};
use settings_model::catalogue::Equipment;
use std::io::{self, Write};

/// Writes the page of each device, and once what is on none of them.
pub fn write(out: &mut dyn Write, asked: &SheetQuery<'_>) -> io::Result<()> {
    let width = render::width();
    for (n, sheet) in asked.sheets.iter().enumerate() {
        Page { out: &mut *out, asked, sheet, width }.write(n == 0)?;
        if n + 1 < asked.sheets.len() {
            writeln!(out)?;
        }
    }
    heading(out, "NOT ON THIS PAGE", &format!("see it with `{}`", asked.command("sheet", " --all")))?;
    writeln!(out, "  {}", wrapped(&left_out(asked, asked.sheets), width - 2, 4))
}

struct Page<'p> {
    out: &'p mut dyn Write,
    asked: &'p SheetQuery<'p>,
    sheet: &'p DeviceSheet,
    width: usize,
}

impl Page<'_> {
    fn write(&mut self, is_first: bool) -> io::Result<()> {
        self.asked.write_head(self.out, self.sheet, self.width)?;
        if is_first {
            heading(self.out, "BEFORE YOU START", "")?;
            for caution in SAFETY.into_iter().chain(self.asked.notes().0.iter().map(String::as_str)) {
                self.line(caution)?;
            }
        }
        self.asked.write_region(self.out, self.sheet, self.width)?;
        self.rows()?;
        display::write(self.out, self.sheet, self.width, &|row| self.sheet.is_acted_on(row))?;
        if self.sheet.kind != Equipment::Installation {
            self.named("PHOTOGRAPH", "as found and as left (common practice)", &photographs(self.sheet))?;
            self.tests()?;
            heading(self.out, "SIGN", SIGN)?;
        }
        Ok(())
    }

    fn line(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "  {}", wrapped(text, self.width - 2, 4))
    }

    fn named(&mut self, words: &str, rest: &str, parts: &[String]) -> io::Result<()> {
        heading(self.out, words, rest)?;
        self.line(&parts.join("; "))
    }

    /// What somebody enters, works out or has to read back.
    fn rows(&mut self) -> io::Result<()> {
        for task in [Task::Enter, Task::Verify, Task::WorkOut] {
            let rows: Vec<&Row> = self.sheet.rows.iter().filter(|row| row.task == task && self.sheet.is_acted_on(row)).collect();
            if rows.is_empty() {
                continue;
            }
            let (words, rest) = match task {
                Task::Verify if self.sheet.region_stands => ("READ BACK", "the region brings these, but they need evidence of their own"),
                Task::Verify => ("READ BACK", READ_ALL),
                _ => task_words(task),
            };
            heading(self.out, words, rest)?;
            writeln!(self.out, "{}", tables::of(&rows, Says::WhatToDo, self.width, ("Basis", &mut |row| basis_word(row).to_owned())))?;
        }
        Ok(())
    }

    fn tests(&mut self) -> io::Result<()> {
        let titles = tests(self.asked, self.sheet);
        match titles.is_empty() {
            true => Ok(()),
            false => self.named("TEST", &format!("steps and limits: `{}`", self.asked.command("test-sheet", "")), &titles),
        }
    }
}

/// The tests that are done on site.
pub fn tests(asked: &SheetQuery<'_>, sheet: &DeviceSheet) -> Vec<String> {
    let plan = site_tests::plan(asked.site, std::slice::from_ref(sheet));
    let on_site = plan.tests.iter().filter(|test| test.expects.iter().any(|figure| figure.certainty != Certainty::TypeTest));
    on_site.enumerate().map(|(n, test)| format!("{} {}", n + 1, test.title.to_lowercase())).collect()
}

/// How many rows and notes are not on the page.
pub fn left_out(asked: &SheetQuery<'_>, sheets: &[DeviceSheet]) -> String {
    let left = || sheets.iter().flat_map(|sheet| sheet.rows.iter().filter(move |row| !sheet.is_acted_on(row)));
    let of = |task: Task| left().filter(|row| row.task == task).count();
    let counted = [
        (of(Task::Verify), "brought by the region"),
        (of(Task::TypeTest), "proved by the type test"),
        (of(Task::NotChecked), "NOT CHECKED (no table in the profile)"),
    ];
    let settings: Vec<String> = counted.iter().filter(|(count, _)| *count > 0).map(|(count, words)| format!("{count} {words}")).collect();
    let settings = if settings.is_empty() { String::new() } else { format!("settings: {}; ", settings.join(", ")) };
    let notes = match asked.notes().1.len() {
        0 => String::new(),
        1 => " and 1 note".to_owned(),
        n => format!(" and {n} notes"),
    };
    format!("{settings}the sources of all figures{notes}")
}

/// Why every value has to be read back.
pub const READ_ALL: &str = "the file does not state a certificate by which the region stands for these";

/// What whoever did it writes down.
const SIGN: &str = "date __________  role ______________  initials ______  licence __________";

/// What proves the work afterwards.
pub fn photographs(sheet: &DeviceSheet) -> Vec<String> {
    let region = (sheet.kind == Equipment::Inverter && sheet.no_region.is_none()).then(|| "the selected region".to_owned());
    let has = |function: &str| sheet.rows.iter().any(|row| row.setting.function().key == function);
    let sensor = has("export-sensor").then(|| "the export sensor and its direction".to_owned());
    let plate = "the rating plate with serial number and firmware".to_owned();
    region.into_iter().chain(["each value above".to_owned(), plate]).chain(sensor).chain(to_be_proved(sheet)).collect()
}

/// What complies only by evidence of certain kinds: `by photo or test: export sensor: direction`.
fn to_be_proved(sheet: &DeviceSheet) -> Vec<String> {
    let mut by_kinds: Vec<(&str, Vec<String>)> = Vec::new();
    for row in &sheet.rows {
        let Some(kinds) = row.known_by.as_deref() else { continue };
        let name = row.setting.title().to_lowercase().replace(": ", " ");
        match by_kinds.iter_mut().find(|(own, _)| *own == kinds) {
            Some((_, names)) => names.push(name),
            None => by_kinds.push((kinds, vec![name])),
        }
    }
    by_kinds.into_iter().map(|(kinds, names)| format!("evidence by {kinds} is required of {}", names.join(", "))).collect()
}
