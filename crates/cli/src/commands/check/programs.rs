//! JSON: one object with a list, or one site a line.

use super::said::Said;
use super::{Asked, Ended, Form};
use crate::report::SiteReport;
use crate::report::judged::Judged;
use rules::assess::Assessor;
use std::io::{self, Write};

/// One object; its list of sites is written as they come, so that a fleet needs no memory.
pub struct Json;

impl Form for Json {
    fn tells_all(&self, _: &Asked) -> bool {
        true
    }

    fn begin(&self, out: &mut dyn Write, asked: &Asked) -> io::Result<()> {
        writeln!(out, "{{\"as-of\":\"{}\",\"require-verified\":{},\"sites\":[", asked.today, asked.require_verified)
    }

    fn site(&self, said: &mut Said, judged: &Judged, assessor: &Assessor, _: &Asked) -> io::Result<()> {
        if !said.is_empty() {
            said.answer().extend_from_slice(self.between());
        }
        report(said, judged, assessor)
    }

    fn between(&self) -> &'static [u8] {
        b",\n"
    }

    fn end(&self, out: &mut dyn Write, _: &Asked, Ended { tally, .. }: &Ended) -> io::Result<()> {
        write!(out, "\n],\"summary\":")?;
        serde_json::to_writer(&mut *out, &tally.summary)?;
        write!(out, ",\n\"by-fault\":")?;
        serde_json::to_writer(&mut *out, &tally.faults())?;
        write!(out, ",\n\"answerable\":")?;
        serde_json::to_writer(&mut *out, &tally.answerable())?;
        writeln!(out, "}}")
    }
}

/// One site a line.
pub struct Ndjson;

impl Form for Ndjson {
    fn tells_all(&self, _: &Asked) -> bool {
        true
    }

    fn site(&self, said: &mut Said, judged: &Judged, assessor: &Assessor, _: &Asked) -> io::Result<()> {
        report(said, judged, assessor)?;
        said.answer().push(b'\n');
        Ok(())
    }
}

fn report(said: &mut Said, judged: &Judged, assessor: &Assessor) -> io::Result<()> {
    serde_json::to_writer(said.answer(), &SiteReport::new(judged, &assessor.sources)).map_err(io::Error::from)
}
