//! One finding a line, as editors and `grep` read them.

use super::said::Said;
use super::{Asked, Form};
use crate::walk::Judged;
use rules::assess::Assessor;
use rules::provenance::{Judgement, Verdict};
use settings_model::finding::{Finding, Outcome};
use settings_model::source::Place;
use std::io::{self, Write};

/// `file:line:column: outcome[name]: what is wrong`; of complying sites, nothing.
pub struct Lines;

impl Form for Lines {
    fn tells_all(&self, asked: &Asked) -> bool {
        asked.require_verified
    }

    fn site(&self, said: &mut Said, judged: &Judged, assessor: &Assessor, asked: &Asked) -> io::Result<()> {
        judged.findings.iter().chain(unverified(judged, asked).as_ref()).try_for_each(|finding| {
            let at = match (assessor.sources.locate(finding.place), judged.line) {
                (Some(place), _) => place.to_string(),
                (None, Some(line)) => format!("{}:{line}", judged.file),
                (None, None) => judged.file.clone(),
            };
            // a file's own text may stand in a headline, and may hold anything
            let says = finding.headline.replace(char::is_control, " ");
            let mark = judged.training.map(|notice| format!("{notice}: ")).unwrap_or_default();
            writeln!(said.answer(), "{at}: {}[{}]: {mark}{says}", finding.outcome.word(), finding.name)
        })
    }
}

/// Where verified figures are asked for, that others decided has no finding of its own.
pub fn unverified(judged: &Judged, asked: &Asked) -> Option<Finding> {
    let Judgement { verdict, figures, .. } = judged.judgement;
    let decided = asked.require_verified && verdict == Verdict::Complies && figures.unverified() > 0;
    decided.then(|| {
        let id = judged.id.as_deref().unwrap_or("the site");
        let says = format!("{id}: {} of {} figures that decided are unverified", figures.unverified(), figures.total());
        Finding::new(Outcome::NotProven, UNVERIFIED, Place::NOWHERE, says)
    })
}

/// The name of that finding.
pub const UNVERIFIED: &str = "unverified-figures";
