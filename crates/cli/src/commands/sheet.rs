//! `asleft sheet`: what to select, enter and verify at a site.

mod blank;
pub mod csv;
mod display;
mod page;

use super::{CAUTIONS, assessor, site_tree};
use crate::Exit;
use crate::args::{Sheet, SheetFormat};
use crate::render::origins::Origins;
use crate::render::{self, table};
use crate::report::layers;
use crate::report::sheet::{DeviceSheetReport, LabelsReport, RowReport, SheetReport};
use crate::walk::write_messages;
use rules::assess::Assessment;
use rules::percentages::percentages;
use rules::provenance::{Standing, Verdict};
use rules::sheet::{DeviceSheet, Row, Task};
use settings_model::catalogue::Equipment;
use settings_model::claim::Citation;
use settings_model::files::SiteFile;
use settings_model::finding::Outcome;
use settings_model::reader;
use std::io::{self, Write};

/// Prints the sheet of each device of a site.
pub fn run(args: &Sheet) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let Some(root) = site_tree(&args.site, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    let site: SiteFile<'_> = reader::typed(&root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
    let assessment = assessor.assess(&site);
    if assessment.book.is_none() || assessment.verdict == Verdict::CouldNotTell {
        // nothing is to be set on the strength of requirements that are at fault or contradict each other
        let findings = rules::wording::findings(&assessment, &root);
        let at_fault: Vec<_> = findings.into_iter().filter(|f| assessment.book.is_none() || f.outcome == Outcome::Unusable).collect();
        write_messages(&at_fault, &assessor.sources)?;
        return Ok(if assessment.verdict == Verdict::NotProven { Exit::NotFine } else { Exit::CouldNotTell });
    }
    let Ok(sheets) = rules::sheet::sheets(&mut assessor, &site, &assessment.facts) else {
        return Err(io::Error::other("profiles that were read a moment ago"));
    };
    let mut out = terminal::stdout();
    match args.format {
        SheetFormat::Json => write_json(&mut out, &site, &assessment, &sheets, assessor.today)?,
        SheetFormat::Csv => csv::write(&mut out, &site, &blank::blanks(&site, &sheets))?,
        SheetFormat::Html => {
            let cautions = cautions(&assessment);
            let head = page::Head {
                site: &site.site,
                training: site.training_notice(),
                as_of: assessor.today.to_string(),
                cautions: cautions.iter().map(String::as_str).collect(),
            };
            page::write(&mut out, &head, &blank::blanks(&site, &sheets))?;
        }
        SheetFormat::Text => {
            for sheet in &sheets {
                write_text(&mut out, &site, sheet, assessor.today)?;
            }
            write_cautions(&mut out, &assessment)?;
        }
    }
    Ok(Exit::Fine)
}

fn write_json(
    out: &mut dyn Write,
    site: &SiteFile<'_>,
    assessment: &Assessment<'_>,
    sheets: &[DeviceSheet],
    today: jiff::civil::Date,
) -> io::Result<()> {
    let devices = sheets.iter().map(|sheet| DeviceSheetReport {
        device: sheet.name.clone(),
        labels: LabelsReport::of(&sheet.labels),
        no_region: sheet.no_region.clone(),
        rows: sheet.rows.iter().map(RowReport::from).collect(),
    });
    let report = SheetReport {
        training: site.training_notice(),
        site: site.site.to_string(),
        as_of: today.to_string(),
        region: site.requirements.region.to_string(),
        layers: layers(assessment),
        devices: devices.collect(),
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
    };
    render::json(&mut *out, &report)
}

fn write_text(out: &mut dyn Write, site: &SiteFile<'_>, sheet: &DeviceSheet, today: jiff::civil::Date) -> io::Result<()> {
    let DeviceSheet { name, kind, region, under, rows, .. } = sheet;
    let width = render::width();
    super::write_training(out, site)?;
    writeln!(out, "Settings sheet  {} / {name}", site.site)?;
    writeln!(out, "{}", render::wrapped(&format!("under {under}, as of {today}"), width, 2))?;
    if let Some(says) = sheet.figures().warning("on it") {
        writeln!(out, "{}", render::wrapped(&says, width, 2))?;
    }

    if *kind == Equipment::Inverter {
        match &sheet.no_region {
            None => {
                render::heading(out, "SELECT", "the region or country code on the device")?;
                writeln!(out, "  {region}")?;
            }
            Some(says) => {
                render::heading(out, "SELECT", "nothing yet")?;
                writeln!(out, "  {}", render::wrapped(says, width - 2, 2))?;
            }
        }
    }

    let mut origins = Origins::default();
    for task in [Task::Enter, Task::Verify, Task::TypeTest, Task::WorkOut] {
        let (words, rest) = task_words(task);
        let of_task: Vec<&Row> = rows.iter().filter(|row| row.task == task).collect();
        if !of_task.is_empty() {
            render::heading(out, words, rest)?;
            writeln!(out, "{}", table_of(&of_task, &mut origins, width))?;
        }
    }
    let unseen: Vec<&Row> = rows.iter().filter(|row| row.task == Task::NotChecked).collect();
    if !unseen.is_empty() {
        let (words, rest) = task_words(Task::NotChecked);
        render::heading(out, words, rest)?;
    }
    for row in unseen {
        let says = format!("{}: {}", row.setting.title(), row.because.as_deref().unwrap_or("no reason given"));
        writeln!(out, "  {}", render::wrapped(&says, width - 2, 4))?;
    }
    display::write(out, sheet, width)?;
    origins.write(out, width)?;
    writeln!(out)
}

/// What a person does with rows, and why they stand apart.
fn task_words(task: Task) -> (&'static str, &'static str) {
    match task {
        Task::Enter => ("ENTER", "the region does not bring these"),
        Task::Verify => ("VERIFY ONLY", "these come with the region; read them back"),
        Task::TypeTest => ("BY TYPE TEST", "nobody sets these; the device's certificate stands for them"),
        Task::WorkOut => ("WORK OUT", "these follow from the devices chosen and the cables laid"),
        Task::NotChecked => ("NOT CHECKED", "asked for, but its content was not seen"),
    }
}

/// What to mind, once for all sheets of a site.
fn write_cautions(out: &mut dyn Write, assessment: &Assessment<'_>) -> io::Result<()> {
    render::heading(out, "MIND", "before anything is set")?;
    for caution in cautions(assessment) {
        writeln!(out, "  - {}", render::wrapped(&caution, render::width() - 4, 4))?;
    }
    writeln!(out)
}

fn cautions(assessment: &Assessment<'_>) -> Vec<String> {
    let book = assessment.book.as_ref().expect("a site without a book has no sheet");
    let notes = book.rulebook.layers.iter().flat_map(|layer| layer.notes.iter().cloned());
    CAUTIONS
        .map(str::to_owned)
        .into_iter()
        .chain(percentages(&book.rulebook).map(|says| render::capitalised(&says) + "."))
        .chain(notes)
        .collect()
}

fn table_of(rows: &[&Row], origins: &mut Origins, width: usize) -> String {
    let mut table = table::table(["Setting", "Required setting", "Complies within", "May be changed by", "From"], width);
    let names: Vec<String> = rows.iter().map(|row| format!("{}{}", table::INDENT, row.setting.parameter().title)).collect();
    table::whole(&mut table, 0, names.iter().map(String::as_str));
    let words = rows.iter().flat_map(|row| row.required.split_whitespace()).map(|word| word.chars().count()).max();
    table::at_least(&mut table, 1, words.unwrap_or_default().clamp(12, 20) as u16 + 2);
    table::at_least(&mut table, 4, 17);
    let mut titles: Vec<&str> = Vec::new();
    for row in rows {
        let function = row.setting.function();
        let name = format!("{}{}", table::INDENT, row.setting.parameter().title);
        let starts = titles.last() != Some(&function.title);
        if starts {
            titles.push(function.title);
        }
        let who = match &row.moved_by {
            (who, Some(range)) => format!("{}, {}", who.word(), one_a_line(range)),
            (who, None) => who.word().to_owned(),
        };
        let mut complies = if row.required == row.complies_within { "just that".to_owned() } else { one_a_line(&row.complies_within) };
        if let Some(kinds) = &row.known_by {
            complies.push_str(&format!("\nknown by {kinds}"));
        }
        let cells = [if starts { table::group_start(&name) } else { name }, required(row), complies, who, from(row, origins)];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    table::lines(&table, &titles)
}

/// Points of a curve stand one a line.
fn one_a_line(points: &str) -> String {
    points.replace(", ", "\n")
}

fn required(row: &Row) -> String {
    if row.set.is_none() && matches!(row.task, Task::TypeTest | Task::WorkOut) {
        return "-".to_owned();
    }
    let Some(per_unit) = &row.per_unit else { return one_a_line(&row.required) };
    let each = row.required.split(", ").zip(per_unit.split(", "));
    each.map(|(value, pu)| format!("{value} ({pu} pu)")).collect::<Vec<_>>().join("\n")
}

fn from(row: &Row, origins: &mut Origins) -> String {
    format!("{} {}", origins.mark(&origin_of(row)), basis_word(row))
}

/// How sure a figure is, in a word.
fn basis_word(row: &Row) -> &'static str {
    row.standing.map_or("", Standing::column)
}

/// Who asks for a figure and where it was found, with the reason and what else to know of it.
fn origin_of(row: &Row) -> String {
    let mut text = row.origin.clone();
    if let Some(because) = &row.because {
        text.push_str(&format!(". Reason: {because}"));
    }
    for remark in row.citation.iter().flat_map(Citation::remarks) {
        text.push_str(&format!(". {remark}"));
    }
    text
}
