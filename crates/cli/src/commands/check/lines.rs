//! One finding a line, as editors and `grep` read them.

use super::said::Messages;
use super::{CheckQuery, Ended, Form};
use crate::report::judged::Judged;
use rules::assess::Assessor;
use rules::provenance::{Judgement, Standing, Verdict};
use settings_model::finding::{Finding, Outcome};
use settings_model::source::{Place, Sources};
use std::io::{self, Write};

/// `file:line:column: outcome[name]: what is wrong`; of sites that comply by verified figures, nothing.
pub struct Lines;

impl Form for Lines {
    fn tells_all(&self, _: &CheckQuery) -> bool {
        true
    }

    fn faults_of_profile(&self, profile: &str, findings: &[Finding], sources: &Sources) -> io::Result<Vec<u8>> {
        let mut lines = Vec::new();
        for finding in findings {
            let at = sources.locate(finding.place).map_or_else(|| profile.to_owned(), |place| place.to_string());
            write_line(&mut lines, &at, "", finding)?;
        }
        Ok(lines)
    }

    fn end(&self, out: &mut dyn Write, _: &CheckQuery, ended: &Ended) -> io::Result<()> {
        ended.beside.stopped_by.values().try_for_each(|stopped| out.write_all(&stopped.faults))
    }

    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, asked: &CheckQuery) -> io::Result<()> {
        judged.findings.iter().chain(unverified(judged, asked).as_ref()).try_for_each(|finding| {
            let at = match (assessor.sources.locate(finding.place), judged.line) {
                (Some(place), _) => place.to_string(),
                (None, Some(line)) => format!("{}:{line}", judged.file),
                (None, None) => judged.file.clone(),
            };
            let mark = judged.training.map(|notice| format!("{notice}: ")).unwrap_or_default();
            write_line(said.answer(), &at, &mark, finding)
        })
    }
}

fn write_line(out: &mut Vec<u8>, at: &str, mark: &str, finding: &Finding) -> io::Result<()> {
    // a file's own text may stand in a headline, and may hold anything
    let says = finding.headline.replace(char::is_control, " ");
    writeln!(out, "{at}: {}[{}]: {mark}{says}", finding.outcome.word(), finding.name)
}

/// How many figures of a site nobody verified. A form of findings alone has no other place for it; where
/// verified figures are asked for, it keeps a site from being proven.
pub fn unverified(judged: &Judged, asked: &CheckQuery) -> Option<Finding> {
    let Judgement { verdict, figures, .. } = judged.judgement;
    if figures.unverified() == 0 {
        return None;
    }
    let outcome = if asked.require_verified && verdict == Verdict::Complies { Outcome::NotProven } else { Outcome::Remark };
    let (id, headline) = (judged.id.as_deref().unwrap_or("the site"), judged.headline());
    let disputed = if figures.disputed > 0 { format!(", {} of them disputed", figures.disputed) } else { String::new() };
    let says = format!("{id}: {headline}; {} of {} figures are unverified{disputed}", figures.unverified(), figures.total());
    let mut finding = Finding::new(outcome, UNVERIFIED, Place::NOWHERE, says).hint("compare them with a licensed copy");
    finding.basis = Standing::ALL.into_iter().rev().find(|standing| standing.is_unverified() && figures.known_as(*standing) > 0);
    Some(finding)
}

/// The name of that finding.
pub const UNVERIFIED: &str = "unverified-figures";
