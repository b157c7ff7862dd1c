//! `asleft seal` and `asleft sign-profile`: signatures on records and on requirement files.

use super::refused;
use crate::args::{Seal, SignProfile};
use crate::files::signed;
use crate::{Exit, files};
use record::Envelope;
use record::seal::{ProfileSeal, Sealed};
use settings_model::document;
use settings_model::reader;
use settings_model::source::SourceId;
use std::io::{self, Write};
use std::path::Path;

/// Adds a signature to a record's file, whole or not at all.
pub fn record(args: &Seal) -> io::Result<Exit> {
    let key = files::keys::private(&args.key)?;
    let name = terminal::path(&args.record);
    let says = |error: &dyn std::fmt::Display| io::Error::other(format!("{name}: {error}"));
    let mut envelope = Envelope::read(&files::bytes(&args.record)?).map_err(|broken| says(&broken))?;
    // nobody puts a name under what they cannot read
    envelope.record().map_err(|broken| says(&broken))?;
    for signature in &envelope.signatures {
        signature.holds(Sealed::Record, &envelope.hash()).map_err(|fault| says(&format!("a signature on it does not hold: {fault}")))?;
    }
    let by = key.public().fingerprint();
    if !envelope.seal(&key) {
        writeln!(terminal::stdout(), "{name}: sealed by {by} already; nothing was changed")?;
        return Ok(Exit::Fine);
    }
    files::write_whole(&args.record, &envelope.bytes())?;
    writeln!(terminal::stdout(), "{name}: sealed by {by}")?;
    Ok(Exit::Fine)
}

/// Signs requirement files, each in a file beside it. All are read before one is signed.
pub fn profile(args: &SignProfile) -> io::Result<Exit> {
    let key = files::keys::private(&args.key)?;
    let mut seals = Vec::new();
    for path in &args.files {
        let text = files::text(path)?;
        if !is_profile(&text) {
            return refused(&format!("{}: not a standard, an overlay, a label map, a scenario or an attestation", terminal::path(path)));
        }
        seals.push((path, seal_of(path, &text)?, text));
    }
    for (path, mut seal, text) in seals {
        let says = if seal.sign(&key, text.as_bytes()) { "signed by" } else { "signed already by" };
        files::write_whole(&signed::beside(path), &seal.bytes())?;
        writeln!(terminal::stdout(), "{}: {says} {}", terminal::path(path), key.public().fingerprint())?;
    }
    Ok(Exit::Fine)
}

fn is_profile(text: &str) -> bool {
    let root = document::parse(SourceId(0), text, &mut Vec::new());
    root.as_ref().and_then(reader::kind_of).is_some_and(|kind| kind.folder().is_some())
}

/// The signatures that a profile has already; those over an earlier text of it are gone with that text.
fn seal_of(path: &Path, text: &str) -> io::Result<ProfileSeal> {
    let new = ProfileSeal::of(text.as_bytes());
    let place = signed::beside(path);
    match files::whole(&place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(new),
        Err(error) => Err(io::Error::other(format!("{}: {error}", terminal::path(&place)))),
        Ok(bytes) => match ProfileSeal::read(&bytes) {
            None => Err(io::Error::other(format!("{}: not as this program writes it; take it away first", terminal::path(&place)))),
            Some(seal) if seal.sha256 == new.sha256 => Ok(seal),
            Some(_) => {
                writeln!(
                    terminal::stderr(),
                    "asleft: {}: the text was altered since it was signed; the signatures over the earlier text are dropped",
                    terminal::path(path)
                )?;
                Ok(new)
            }
        },
    }
}
