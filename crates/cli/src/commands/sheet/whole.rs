//! All of a sheet: every required setting with who may change it, where its figure was found, and every note.

use super::tables::{self, Says};
use super::{SheetQuery, basis_word, cautions, display, origin_of, task_words};
use crate::render::origins::Origins;
use crate::render::{self, heading, wrapped};
use rules::sheet::{DeviceSheet, Row, Task};
use std::io::{self, Write};

/// Writes the sheet of each device, and once for all of them what has to be known before anything is set.
pub fn write(out: &mut dyn Write, asked: &SheetQuery<'_>) -> io::Result<()> {
    let width = render::width();
    for sheet in asked.sheets {
        asked.write_head(out, sheet, width)?;
        asked.write_region(out, sheet, width)?;
        write_rows(out, sheet, width)?;
    }
    heading(out, "BEFORE YOU START", "")?;
    for caution in cautions(asked.assessment) {
        writeln!(out, "  - {}", wrapped(&caution, width - 4, 4))?;
    }
    writeln!(out)
}

fn write_rows(out: &mut dyn Write, sheet: &DeviceSheet, width: usize) -> io::Result<()> {
    let mut origins = Origins::default();
    let mut from = |row: &Row| format!("{} {}", origins.mark(&origin_of(row)), basis_word(row));
    for task in [Task::Enter, Task::Verify, Task::TypeTest, Task::WorkOut] {
        let (words, rest) = task_words(task);
        let of_task: Vec<&Row> = sheet.rows.iter().filter(|row| row.task == task).collect();
        if !of_task.is_empty() {
            heading(out, words, rest)?;
            writeln!(out, "{}", tables::of(&of_task, Says::All, width, ("From", &mut from)))?;
        }
    }
    let unseen: Vec<&Row> = sheet.rows.iter().filter(|row| row.task == Task::NotChecked).collect();
    if !unseen.is_empty() {
        let (words, rest) = task_words(Task::NotChecked);
        heading(out, words, rest)?;
    }
    for row in unseen {
        let says = format!("{}: {}", row.setting.title(), row.because.as_deref().unwrap_or("no reason given"));
        writeln!(out, "  {}", wrapped(&says, width - 2, 4))?;
    }
    display::write(out, sheet, width, &|_| true)?;
    origins.write(out, width)?;
    writeln!(out)
}
