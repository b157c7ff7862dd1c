//! `asleft sheet`: what to select, enter and verify at a site.

mod blank;
mod crew;
pub mod csv;
mod display;
mod page;
mod tables;
mod whole;

use super::{CAUTIONS, assessor, site_tree, with_profiles};
use crate::Exit;
use crate::args::{Sheet, SheetFormat};
use crate::render;
use crate::report::layers;
use crate::report::sheet::{DeviceSheetReport, LabelsReport, RowReport, SheetReport};
use crate::walk::write_messages;
use jiff::civil::Date;
use rules::assess::Assessment;
use rules::percentages::percentages;
use rules::provenance::{Standing, Verdict};
use rules::sheet::{DeviceSheet, Row, Task};
use settings_model::catalogue::Equipment;
use settings_model::claim::Citation;
use settings_model::facts::FactId;
use settings_model::files::SiteFile;
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
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
    let asked = SheetQuery { site: &site, assessment: &assessment, sheets: &sheets, today: assessor.today, args };
    let mut out = terminal::stdout();
    match args.format {
        SheetFormat::Json => write_json(&mut out, &site, &assessment, &sheets, assessor.today)?,
        SheetFormat::Csv => csv::write(&mut out, &site, &blank::blanks(&site, &sheets))?,
        SheetFormat::Html => page::write(&mut out, &asked)?,
        SheetFormat::Text if args.all => whole::write(&mut out, &asked)?,
        SheetFormat::Text => crew::write(&mut out, &asked)?,
    }
    Ok(Exit::Fine)
}

fn write_json(
    out: &mut dyn Write,
    site: &SiteFile<'_>,
    assessment: &Assessment<'_>,
    sheets: &[DeviceSheet],
    today: Date,
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

/// What keeps people from harm, on every page.
const SAFETY: [&str; 2] = [CAUTIONS[0], CAUTIONS[3]];

/// What was asked, and what came of it.
struct SheetQuery<'a> {
    site: &'a SiteFile<'a>,
    assessment: &'a Assessment<'a>,
    sheets: &'a [DeviceSheet],
    today: Date,
    args: &'a Sheet,
}

impl SheetQuery<'_> {
    /// A command about the same site, as it can be pasted.
    fn command(&self, verb: &str, flags: &str) -> String {
        let (site, profiles) = (self.args.site.to_string_lossy(), with_profiles(&self.args.under.profiles));
        format!("asleft {verb} {}{profiles}{flags}", terminal::path(render::quoted(&site)))
    }

    /// What is known of the region here, and of every layer that the site stands under.
    fn notes(&self) -> (&[String], Vec<&str>) {
        let book = self.assessment.book.as_ref().expect("a site without a book has no sheet");
        let of_layers = book.rulebook.layers.iter().flat_map(|layer| layer.notes.iter().map(String::as_str));
        (&book.rulebook.region_notes, of_layers.filter(|note| !book.rulebook.region_notes.iter().any(|own| own == note)).collect())
    }

    /// The title, what the device stands under, and how its figures are known.
    fn write_head(&self, out: &mut dyn Write, sheet: &DeviceSheet, width: usize) -> io::Result<()> {
        super::write_training(out, self.site)?;
        writeln!(out, "Settings sheet  {} / {}", self.site.site, sheet.name)?;
        let under = format!("under {}, as of {}", sheet.under, self.today);
        let approved = approved(self.site, sheet).map(|says| format!("approved here: {says}"));
        for line in [Some(under), approved, sheet.figures().warning("on it")].into_iter().flatten() {
            writeln!(out, "{}", render::wrapped(&line, width, 2))?;
        }
        Ok(())
    }

    /// The region to select.
    fn write_region(&self, out: &mut dyn Write, sheet: &DeviceSheet, width: usize) -> io::Result<()> {
        match &sheet.no_region {
            _ if sheet.kind != Equipment::Inverter => Ok(()),
            None => {
                let says = format!("{}, as the region or country code on the device", sheet.region);
                render::heading(out, "SELECT", &says)
            }
            Some(says) => {
                render::heading(out, "SELECT", "nothing yet")?;
                writeln!(out, "  {}", render::wrapped(says, width - 2, 2))
            }
        }
    }
}

/// What was approved for this site alone: its export, and what departs from what is asked of everybody.
fn approved(site: &SiteFile<'_>, sheet: &DeviceSheet) -> Option<String> {
    let export = site.export.as_ref().map(|export| {
        let limit = sheet.facts.number(FactId::ApprovedExport).filter(|_| export.approved.is_some());
        let limit = limit.map_or_else(String::new, |watts| format!(", {}", Dimension::ActivePower.show(watts)));
        let reference = export.reference.as_ref().map_or_else(String::new, |reference| format!(" ({reference})"));
        format!("export {}{limit}{reference}", export.kind.word())
    });
    let departs = sheet.rows.iter().filter(|row| row.standing == Some(Standing::SiteApproval) && row.origin.starts_with("site-specific"));
    let departs = departs.map(|row| format!("{} {} ({})", row.setting.title(), row.required, row.origin));
    let all: Vec<String> = export.into_iter().chain(departs).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// All that has to be known before anything is set, with the notes of every layer.
fn cautions(assessment: &Assessment<'_>) -> Vec<String> {
    let book = assessment.book.as_ref().expect("a site without a book has no sheet");
    let notes = book.rulebook.layers.iter().flat_map(|layer| layer.notes.iter().cloned());
    let of_percentages = percentages(&book.rulebook).map(|says| render::capitalised(&says) + ".");
    CAUTIONS.map(str::to_owned).into_iter().chain(of_percentages).chain(notes).collect()
}

/// What a person does with rows, and why they stand apart.
fn task_words(task: Task) -> (&'static str, &'static str) {
    match task {
        Task::Enter => ("ENTER", "the region does not bring these"),
        Task::Verify => ("VERIFY ONLY", "these come with the region; read them back"),
        Task::TypeTest => ("BY TYPE TEST", "nobody sets these; the device's certificate proves them"),
        Task::WorkOut => ("WORK OUT", "these follow from the devices chosen and the cables laid"),
        Task::NotChecked => ("NOT CHECKED", "these tables are not in the profile: check your copy of the standard"),
    }
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
        text.push_str(&format!(". {}", render::capitalised(&remark)));
    }
    text
}
