//! `asleft affected`: which sites a new version strands, and the work that follows.

mod gathered;
mod written;

use super::operand::{OperandError, RequirementsOperand, older_accepted, requirements_of};
use super::{NO_SITES, assessor, day, refused};
use crate::Exit;
use crate::args::{Affected, Under};
use crate::pipeline::{Progress, WorkerFactory, in_order, jobs};
use crate::texts::Block;
use crate::walk::write_messages;
use gathered::Gathered;
use rules::affected::Effect;
use rules::assess::{Assessor, GovernedBy};
use settings_model::source::Sources;
use std::io;
use std::sync::Arc;

/// Judges every site before and after, and says what has to be done.
pub fn run(args: &Affected) -> io::Result<Exit> {
    let asked = Arc::new(AffectedQuery::of(args));
    let compared = match Compared::of(&asked)? {
        Ok(compared) => compared,
        Err((OperandError::Findings(findings), sources)) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
        Err((OperandError::Words(says), _)) => return refused(&says),
    };
    let (mut gathered, mut progress) = (Gathered::default(), Progress::of("sites"));
    in_order(&args.sites, jobs(args.jobs.jobs), workers(asked), &mut |some: Gathered| {
        progress.step(some.count());
        gathered.add(some);
        Ok(())
    })?;
    drop(progress);
    let is_empty = gathered.count() == 0;
    let report = gathered.report(&compared);
    match written::write(&report, args.format) {
        // a reader that went away changes nothing of what was found
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {}
        written => written?,
    }
    if is_empty {
        return refused(NO_SITES);
    }
    Ok(if !report.unreadable.is_empty() || report.summary.contains_key("could-not-tell") {
        Exit::CouldNotTell
    } else if report.sites.iter().any(|site| site.effect().is_some_and(Effect::is_work)) {
        Exit::NotFine
    } else {
        Exit::Fine
    })
}

/// What is asked of every site, the same for every worker.
struct AffectedQuery {
    old: String,
    new: String,
    under: Under,
}

impl AffectedQuery {
    fn of(args: &Affected) -> Self {
        let under = Under { as_of: Some(day(&args.under)), ..args.under.clone() };
        Self { old: args.old.clone(), new: args.new.clone(), under }
    }
}

/// Makes workers, each with assessors of its own.
fn workers(asked: Arc<AffectedQuery>) -> WorkerFactory<Gathered> {
    Arc::new(move || {
        let changed = || io::Error::other("a file of requirements was changed meanwhile");
        let mut compared = Compared::of(&asked)?.map_err(|_| changed())?;
        Ok(Box::new(move |block: Block| {
            let mut gathered = Gathered::default();
            block.each_text(&mut |found| {
                gathered.take(found, &mut compared);
                Ok(())
            })?;
            Ok(gathered)
        }))
    })
}

/// Two versions, and what judges a site by each.
struct Compared {
    before: Assessor,
    after: Assessor,
    network: String,
    newer: semver::Version,
    old: String,
    new: String,
    older_accepted: Option<String>,
}

/// Why there is nothing to compare, and the texts that it points into.
type Refused = (OperandError, Sources);

impl Compared {
    fn of(asked: &AffectedQuery) -> io::Result<Result<Self, Refused>> {
        let (mut before, mut after) = (assessor(&asked.under)?, assessor(&asked.under)?);
        let (old, new) = match both(asked, &mut before, &mut after) {
            Ok(both) => both,
            Err(fault) => return Ok(Err((fault, after.sources))),
        };
        let (Some(older), Some(newer)) = (&old.overlay, &new.overlay) else {
            let says = "name two versions of one network, such as `quillbrook/2.0.0 quillbrook/3.0.0`";
            return Ok(Err((OperandError::Words(says.to_owned()), after.sources)));
        };
        let network = newer.file.network.value.clone();
        let older_accepted = older_accepted(&newer.file);
        let (older, newer) = (older.file.version.value.0.clone(), newer.file.version.value.0.clone());
        before.library.keep_versions(&network, |version| *version <= older);
        after.library.keep_versions(&network, |version| *version <= newer);
        Ok(Ok(Self { before, after, network, newer, old: old.title, new: new.title, older_accepted }))
    }
}

/// Both versions, read with the profiles of either side at hand.
fn both(
    args: &AffectedQuery,
    before: &mut Assessor,
    after: &mut Assessor,
) -> Result<(RequirementsOperand, RequirementsOperand), OperandError> {
    let (old, new) = (requirements_of(&args.old, before)?, requirements_of(&args.new, after)?);
    let named = |operand: &RequirementsOperand| {
        operand.overlay.as_ref().map(|overlay| (overlay.file.network.value.clone(), overlay.file.version.value.0.clone()))
    };
    if let (Some((network, older)), Some((other, newer))) = (named(&old), named(&new)) {
        if network != other {
            return Err(OperandError::Words(format!("{} and {} belong to two networks; name two versions of one", old.title, new.title)));
        }
        if newer <= older {
            return Err(OperandError::Words(format!("{} is not later than {}; name the older one first", new.title, old.title)));
        }
    }
    before.governed_by = GovernedBy::DatesAlone;
    after.governed_by = GovernedBy::DatesAlone;
    // a draft that stands for the old version governs afterwards too
    if std::path::Path::new(&args.old).is_file() {
        requirements_of(&args.old, after)?;
        requirements_of(&args.new, after)?;
    }
    Ok((old, new))
}
