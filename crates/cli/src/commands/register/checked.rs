//! `asleft register verify`: every hash worked out anew.

use crate::Exit;
use crate::args::{Format, RegisterVerify};
use crate::files::register::{lies_on_a_disk, open};
use crate::pipeline::Progress;
use crate::render::{self, wrapped};
use crate::report::register::RegisterVerifyReport;
use record::canonical;
use record::register::sum::Rest;
use record::register::{ChainError, RegisterError, Verified};
use std::io::{self, Write};

/// Says whether the register is as it was written.
pub fn run(args: &RegisterVerify) -> io::Result<Exit> {
    let path = &args.register.register;
    lies_on_a_disk(path)?;
    // what cannot be opened for damage is a register with a fault; what is none is no answer
    let verified = match record::register::Register::open(path) {
        Ok(register) => {
            let mut progress = Progress::of("entries");
            register.verify(args.noted.as_deref(), &mut |_| progress.step(1))
        }
        Err(RegisterError::Damaged(says)) => Err(ChainError::Database(says)),
        Err(_) => return open(path).map(|_| Exit::CouldNotTell),
    };
    if let Err(ChainError::Register(fault)) = verified {
        return Err(super::about(path, fault));
    }
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &terminal::path(path), &verified)?,
        Format::Json => render::json(&mut out, &report(&verified))?,
    }
    Ok(if verified.is_ok() { Exit::Fine } else { Exit::NotFine })
}

fn report(verified: &Result<Verified, ChainError>) -> RegisterVerifyReport {
    let sound = verified.as_ref().ok();
    RegisterVerifyReport {
        as_written: verified.is_ok(),
        fault: verified.as_ref().err().map(ToString::to_string),
        entries: sound.map(|sound| sound.entries),
        profiles: sound.map(|sound| sound.profiles),
        signatures: sound.map(|sound| sound.signatures),
        last_link: sound.map(|sound| canonical::hex(&sound.head)),
        file_as_left: sound.and_then(|sound| (sound.rest == Rest::AsLeft).then_some(true)),
    }
}

fn write_text(out: &mut dyn Write, path: &str, verified: &Result<Verified, ChainError>) -> io::Result<()> {
    let width = render::width();
    let sound = match verified {
        Ok(sound) => sound,
        Err(fault) => {
            render::title(out, "ALTERED", path)?;
            writeln!(out, "  {}", wrapped(&fault.to_string(), width - 2, 4))?;
            let advice = "keep this file as it is, and see whether a backup is unaltered: `asleft register verify --register BACKUP`";
            return writeln!(out, "  {}", wrapped(advice, width - 2, 4));
        }
    };
    render::title(out, "UNALTERED", path)?;
    let count = |n: u64, singular: &str, plural: &str| format!("{n} {}", if n == 1 { singular } else { plural });
    let says = format!(
        "{} in one chain, with {} and {}; each hash was worked out anew",
        count(sound.entries, "entry", "entries"),
        count(sound.signatures, "signature that holds", "signatures that hold"),
        count(sound.profiles, "kept profile", "kept profiles")
    );
    writeln!(out, "  {}", wrapped(&says, width - 2, 4))?;
    let rest = match sound.rest {
        Rest::AsLeft => "the file is byte for byte as its last writer left it",
        _ => "no sum lies beside it: a writer is at work, or was stopped before its end; its entries are all there",
    };
    writeln!(out, "  {}", wrapped(rest, width - 2, 4))?;
    writeln!(out, "  last link {}", canonical::hex(&sound.head))?;
    writeln!(out, "  {}", wrapped("note it down elsewhere: `--noted` then shows that nothing was cut off or written anew", width - 2, 4))
}
