//! A folder of sheets filled by hand: each is laid over the site that it names, and judged.

use super::beside::Beside;
use super::said::Messages;
use super::{CheckQuery, Ended, Form, exit, form, people};
use crate::Exit;
use crate::args::{Check, CheckFormat, Filled};
use crate::commands::{assessor, refused};
use crate::files::{self, filled};
use crate::render::{self, table};
use crate::report::fleet::Tally;
use crate::report::judged::Judged;
use crate::texts::{self, Block};
use crate::walk::{each_site, unread, write_messages};
use rules::assess::{Assessor, GovernedBy};
use rules::filled_sheet::FilledSheet;
use settings_model::document::parse;
use settings_model::source::{SourceId, Sources};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// A site that sheets may be laid over.
struct Site {
    /// Its own name.
    id: String,
    /// Its file, for people.
    file: String,
    text: String,
}

/// A row of the answer for people.
type Row = [String; 4];

/// Judges every sheet of a folder, and names the sites that none of them is of.
pub fn run(args: &Check, folder: &Path) -> io::Result<Exit> {
    let mut found = files::Listed::default();
    files::list(folder, &["csv"], &mut found)?;
    files::say_left_out(folder, ["sheet", "sheets"], &found.left_out)?;
    if found.files.is_empty() {
        return refused(&format!("{}: no sheets in this folder; they end in .csv", terminal::path(folder)));
    }
    let asked = CheckQuery::of(args, None);
    let mut answers = Answers::begin(args, &asked)?;
    let sites = sites(args, &mut answers)?;
    let mut with_sheet: Vec<&str> = Vec::new();
    for file in &found.files {
        let sheet = match sheet(args, file)? {
            Ok(sheet) => sheet,
            Err(exit) => return Ok(exit),
        };
        let of = sheet.site();
        let mut named = sites.iter().filter(|site| of.as_deref() == Some(site.id.as_str()));
        match (named.next(), named.next()) {
            (Some(site), None) if !with_sheet.contains(&site.id.as_str()) => {
                with_sheet.push(&site.id);
                answers.judge(site, &sheet)?;
            }
            (site, other) => answers.cannot(&sheet, &why_not(of.as_deref(), site.is_some(), other.is_some()))?,
        }
    }
    let without: Vec<&str> = sites.iter().map(|site| site.id.as_str()).filter(|id| !with_sheet.contains(id)).collect();
    answers.end(&without)
}

fn why_not(of: Option<&str>, is_known: bool, is_twice: bool) -> String {
    match of {
        None => "its column `site` names no site; print the sheet anew with `asleft sheet SITE --format csv`".to_owned(),
        Some(site) if is_twice => format!("two of the files named are of the site `{site}`; name one of them"),
        Some(site) if is_known => format!("another sheet of this folder is of the site `{site}` too; keep the one that is meant"),
        Some(site) => format!("none of the files named is of the site `{site}`; name its file too"),
    }
}

/// One sheet of the folder; what is wrong with the column map ends it all.
fn sheet(args: &Check, file: &Path) -> io::Result<Result<FilledSheet, Exit>> {
    let mut sources = Sources::default();
    let named = Filled { filled: Some(file.to_owned()), columns: args.filled.columns.clone() };
    match filled::named(&named, &mut sources)? {
        Ok(Some(sheet)) => Ok(Ok(sheet)),
        Ok(None) => Err(io::Error::other("a sheet that was named a moment ago")),
        Err(findings) => write_messages(&findings, &sources).map(|()| Err(Exit::CouldNotTell)),
    }
}

/// Every site that the paths lead to, by the name that it has.
fn sites(args: &Check, answers: &mut Answers<'_>) -> io::Result<Vec<Site>> {
    let (mut sites, mut unreadable) = (Vec::new(), Vec::new());
    texts::blocks(&args.sites, &mut |block| {
        block.each_text(&mut |found| {
            match found.text {
                Ok(text) => {
                    let root = parse(SourceId(0), text, &mut Vec::new());
                    let id = root.and_then(|root| root.get("site").map(|site| site.text().to_owned())).unwrap_or_default();
                    sites.push(Site { id, file: found.name.to_owned(), text: text.to_owned() });
                }
                Err(says) => unreadable.push((found.name.to_owned(), says)),
            }
            Ok(())
        })
    })?;
    for (name, says) in unreadable {
        answers.take(&name, &unread(&name, says))?;
    }
    Ok(sites)
}

/// What is said of the sheets: rows for people, the usual answer for programs.
struct Answers<'a> {
    asked: &'a CheckQuery,
    form: Option<Box<dyn Form>>,
    assessor: Assessor,
    out: io::BufWriter<Box<dyn Write>>,
    tally: Tally,
    rows: Vec<Row>,
    is_first: bool,
    require_verified: bool,
}

impl<'a> Answers<'a> {
    fn begin(args: &Check, asked: &'a CheckQuery) -> io::Result<Self> {
        let mut assessor = assessor(&asked.under)?;
        if asked.pinned {
            assessor.governed_by = GovernedBy::Pins;
        }
        let form = (args.format != CheckFormat::Text).then(|| form(args.format, args.all));
        let mut out = io::BufWriter::new(Box::new(terminal::stdout()) as Box<dyn Write>);
        form.as_ref().map_or(Ok(()), |form| form.begin(&mut out, asked))?;
        let (tally, rows) = (Tally::default(), Vec::new());
        Ok(Self { asked, form, assessor, out, tally, rows, is_first: true, require_verified: args.require_verified })
    }

    fn judge(&mut self, site: &Site, sheet: &FilledSheet) -> io::Result<()> {
        let block = Block::Whole { name: site.file.clone(), text: site.text.clone() };
        let mut judged = Vec::new();
        // what is said of a site points into its text, and is said before the next one is read
        let (asked, form) = (self.asked, self.form.as_deref());
        let mut said = Messages::default();
        each_site(block, &mut self.assessor, Some(sheet), true, &mut |one, assessor| {
            if let Some(form) = form {
                form.site(&mut said, &one, assessor, asked)?;
            }
            judged.push(one);
            Ok(())
        })?;
        self.put(said)?;
        judged.iter().for_each(|one| self.count(sheet.name(), one));
        Ok(())
    }

    /// Says of a sheet that it could not be laid over a site.
    fn cannot(&mut self, sheet: &FilledSheet, says: &str) -> io::Result<()> {
        self.take(sheet.name(), &unread(sheet.name(), format!("{}: {says}", sheet.name())))
    }

    fn take(&mut self, sheet: &str, judged: &Judged) -> io::Result<()> {
        let mut said = Messages::default();
        if let Some(form) = &self.form {
            form.site(&mut said, judged, &self.assessor, self.asked)?;
        }
        self.put(said)?;
        self.count(sheet, judged);
        Ok(())
    }

    fn put(&mut self, said: Messages) -> io::Result<()> {
        let Some(form) = &self.form else { return Ok(()) };
        if !self.is_first && !said.is_empty() {
            self.out.write_all(form.between())?;
        }
        self.is_first &= said.is_empty();
        said.write(&mut self.out)
    }

    fn count(&mut self, sheet: &str, judged: &Judged) {
        self.tally.count(judged);
        let gravest = judged.findings.first().map(|finding| match judged.findings.len() {
            1 => finding.headline.clone(),
            many => format!("{many} findings; first: {}", finding.headline),
        });
        let site = judged.id.clone().unwrap_or_else(|| "-".to_owned());
        self.rows.push([sheet.to_owned(), site, judged.headline().to_uppercase(), gravest.unwrap_or_default()]);
    }

    /// The rows and the summary; sites without a sheet keep the answer from being a pass.
    fn end(mut self, without: &[&str]) -> io::Result<Exit> {
        let exit = exit(&self.tally.summary, self.require_verified);
        let exit = if without.is_empty() { exit } else { exit.max(Exit::NotFine) };
        if self.form.is_none() {
            let mut table = table::table(["Sheet", "Site", "Verdict", "What was found"], render::width());
            for row in &self.rows {
                table.add_row(row);
            }
            writeln!(self.out, "{}\n", table::lines(&table, &[]))?;
            people::write_summary(&mut self.out, &self.tally.summary)?;
        }
        let ended = Ended { tally: self.tally, beside: Beside::default(), exit, failure: None, has_said: !self.rows.is_empty() };
        self.form.map_or(Ok(()), |form| form.end(&mut self.out, self.asked, &ended))?;
        self.out.flush()?;
        if !without.is_empty() {
            let says = format!("asleft: no sheet of {}: not judged", settings_model::slip::listed(without));
            writeln!(terminal::stderr(), "{}", render::wrapped(&says, render::width(), 8))?;
        }
        Ok(exit)
    }
}

/// The folder of sheets that the command line names, where it is one.
pub fn folder(filled: &Filled) -> Option<&PathBuf> {
    filled.filled.as_ref().filter(|named| named.is_dir())
}
