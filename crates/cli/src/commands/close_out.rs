//! `asleft close-out`: the record that a job leaves behind.

pub mod people;
mod photos;

use super::{assessor, refused, texts};
use crate::args::CloseOut;
use crate::walk::write_messages;
use crate::{Exit, files};
use record::making::{Job, Photos, close_out};
use record::{Envelope, Record};
use rules::provenance::Verdict;
use std::io;
use std::path::{Path, PathBuf};

/// Makes the record of a site, writes it, and says what it came to.
pub fn run(args: &CloseOut) -> io::Result<Exit> {
    let to = match destination(args) {
        Ok(to) => to,
        Err(says) => return refused(says),
    };
    let mut assessor = assessor(&args.under)?;
    let job = Job {
        texts: texts(&args.site, &args.filled, args.commissioning.as_deref())?,
        photos: args.photos.as_deref().map_or(Ok(Photos::NotLookedFor), photos::in_folder)?,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    };
    let record = match close_out(&job, &mut assessor) {
        Ok(record) => record,
        Err(findings) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
    };
    let envelope = Envelope::around(&record);
    let written = match to {
        To::Nowhere => None,
        To::StandardOutput => {
            terminal::file(&envelope.bytes())?;
            people::write(&mut terminal::stderr(), &record, &envelope, None)?;
            return Ok(exit(&record));
        }
        To::File(path) => {
            if is_another(&path, &envelope)? && !args.replace {
                return refused(&format!(
                    "{}: a record is there already, and says something else; name another place with `--out`, or give `--replace`",
                    terminal::path(&path)
                ));
            }
            files::write_whole(&path, &envelope.bytes())?;
            Some(path)
        }
    };
    people::write(&mut terminal::stdout(), &record, &envelope, written.as_deref())?;
    Ok(exit(&record))
}

fn exit(record: &Record) -> Exit {
    if record.verdict.outcome == Verdict::Complies { Exit::Fine } else { Exit::NotFine }
}

/// Where a record goes.
enum To {
    Nowhere,
    StandardOutput,
    File(PathBuf),
}

fn destination(args: &CloseOut) -> Result<To, &'static str> {
    match &args.out {
        _ if args.dry_run => Ok(To::Nowhere),
        Some(path) if path.as_os_str() == "-" => Ok(To::StandardOutput),
        Some(path) => Ok(To::File(path.clone())),
        None => Err("name the file of the record with `--out FILE`; `--out -` prints it, `--dry-run` shows what it would say"),
    }
}

/// Whether something else lies there.
fn is_another(path: &Path, envelope: &Envelope) -> io::Result<bool> {
    files::says_otherwise(path, &envelope.bytes())
}
