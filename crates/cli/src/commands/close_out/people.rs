//! What a record came to, for people: the verdict first, and with every part, so that no part of a record
//! that does not comply, or is not proven, can be taken for more than it is.

use crate::commands::test_sheet::words;
use crate::render::{self, heading, table, wrapped};
use record::{Device, Envelope, Finding, Found, Record, SettingState, TestResult};
use rules::provenance::Verdict;
use std::io::{self, Write};
use std::path::Path;

/// Writes what a record says, in short; `written` is where it was put.
pub fn write(out: &mut dyn Write, record: &Record, envelope: &Envelope, written: Option<&Path>) -> io::Result<()> {
    let width = render::width();
    let mut page = Page { out, record, width };
    page.head()?;
    page.settings()?;
    page.findings()?;
    page.tests()?;
    page.photos()?;
    page.missing()?;
    page.registrations()?;
    page.cautions()?;
    page.part("RECORD", None)?;
    page.line(&format!("SHA-256 {}", envelope.sha256()))?;
    page.line("not signed; whoever can change the file can change this hash with it")?;
    match written {
        Some(path) => writeln!(page.out, "  written to {}", terminal::path(path)),
        None => page.line("not written to a file"),
    }
}

struct Page<'p> {
    out: &'p mut dyn Write,
    record: &'p Record,
    width: usize,
}

impl Page<'_> {
    fn line(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "  {}", wrapped(text, self.width - 2, 4))
    }

    fn head(&mut self) -> io::Result<()> {
        let (verdict, site) = (&self.record.verdict, &self.record.site);
        render::title(self.out, &verdict.headline.to_uppercase(), &format!("close-out of {}", site.name))?;
        self.line(&format!("under {}, as of {}", self.record.requirement.under, self.record.made.as_of))?;
        let parts: Vec<String> = verdict.parts().iter().map(|(part, says)| format!("{part}: {says}")).collect();
        self.line(&parts.join("; "))?;
        if let Some(says) = verdict.figures.warning("") {
            self.line(&says)?;
        }
        Ok(())
    }

    /// A part of the record, with what the whole came to.
    fn part(&mut self, words: &str, own: Option<&str>) -> io::Result<()> {
        let (whole, is_news) = (&self.record.verdict.headline, self.record.verdict.outcome != Verdict::Complies);
        let says = match own {
            Some(own) if own == whole || !is_news => own.to_owned(),
            Some(own) => format!("{own}; the whole record: {whole}"),
            None if is_news => format!("the whole record: {whole}"),
            None => String::new(),
        };
        heading(self.out, words, &says)
    }

    fn settings(&mut self) -> io::Result<()> {
        self.part("SETTINGS", Some(self.record.verdict.settings().headline()))?;
        for device in &self.record.devices {
            self.line(&identity(device))?;
            writeln!(self.out, "    {}", wrapped(&counts(device), self.width - 4, 6))?;
        }
        let known_by = &self.record.verdict.known_by;
        if !known_by.is_empty() {
            self.line(&format!("values: {known_by}"))?;
        }
        for approval in &self.record.approvals {
            let until = approval.until.as_ref().map_or_else(String::new, |day| format!(", until {day}"));
            let says = format!(
                "site-specific approval {}: {}, {}, by the {}{until}",
                approval.reference, approval.setting, approval.asks, approval.role
            );
            self.line(&says)?;
        }
        if !self.record.not_checked.is_empty() {
            self.line(&format!("not checked (not in profile): {}", self.record.not_checked.join(", ")))?;
        }
        Ok(())
    }

    fn findings(&mut self) -> io::Result<()> {
        if self.record.findings.is_empty() {
            return Ok(());
        }
        self.part("FINDINGS", None)?;
        for finding in &self.record.findings {
            self.finding(finding)?;
        }
        Ok(())
    }

    fn finding(&mut self, finding: &Finding) -> io::Result<()> {
        let place = finding.place.as_ref().map_or_else(String::new, |at| format!(" ({}, line {})", at.text, at.line));
        self.line(&format!("{}: {}{place}", finding.outcome.phrase(), finding.headline))?;
        let more = finding.folded.iter().map(|text| format!("with it: {text}"));
        let notes = finding.notes.iter().cloned();
        for text in more.chain(notes).chain(finding.hint.iter().map(|hint| format!("to do: {hint}"))) {
            writeln!(self.out, "    {}", wrapped(&text, self.width - 4, 6))?;
        }
        Ok(())
    }

    fn tests(&mut self) -> io::Result<()> {
        if self.record.tests.is_empty() {
            return Ok(());
        }
        self.part("TESTS", Some(self.record.verdict.tests_say()))?;
        let mut table = table::table(["Test", "Came to", "Because"], self.width - 2);
        let on_site = self.record.tests.iter().filter(|test| test.result != TestResult::ByTypeTest);
        table::whole(&mut table, 0, on_site.clone().map(|test| test.name.as_str()));
        table::at_least(&mut table, 1, 12);
        for test in on_site {
            table.add_row([test.name.as_str(), words(test.result), &render::unbroken(&test.says)]);
        }
        writeln!(self.out, "{}", table::lines(&table, &[]))?;
        let by_type_test: Vec<&str> =
            self.record.tests.iter().filter(|test| test.result == TestResult::ByTypeTest).map(|test| test.name.as_str()).collect();
        if !by_type_test.is_empty() {
            self.line(&format!("not tested on site, by type test: {}", by_type_test.join(", ")))?;
        }
        for says in &self.record.not_planned {
            self.line(&format!("not planned: {says}"))?;
        }
        Ok(())
    }

    fn photos(&mut self) -> io::Result<()> {
        if self.record.photos.is_empty() {
            return Ok(());
        }
        self.part("PHOTOS", None)?;
        for photo in &self.record.photos {
            let file = photo.file.as_ref().map_or_else(String::new, |file| format!(", {file}"));
            let and = if photo.proves.is_empty() { "" } else { "; must show" };
            self.line(&format!("- {}{file}: {}{and}", photo.name, found(photo.found)))?;
            for proves in &photo.proves {
                writeln!(self.out, "      {proves}")?;
            }
        }
        Ok(())
    }

    fn missing(&mut self) -> io::Result<()> {
        if self.record.missing.is_empty() {
            return Ok(());
        }
        self.part("MISSING", Some(self.record.verdict.evidence_says()))?;
        for missing in &self.record.missing {
            let device = missing.device.as_ref().map_or_else(String::new, |device| format!("{device}: "));
            self.line(&format!("- {device}{}: {}", missing.what, missing.mend))?;
        }
        Ok(())
    }

    fn registrations(&mut self) -> io::Result<()> {
        if self.record.registrations.is_empty() {
            return Ok(());
        }
        self.part("TO REGISTER", None)?;
        for entry in &self.record.registrations {
            let state = entry.stands(&self.record.made.as_of);
            self.line(&format!("- {}, to {}: {state}", entry.what, entry.to))?;
        }
        Ok(())
    }

    fn cautions(&mut self) -> io::Result<()> {
        self.part("BEFORE YOU RELY ON IT", None)?;
        for caution in &self.record.cautions {
            self.line(&format!("- {caution}"))?;
        }
        Ok(())
    }
}

/// `inverter-1: Sedge 6S, serial SG6-004417, firmware 4.1.0`.
fn identity(device: &Device) -> String {
    let serial = device.serial.as_ref().map(|serial| format!("serial {serial}"));
    let firmware = device.firmware.as_ref().map(|firmware| format!("firmware {firmware}"));
    let certificate = device.certified.as_ref().and_then(|certified| certified.certificate.as_ref());
    let certificate = certificate.map(|number| format!("certificate {number}"));
    let known: Vec<String> = device.model.clone().into_iter().chain(serial).chain(firmware).chain(certificate).collect();
    if known.is_empty() { device.name.clone() } else { format!("{}: {}", device.name, known.join(", ")) }
}

/// How many settings came to what.
fn counts(device: &Device) -> String {
    let words = [
        (SettingState::DoesNotComply, "do not comply"),
        (SettingState::NotProven, "not proven"),
        (SettingState::Complies, "as required"),
        (SettingState::CoveredByRegion, "covered by the selected region"),
        (SettingState::ByTypeTest, "by type test"),
        (SettingState::NotChecked, "not checked"),
    ];
    let count = |state| device.settings.iter().filter(|setting| setting.state == state).count();
    let each = words.iter().map(|(state, word)| (count(*state), word)).filter(|(count, _)| *count > 0);
    each.map(|(count, word)| format!("{count} {word}")).collect::<Vec<_>>().join(", ")
}

/// Whether a photo was there, in print.
pub fn found(found: Found) -> &'static str {
    match found {
        Found::There => "there",
        Found::NotLookedFor => "not looked for",
        Found::NotThere => "NOT THERE",
        Found::AnotherHash => "ANOTHER FILE",
        Found::NotNamed => "NOT NAMED",
        Found::NotListed => "NOT LISTED",
    }
}
