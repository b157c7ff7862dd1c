//! `asleft register add`: all records are looked at before one is added; each is said to be there once
//! it is on the disk.

use crate::args::RegisterAdd;
use crate::commands::{clock, pinned};
use crate::files::register::{about, lies_on_a_disk};
use crate::render::{self, wrapped};
use crate::{Exit, files};
use record::register::{Added, Header, NewEntry, Register};
use record::seal::Sealed;
use record::{Envelope, Pin, Record, canonical};
use rules::assess::Assessor;
use settings_model::document::Node;
use settings_model::finding::Finding;
use settings_model::library::{Library, Profile};
use settings_model::source::SourceId;
use std::io::{self, Write};
use std::path::Path;

/// Adds every record.
pub fn run(args: &RegisterAdd) -> io::Result<Exit> {
    let library = files::library(&args.profiles)?;
    let mut assessor = Assessor::new(library, clock());
    let mut sound = Vec::with_capacity(args.records.len());
    let mut is_all_sound = true;
    for path in &args.records {
        match read(path, &mut assessor) {
            Ok(read) => sound.push(read),
            Err(says) => {
                is_all_sound = false;
                writeln!(terminal::stderr(), "{}", wrapped(&format!("asleft: {}: {says}", terminal::path(path)), render::width(), 8))?;
            }
        }
    }
    if !is_all_sound {
        writeln!(terminal::stderr(), "asleft: nothing was added")?;
        return Ok(Exit::CouldNotTell);
    }
    let path = &args.register.register;
    lies_on_a_disk(path)?;
    let (mut register, is_new) = Register::open_or_make(path).map_err(|fault| about(path, fault))?;
    if is_new {
        writeln!(terminal::stderr(), "asleft: a new register: {}", terminal::path(path))?;
    }
    for (envelope, record, site_line) in &sound {
        let (profiles, not_kept) = texts(record, &assessor.library);
        let added = clock_time();
        let header = Header::of(record, profiles.iter().map(|text| canonical::hex(&canonical::sha256(text.as_bytes()))).collect(), added);
        let entry = NewEntry { envelope, header, site_line: site_line.clone(), profiles };
        let added = register.add(&[entry]).map_err(|fault| about(path, fault))?;
        acknowledge(record, added[0], &not_kept)?;
    }
    // the records are there whether or not this ends well
    if let Err(fault) = register.settle() {
        writeln!(
            terminal::stderr(),
            "asleft: {}: all of them were added; the file's sum could not be written: {fault}",
            terminal::path(path)
        )?;
    }
    Ok(Exit::Fine)
}

/// The moment by the clock, in UTC.
fn clock_time() -> String {
    jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// Says that a record is on the disk. Whoever reads this line may rely on it.
fn acknowledge(record: &Record, added: Added, not_kept: &[&Pin]) -> io::Result<()> {
    let (site, verdict) = (&record.site.name, &record.verdict.headline);
    let mut out = terminal::stdout();
    match added {
        Added::Entry { number, link } => writeln!(out, "entry {number}  {site}  {verdict}  link {}", canonical::hex(&link))?,
        Added::Known { number } => writeln!(out, "entry {number}  {site}  was there already; nothing was changed")?,
    }
    out.flush()?;
    for pin in not_kept {
        let says = format!(
            "asleft: {site}: {} with SHA-256 {} is not at hand, and was not kept; the record can be judged again only where it is",
            pin.profile, pin.sha256
        );
        writeln!(terminal::stderr(), "{}", wrapped(&says, render::width(), 8))?;
    }
    Ok(())
}

/// A record with its envelope, and its site as one line of JSON.
fn read(path: &Path, assessor: &mut Assessor) -> Result<(Envelope, Record, String), String> {
    let bytes = files::whole(path).map_err(|error| error.to_string())?;
    let envelope = Envelope::read(&bytes).map_err(|broken| broken.to_string())?;
    let record = envelope.record().map_err(|broken| broken.to_string())?;
    for signature in &envelope.signatures {
        signature.holds(Sealed::Record, &envelope.hash()).map_err(|fault| format!("a signature on it does not hold: {fault}"))?;
    }
    if let Some(says) = pinned::unsigned(&record, &assessor.library) {
        return Err(says);
    }
    let site = site(&record, assessor)?;
    if site.get("training").is_some() {
        return Err("its site is an exercise, marked as training, and no exercise goes into a register".to_owned());
    }
    let line = site.to_json().to_string();
    Ok((envelope, record, line))
}

/// The site as it is exported: with what a sheet says of its devices, whose words its label maps know.
fn site(record: &Record, assessor: &mut Assessor) -> Result<Node, String> {
    if record.given.sheet.is_some() {
        let told = |findings: Vec<Finding>| findings.into_iter().map(|finding| finding.headline).collect::<Vec<_>>().join("; ");
        return record::making::site_of(record, assessor).map_err(|findings| format!("the site in it cannot be read: {}", told(findings)));
    }
    let parsed = settings_model::document::parse(SourceId(0), &record.given.site.text, &mut Vec::new());
    parsed.ok_or_else(|| "the site's file in it cannot be read".to_owned())
}

/// The texts of the profiles that a record was judged against, and those that are not at hand.
fn texts<'r>(record: &'r Record, library: &Library) -> (Vec<String>, Vec<&'r Pin>) {
    let (mut texts, mut not_kept) = (Vec::new(), Vec::new());
    for pin in &record.requirement.profiles {
        let is_meant = |profile: &&Profile| profile.sha256() == pin.sha256;
        match library.profile(&pin.profile).filter(is_meant) {
            Some(profile) => texts.push(profile.text.to_string()),
            None => not_kept.push(pin),
        }
    }
    (texts, not_kept)
}
