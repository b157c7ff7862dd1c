//! Where each setting of a sheet is found on the device's display, and what to select, enter or read back there.

use crate::render::{self, table};
use rules::sheet::{DeviceSheet, Labels, OnDisplay, Row, Task};
use std::io::{self, Write};

/// The part of a sheet that a label map gives, of the rows that are asked for; nothing where none is for the device.
pub fn write(out: &mut dyn Write, sheet: &DeviceSheet, width: usize, is_asked: &dyn Fn(&Row) -> bool) -> io::Result<()> {
    let DeviceSheet { labels, rows, no_region, .. } = sheet;
    let (map, region) = match labels {
        Labels::None => return Ok(()),
        Labels::NotUsed(says, hint) => {
            render::heading(out, "ON THE DISPLAY", "no label map is used")?;
            return writeln!(out, "  {}", render::wrapped(&format!("{says}; {hint}"), width - 2, 2));
        }
        Labels::Used { map, region } => (map, region),
    };
    render::heading(out, "ON THE DISPLAY", "what it calls these, and what to do there")?;
    writeln!(out, "  {}", render::wrapped(&format!("{}; {}", map.name(), map.confirmed()), width - 2, 2))?;
    let mut shown: Vec<&Row> = rows.iter().filter(|row| is_set(row) && is_asked(row)).collect();
    shown.sort_by_key(|row| row.setting);
    writeln!(out, "{}", table_of(region.as_ref().filter(|_| no_region.is_none()), &shown, width))?;
    // a note would make a column of single words
    let noted = |on: &OnDisplay| on.note.as_ref().map(|note| format!("- {}: {note}", on.words));
    let notes = region.iter().chain(shown.iter().flat_map(|row| &row.display)).filter_map(noted);
    for note in notes {
        writeln!(out, "  {}", render::wrapped(&note, width - 2, 4))?;
    }
    let unknown: Vec<String> = shown.iter().filter(|row| row.display.is_empty()).map(|row| row.setting.to_string()).collect();
    if !unknown.is_empty() {
        writeln!(out, "  {}", render::wrapped(&format!("no label is known for {}", unknown.join(", ")), width - 2, 4))?;
    }
    Ok(())
}

/// Whether somebody enters it or reads it back.
fn is_set(row: &Row) -> bool {
    matches!(row.task, Task::Enter | Task::Verify)
}

fn table_of(region: Option<&OnDisplay>, rows: &[&Row], width: usize) -> String {
    let mut table = table::table(["Setting", "Menu", "Display says", "To do"], width);
    let mut titles: Vec<&str> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    let mut add = |name: String, on: &OnDisplay, [word, otherwise]: [&str; 2]| {
        let to_do = on.shows.as_ref().map_or_else(|| otherwise.to_owned(), |shows| format!("{word} {shows}"));
        let cells = [name, on.menu.clone().unwrap_or_default(), on.words.clone(), to_do];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    };
    if let Some(region) = region {
        add("Region".to_owned(), region, ["select", "-"]);
    }
    for row in rows {
        // nobody can enter a range
        let otherwise = match (row.task, row.set.is_some()) {
            (Task::Verify, false) => ["verify", "leave it"],
            (Task::Verify, true) => ["verify", "-"],
            _ => ["enter", "-"],
        };
        for on in &row.display {
            let title = row.setting.function().title;
            let name = on.part.clone().unwrap_or_else(|| row.setting.parameter().title.to_owned());
            let name = format!("{}{name}", table::INDENT);
            names.push(name.clone());
            if titles.last() == Some(&title) {
                add(name, on, otherwise);
            } else {
                titles.push(title);
                add(table::group_start(&name), on, otherwise);
            }
        }
    }
    table::whole(&mut table, 0, names.iter().map(String::as_str));
    table::lines(&table, &titles)
}
