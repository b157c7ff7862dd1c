//! SARIF 2.1.0 (Static Analysis Results Interchange Format, OASIS, 2020): one run, a result for each
//! finding, with the places and the rules that viewers show.

mod log;
mod rules_named;

use super::beside::AT_FAULT;
use super::lines::unverified;
use super::said::Messages;
use super::{CheckQuery, Ended, Form};
use crate::report::fleet::FaultCount;
use crate::report::judged::Judged;
use crate::walk::unread;
use log::{Located, Notification, Region, Related, Result as LogResult};
use rules::assess::Assessor;
use settings_model::finding::{Finding, Outcome};
use settings_model::source::{Place, Sources};
use std::io::{self, Write};

/// The results stand before the tool, whose rules are known at the end.
pub struct Sarif;

impl Form for Sarif {
    fn tells_all(&self, _: &CheckQuery) -> bool {
        true
    }

    fn begin(&self, out: &mut dyn Write, _: &CheckQuery) -> io::Result<()> {
        writeln!(
            out,
            "{{\"$schema\":\"{}\",\"version\":\"2.1.0\",\"runs\":[{{\"columnKind\":\"unicodeCodePoints\",\"results\":[",
            log::SCHEMA
        )
    }

    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, asked: &CheckQuery) -> io::Result<()> {
        for finding in judged.findings.iter().chain(unverified(judged, asked).as_ref()) {
            if !said.is_empty() {
                said.answer().extend_from_slice(self.between());
            }
            serde_json::to_writer(said.answer(), &result(finding, judged, &assessor.sources))?;
        }
        Ok(())
    }

    fn faults_of_profile(&self, profile: &str, findings: &[Finding], sources: &Sources) -> io::Result<Vec<u8>> {
        let of_profile = unread(profile, String::new());
        let results: Vec<LogResult<'_>> = findings.iter().map(|finding| result(finding, &of_profile, sources)).collect();
        let json = serde_json::to_string(&results)?;
        Ok(json.as_bytes()[1..json.len() - 1].to_vec())
    }

    fn between(&self) -> &'static [u8] {
        b",\n"
    }

    fn end(&self, out: &mut dyn Write, _: &CheckQuery, ended: &Ended) -> io::Result<()> {
        for stopped in ended.beside.stopped_by.values() {
            out.write_all(self.between())?;
            out.write_all(&stopped.faults)?;
        }
        let mut names = ended.tally.names();
        names.extend(ended.beside.stopped_by.values().flat_map(|stopped| &stopped.names));
        names.sort_unstable();
        names.dedup();
        if ended.tally.with_unverified_figures > 0 {
            names.push(super::lines::UNVERIFIED);
        }
        write!(out, "\n],\n\"tool\":")?;
        serde_json::to_writer(&mut *out, &log::tool(&names))?;
        write!(out, ",\n\"invocations\":[")?;
        serde_json::to_writer(&mut *out, &log::invocation(ended.exit.code(), &notifications(ended)))?;
        writeln!(out, "]}}]}}")
    }
}

/// What kept the question from being put: counted by name, since each is a result with its place; and
/// what ended it early.
fn notifications(ended: &Ended) -> Vec<Notification> {
    let unusable = |fault: FaultCount| {
        let sites = if fault.sites == 1 { "1 site or line".to_owned() } else { format!("{} sites or lines", fault.sites) };
        Notification { rule: Some(fault.name), says: format!("{sites} could not be judged: {}", fault.name) }
    };
    let of_files = ended.tally.faults().into_iter().filter(|fault| fault.outcome == Outcome::Unusable.word()).map(unusable);
    let of_profiles = ended
        .beside
        .stopped_by
        .iter()
        .map(|(profile, stopped)| Notification { rule: Some(AT_FAULT), says: format!("{profile} cannot be used: {}", stopped.count()) });
    of_files.chain(of_profiles).chain(ended.failure.clone().map(|says| Notification { rule: None, says })).collect()
}

fn result<'j>(finding: &'j Finding, judged: &'j Judged, sources: &Sources) -> LogResult<'j> {
    let mark = judged.training.map(|notice| format!("{notice}: ")).unwrap_or_default();
    let with_it = finding.folded.iter().map(|folded| format!("\nWith it: {folded}"));
    let to_do = finding.hint.iter().map(|hint| format!("\nTo do: {hint}"));
    let message: String = std::iter::once(finding.headline.clone()).chain(with_it).chain(to_do).collect();
    let own = Located {
        uri: log::uri(&judged.file),
        region: region(finding.place, sources).or_else(|| judged.line.map(Region::line)),
        logical: Some(logical(finding, judged)),
    };
    let because = finding.because.iter().filter(|line| line.place.is_known());
    let related = because.filter_map(|line| {
        let at = sources.locate(line.place)?;
        let text = line.text.clone().unwrap_or_else(|| line.label.clone());
        Some(Related { at: Located { uri: log::uri(at.file), region: region(line.place, sources), logical: None }, text })
    });
    LogResult {
        rule: finding.name,
        level: level(finding.outcome),
        message: mark + &message,
        at: own,
        related: related.collect(),
        fingerprint: fingerprint(finding, judged),
        outcome: finding.outcome,
        basis: finding.basis,
        headline: judged.headline(),
        judgement: &judged.judgement,
        site: judged.id.as_deref(),
        training: judged.training,
    }
}

fn level(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Unusable | Outcome::DoesNotComply => "error",
        Outcome::NotProven => "warning",
        Outcome::Remark => "note",
    }
}

/// A place that lies on one line, to its end; of a longer one, where it begins.
fn region(place: Place, sources: &Sources) -> Option<Region> {
    let at = sources.locate(place)?;
    let written = sources.written(place);
    let length = if written.contains(['\n', '\r']) { 0 } else { written.chars().count() };
    Some(Region { line: at.line, columns: Some((at.column, at.column + length)) })
}

/// `heron-court-11/inverter-1/volt-watt/points`.
fn logical(finding: &Finding, judged: &Judged) -> String {
    let site = judged.id.as_deref().unwrap_or("unnamed site");
    finding.setting.as_ref().map_or_else(|| site.to_owned(), |setting| format!("{site}/{setting}"))
}

/// The same for the same fault wherever its site's text has moved to, and however far off it is.
fn fingerprint(finding: &Finding, judged: &Judged) -> String {
    match &judged.id {
        Some(_) => format!("{}/{}", logical(finding, judged), finding.name),
        None => format!("{}:{}/{}", judged.file, judged.line.unwrap_or(1), finding.name),
    }
}
