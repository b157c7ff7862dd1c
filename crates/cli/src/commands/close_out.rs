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
use std::io::{self, Write};
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
            let mut out = io::stdout().lock();
            out.write_all(&envelope.bytes())?;
            out.flush()?;
            people::write(&mut anstream::stderr(), &record, &envelope, None)?;
            return Ok(exit(&record));
        }
        To::Beside(path) => {
            let path = path.unwrap_or_else(|| beside(&args.site, &record.site.name));
            if is_another(&path, &envelope)? && !args.replace {
                return refused(&format!(
                    "{}: a record is there already, and says something else; name another place with `--out`, or give `--replace`",
                    path.display()
                ));
            }
            files::write_whole(&path, &envelope.bytes())?;
            Some(path)
        }
    };
    people::write(&mut anstream::stdout().lock(), &record, &envelope, written.as_deref())?;
    Ok(exit(&record))
}

fn exit(record: &Record) -> Exit {
    if record.verdict.outcome == Verdict::Complies { Exit::Fine } else { Exit::NotFine }
}

/// Where a record goes.
enum To {
    Nowhere,
    StandardOutput,
    /// To a file; the site's own name beside its file where none is named.
    Beside(Option<PathBuf>),
}

fn destination(args: &CloseOut) -> Result<To, &'static str> {
    match &args.out {
        _ if args.dry_run => Ok(To::Nowhere),
        Some(path) if path.as_os_str() == "-" => Ok(To::StandardOutput),
        None if args.site.as_os_str() == "-" => Err("a site from standard input has no place of its own; name one with `--out`"),
        path => Ok(To::Beside(path.clone())),
    }
}

/// `larkspur-row-3.close-out.json` beside the file of a site.
pub fn beside(site: &Path, name: &str) -> PathBuf {
    let plain = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '-' };
    site.with_file_name(format!("{}.close-out.json", name.chars().map(plain).collect::<String>().trim_start_matches('.')))
}

/// Whether something else lies there.
fn is_another(path: &Path, envelope: &Envelope) -> io::Result<bool> {
    match std::fs::read(path) {
        Ok(bytes) => Ok(bytes != envelope.bytes()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(io::Error::other(format!("{}: {error}", path.display()))),
    }
}
