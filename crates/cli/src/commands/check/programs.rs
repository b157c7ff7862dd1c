//! JSON: one object with a list, or one site a line.

use super::beside::Beside;
use super::said::Messages;
use super::{CheckQuery, Ended, Form};
use crate::report::judged::Judged;
use crate::report::{FindingReport, SiteReport};
use rules::assess::Assessor;
use settings_model::finding::Finding;
use settings_model::source::Sources;
use std::io::{self, Write};

/// One object; its list of sites is written as they come, so that a fleet needs no memory.
pub struct Json;

impl Form for Json {
    fn tells_all(&self, _: &CheckQuery) -> bool {
        true
    }

    fn begin(&self, out: &mut dyn Write, asked: &CheckQuery) -> io::Result<()> {
        writeln!(out, "{{\"as-of\":\"{}\",\"require-verified\":{},\"sites\":[", asked.today, asked.require_verified)
    }

    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, _: &CheckQuery) -> io::Result<()> {
        if !said.is_empty() {
            said.answer().extend_from_slice(self.between());
        }
        report(said, judged, assessor)
    }

    fn faults_of_profile(&self, _: &str, findings: &[Finding], sources: &Sources) -> io::Result<Vec<u8>> {
        let findings: Vec<FindingReport> = findings.iter().map(|finding| FindingReport::new(finding, sources)).collect();
        serde_json::to_vec(&findings).map_err(io::Error::from)
    }

    fn between(&self) -> &'static [u8] {
        b",\n"
    }

    fn end(&self, out: &mut dyn Write, _: &CheckQuery, Ended { tally, beside, .. }: &Ended) -> io::Result<()> {
        write!(out, "\n],")?;
        write_beside(out, beside)?;
        write!(out, "\"summary\":")?;
        serde_json::to_writer(&mut *out, &tally.summary)?;
        write!(out, ",\n\"by-fault\":")?;
        serde_json::to_writer(&mut *out, &tally.faults())?;
        write!(out, ",\n\"answerable\":")?;
        serde_json::to_writer(&mut *out, &tally.answerable())?;
        writeln!(out, "}}")
    }
}

/// What is told once for all sites, where there is any.
fn write_beside(out: &mut dyn Write, beside: &Beside) -> io::Result<()> {
    if !beside.stopped_by.is_empty() {
        write!(out, "\"stopped-by\":[")?;
        for (n, (profile, stopped)) in beside.stopped_by.iter().enumerate() {
            write!(out, "{}{{\"profile\":", if n > 0 { "," } else { "" })?;
            serde_json::to_writer(&mut *out, profile)?;
            write!(out, ",\"sites\":{},\"findings\":", stopped.sites)?;
            out.write_all(&stopped.faults)?;
            write!(out, "}}")?;
        }
        writeln!(out, "],")?;
    }
    if !beside.left_out.is_empty() {
        write!(out, "\"left-out\":")?;
        serde_json::to_writer(&mut *out, &beside.left_out)?;
        writeln!(out, ",")?;
    }
    Ok(())
}

/// One site a line.
pub struct Ndjson;

impl Form for Ndjson {
    fn tells_all(&self, _: &CheckQuery) -> bool {
        true
    }

    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, _: &CheckQuery) -> io::Result<()> {
        report(said, judged, assessor)?;
        said.answer().push(b'\n');
        Ok(())
    }

    fn end(&self, out: &mut dyn Write, _: &CheckQuery, ended: &Ended) -> io::Result<()> {
        out.flush()?;
        ended.beside.say()
    }
}

fn report(said: &mut Messages, judged: &Judged, assessor: &Assessor) -> io::Result<()> {
    serde_json::to_writer(said.answer(), &SiteReport::new(judged, &assessor.sources)).map_err(io::Error::from)
}
