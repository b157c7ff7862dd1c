//! The answer in each of its forms.

use crate::args::WorkFormat;
use crate::render::spreadsheet::Spreadsheet;
use crate::render::{self, markdown::markdown, table, wrapped};
use crate::report::affected::{AffectedReport, AffectedSite, WorkReport};
use rules::affected::Effect;
use rules::provenance::{Figures, Standing};
use std::io::{self, Write};

/// Writes the answer to standard output.
pub fn write(report: &AffectedReport, format: WorkFormat) -> io::Result<()> {
    let mut out = io::BufWriter::new(terminal::stdout());
    match format {
        WorkFormat::Text => text(&mut out, report)?,
        WorkFormat::Markdown => as_markdown(&mut out, report)?,
        WorkFormat::Csv => csv(&mut out, report)?,
        WorkFormat::Json => render::json(&mut out, report)?,
    }
    out.flush()
}

/// Sites and the things to do at them, one after another.
fn work(report: &AffectedReport) -> impl Iterator<Item = (&AffectedSite, &WorkReport)> {
    let with_work = report.sites.iter().filter(|site| site.effect().is_some_and(Effect::is_work));
    with_work.flat_map(|site| site.work.iter().map(move |work| (site, work)))
}

/// What the counts do not say: sites that were at fault before, and what the answer rests on that nobody verified, of the
/// sites that comply now and of the work.
fn reservations(report: &AffectedReport) -> Vec<String> {
    let complying = match report.on_unverified_figures {
        0 => None,
        1 => Some("UNVERIFIED: 1 site that complies now agrees with unverified figures only.".to_owned()),
        many => Some(format!("UNVERIFIED: {many} sites that comply now agree with unverified figures only.")),
    };
    let of_work: Figures = work(report).filter_map(|(_, work)| work.basis).collect();
    let at_fault = match report.at_fault_already {
        0 => None,
        1 => {
            Some("AT FAULT ALREADY: 1 site without a change does not comply, or is not proven; `asleft check SITES` shows why.".to_owned())
        }
        many => Some(format!(
            "AT FAULT ALREADY: {many} sites without a change do not comply, or are not proven; `asleft check SITES` shows why."
        )),
    };
    at_fault.into_iter().chain(complying).chain(of_work.warning("that ask for this work")).collect()
}

/// Sites of which it could not be told, and why.
fn could_not_tell(report: &AffectedReport) -> impl Iterator<Item = String> {
    report.sites.iter().filter_map(|site| Some(format!("{}: {}", site.site, site.reason.as_ref()?)))
}

/// How many sites each effect has, gravest first.
fn summary(report: &AffectedReport) -> Vec<(usize, &'static str)> {
    let count = |effect: Effect| report.summary.get(effect.word()).map(|count| (*count, effect.phrase()));
    let others = report.summary.get("of-another-network").map(|count| (*count, "of another network, or of none"));
    Effect::ALL.into_iter().filter_map(count).chain(others).collect()
}

fn text(out: &mut dyn Write, report: &AffectedReport) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{}", wrapped(&format!("{} after {}, as of {}", report.new, report.old, report.as_of), width, 2))?;
    for (count, phrase) in summary(report) {
        writeln!(out, "  {count:>6}  {phrase}")?;
    }
    for says in reservations(report) {
        writeln!(out, "  {}", wrapped(&says, width - 2, 2))?;
    }
    for effect in Effect::ALL.into_iter().filter(|effect| effect.is_work()) {
        let sites: Vec<&AffectedSite> = report.sites.iter().filter(|site| site.effect() == Some(effect)).collect();
        if !sites.is_empty() {
            render::heading(out, &effect.phrase().to_uppercase(), "what has to be done there now")?;
        }
        for site in sites {
            let whom = site.answerable.iter().filter(|name| !name.is_empty()).cloned().collect::<Vec<_>>().join(", ");
            let whom = if whom.is_empty() { whom } else { format!(" ({whom})") };
            writeln!(
                out,
                "\n  {}",
                wrapped(&format!("{}{whom}, now under {}: {}", site.site, site.is_under, site.headline), width - 2, 4)
            )?;
            write!(out, "{}", table_of(&site.work, width))?;
        }
    }
    let staying: Vec<&str> =
        report.sites.iter().filter(|site| site.effect() == Some(Effect::MayStay)).map(|site| site.site.as_str()).collect();
    if let (false, Some(accepted)) = (staying.is_empty(), &report.older_accepted) {
        render::heading(out, "MAY STAY", "under an older version, which is still accepted there")?;
        writeln!(out, "  {}", wrapped(accepted, width - 2, 4))?;
        writeln!(out, "  {}", wrapped(&staying.join(", "), width - 2, 4))?;
    }
    if report.sites.iter().any(|site| site.reason.is_some()) {
        render::heading(out, "COULD NOT TELL", "and why; `asleft check SITES` shows where")?;
    }
    for says in could_not_tell(report) {
        writeln!(out, "  {}", wrapped(&says, width - 2, 4))?;
    }
    write_counts(out, report, width)?;
    if !report.unreadable.is_empty() {
        render::heading(out, "NOT READ", "these are not counted")?;
    }
    for line in report.unreadable.iter().take(MOST_UNREADABLE) {
        writeln!(out, "  {}", wrapped(line, width - 2, 4))?;
    }
    if let Some(more) = report.unreadable.len().checked_sub(MOST_UNREADABLE).filter(|more| *more > 0) {
        writeln!(out, "  and {more} more, which `--format json` lists")?;
    }
    Ok(())
}

/// So many lines show what is wrong with a file.
const MOST_UNREADABLE: usize = 20;

fn table_of(work: &[WorkReport], width: usize) -> String {
    let mut table = table::table(["Setting", "Holds", "Required", "Off by", "Asked in"], width - 4);
    for one in work {
        let setting = if one.title.is_empty() { "site".to_owned() } else { one.title.clone() };
        let device = if one.device.is_empty() { String::new() } else { format!("{}\n", one.device) };
        let asked_in = [one.clause.as_str(), one.known()].iter().filter(|part| !part.is_empty()).copied().collect::<Vec<_>>().join("\n");
        let cells = [format!("{device}{setting}"), one.holds.clone(), one.required.clone(), one.off_by.clone(), asked_in];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    table::lines(&table, &[]).lines().map(|line| format!("    {line}\n")).collect()
}

/// Which settings most sites have to change, and who has the work.
fn write_counts(out: &mut dyn Write, report: &AffectedReport, width: usize) -> io::Result<()> {
    const MOST: usize = 10;
    if report.by_setting.is_empty() {
        return Ok(());
    }
    render::heading(out, "BY SETTING", "sites that have to change it")?;
    for count in report.by_setting.iter().take(MOST) {
        writeln!(out, "  {:>6}  {}", count.sites, count.setting)?;
    }
    render::heading(out, "BY WHO ANSWERS", "sites with work, of all")?;
    let mut table = table::table(["Company", "Branch", "Crew", "With work", "Sites"], width - 2);
    for count in &report.answerable {
        let named = |name: &String| if name.is_empty() { "not stated".to_owned() } else { name.clone() };
        table.add_row([
            named(&count.company),
            named(&count.branch),
            named(&count.crew),
            count.with_work.to_string(),
            count.sites.to_string(),
        ]);
    }
    table::lines(&table, &[]).lines().try_for_each(|line| writeln!(out, "  {line}"))
}

fn as_markdown(out: &mut dyn Write, report: &AffectedReport) -> io::Result<()> {
    writeln!(out, "# {} after {}\n\nAs of {}.\n", markdown(&report.new), markdown(&report.old), report.as_of)?;
    for (count, phrase) in summary(report) {
        writeln!(out, "- {count} {phrase}")?;
    }
    for says in reservations(report) {
        writeln!(out, "\n{}", markdown(&says))?;
    }
    writeln!(
        out,
        "\n| Done | Site | Device | Setting | Holds | Required | Off by | By | Figure |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    )?;
    for (site, work) in work(report) {
        let cells = [&site.site, &work.device, &work.title, &work.holds, &work.required, &work.off_by, &work.by].map(|cell| markdown(cell));
        writeln!(out, "| ☐ | {} | {} |", cells.join(" | "), work.known())?;
    }
    for says in could_not_tell(report) {
        writeln!(out, "\n- could not tell: {}", markdown(&says))?;
    }
    for line in &report.unreadable {
        writeln!(out, "\n- not read: {}", markdown(line))?;
    }
    Ok(())
}

/// The work list: a row for each thing to do.
fn csv(out: &mut dyn Write, report: &AffectedReport) -> io::Result<()> {
    let mut rows = Spreadsheet::to(out);
    rows.row([
        "site",
        "company",
        "branch",
        "crew",
        "effect",
        "device",
        "setting",
        "title",
        "holds",
        "required",
        "off by",
        "may be changed by",
        "by",
        "basis",
        "verdict",
        "unverified figures",
        "disputed figures",
        "done",
        "initials",
    ])?;
    for (site, work) in work(report) {
        let [company, branch, crew] = &site.answerable;
        let [unverified, disputed] = [site.figures.unverified(), site.figures.disputed].map(|count| count.to_string());
        let cells: [&str; 19] = [
            &site.site,
            company,
            branch,
            crew,
            site.effect,
            &work.device,
            &work.setting,
            &work.title,
            &work.holds,
            &work.required,
            &work.off_by,
            work.moved_by,
            &work.by,
            work.basis.map_or("", Standing::word),
            site.headline,
            &unverified,
            &disputed,
            "",
            "",
        ];
        rows.row(cells)?;
    }
    // a row for each site of which it could not be told: the list would look complete without
    for site in report.sites.iter().filter(|site| site.reason.is_some()) {
        let [company, branch, crew] = &site.answerable;
        let why = site.reason.as_deref().unwrap_or_default();
        let cells: [&str; 19] =
            [&site.site, company, branch, crew, site.effect, "", "", "", "", "", why, "", "", "", site.headline, "", "", "", ""];
        rows.row(cells)?;
    }
    rows.flush()
}
