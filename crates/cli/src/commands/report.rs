//! `asleft report`: a record on paper, as a page or a PDF.

mod checked;
mod differences;
mod evidence;
mod outcome;
mod owner;
mod pictures;
mod settings;
mod site_tests;

use super::printed::{self, Form};
use super::{pinned, refused};
use crate::args::Report;
use crate::files::register::{self, Register};
use crate::{Exit, files};
use paper::{Block, Headline, Paper, Part, Weight, plain};
use record::seal::Sealed;
use record::{Envelope, Record};
use rules::assess::Assessor;
use rules::provenance::Verdict;
use settings_model::document::Node;
use settings_model::library::Library;
use std::io;
use std::path::{Path, PathBuf};

/// Writes the paper of a record.
pub fn run(args: &Report) -> io::Result<Exit> {
    let kept = args.register().map(register::open).transpose()?;
    let bytes = match read(args, kept.as_ref())? {
        Ok(bytes) => bytes,
        Err(says) => return refused(&says),
    };
    let (envelope, record) = match sound(&bytes) {
        Ok(sound) => sound,
        Err(says) => return refused(&format!("{}: {says}; nothing was written", named(args))),
    };
    let to = args.out.clone().unwrap_or_else(|| beside(args, &record));
    let form = match Form::of(&to) {
        Ok(form) => form,
        Err(says) => return refused(&says),
    };
    let library = pinned::library(&record, &args.profiles, kept.as_ref())?;
    let unsigned = match &library {
        Ok(library) => pinned::unsigned(&record, library),
        Err(not_at_hand) if !args.profiles.require_signed.is_empty() => {
            Some(format!("nobody can tell who signed what is not at hand: {}; give its folder as `--profiles`", not_at_hand.join("; ")))
        }
        Err(_) => None,
    };
    if let Some(says) = unsigned {
        return refused(&format!("{}: {says}; nothing was written", named(args)));
    }
    let again = match Again::of(&record, library) {
        Ok(again) => again,
        Err(says) => return refused(&format!("{}: {says}; nothing was written", named(args))),
    };
    let paper = paper(&record, &envelope, again);
    if to.as_os_str() == "-" {
        return printed::write(&paper, form, &to, &args.on);
    }
    let owners = owners_paper(&record, &envelope);
    printed::write_all(&[(&paper, &to), (&owners, &for_owner(&to))], form, &args.on)
}

/// `larkspur-row-3.close-out.owner.html` beside `larkspur-row-3.close-out.html`.
fn for_owner(to: &Path) -> PathBuf {
    let form = to.extension().map_or_else(String::new, |form| form.to_string_lossy().into_owned());
    to.with_extension(format!("owner.{form}"))
}

/// The bytes of the record that is asked for, or why there are none.
fn read(args: &Report, kept: Option<&Register>) -> io::Result<Result<Vec<u8>, String>> {
    match (&args.record, args.site().zip(kept)) {
        (Some(path), _) => files::bytes(path).map(Ok),
        (None, Some((site, kept))) => {
            let path = args.register().map(terminal::path).unwrap_or_default();
            let none = || format!("{path}: no record of a site `{site}`; `asleft register list --register {path}` names the sites");
            Ok(register::newest(kept, site)?.ok_or_else(none))
        }
        (None, None) => Ok(Err("name a record, or a site of a register".to_owned())),
    }
}

/// A record that is as it was made: nothing else is put on paper.
fn sound(bytes: &[u8]) -> Result<(Envelope, Record), String> {
    let envelope = Envelope::read(bytes).map_err(|broken| broken.to_string())?;
    let record = envelope.record().map_err(|broken| broken.to_string())?;
    for signature in &envelope.signatures {
        signature.holds(Sealed::Record, &envelope.hash()).map_err(|fault| format!("a signature on it does not hold: {fault}"))?;
    }
    Ok((envelope, record))
}

/// How messages name the record.
fn named(args: &Report) -> String {
    match &args.record {
        Some(path) => terminal::path(path),
        None => format!("the record of {}", args.site().unwrap_or_default()),
    }
}

/// `larkspur-row-3.close-out.html` beside `larkspur-row-3.close-out.json`; here, for a record that has no place.
fn beside(args: &Report, record: &Record) -> PathBuf {
    match args.record.as_deref().filter(|path| path.as_os_str() != "-") {
        Some(path) => path.with_extension("html"),
        None => file_of(&record.site.name),
    }
}

/// What the record was made from, to be asked for what the record does not hold itself.
pub struct Again {
    /// Over the profiles that the record names, and no others.
    pub assessor: Assessor,
    /// The site, with what a sheet says of its devices; `None` where that depends on what is not at hand.
    pub root: Option<Node>,
    /// Profiles that are not at hand: with any, nothing can be asked.
    pub not_at_hand: Vec<String>,
}

impl Again {
    fn of(record: &Record, library: Result<Library, Vec<String>>) -> Result<Self, String> {
        let (library, not_at_hand) = match library {
            Ok(library) => (pinned::alone(record, &library), Vec::new()),
            Err(not_at_hand) => (Library::default(), not_at_hand),
        };
        let day = settings_model::notation::date(&record.made.as_of).map_err(|_| format!("`{}` is no day", record.made.as_of))?;
        let mut assessor = Assessor::new(library, day);
        match record::making::site_of(record, &mut assessor) {
            Ok(root) => Ok(Self { assessor, root: Some(root), not_at_hand }),
            Err(_) if !not_at_hand.is_empty() => Ok(Self { assessor, root: None, not_at_hand }),
            Err(_) => Err("the site in it cannot be read".to_owned()),
        }
    }

    /// The name in print of a standard and edition, `as-nzs-4777.2/2020-amd2`; the key itself where it is not at hand.
    pub fn title_of(&mut self, standard: &str) -> String {
        let Assessor { library, sources, .. } = &mut self.assessor;
        library.standard(standard, sources).map_or_else(|_| standard.to_owned(), |typed| typed.file.title.clone())
    }

    /// What keeps pictures and differences from being shown, in place of them.
    fn why_not(&self) -> Block {
        let points = self.not_at_hand.iter().map(plain).collect();
        Block::Notice(Weight::Mind, "Left out: what it was judged against is not at hand".to_owned(), points)
    }

    /// The site and who is asked about it, where both are at hand.
    fn at_hand(&mut self) -> Option<(&Node, &mut Assessor)> {
        let root = self.root.as_ref().filter(|_| self.not_at_hand.is_empty())?;
        Some((root, &mut self.assessor))
    }
}

/// What an owner gets: what the installation was left with, in plain words, and nothing of files.
fn owners_paper(record: &Record, envelope: &Envelope) -> Paper {
    Paper {
        title: format!("For the owner of {}", record.site.name),
        footer: format!("{}, as of {}, record {}", record.site.name, record.made.as_of, envelope.sha256()),
        standing: standing(record),
        parts: vec![owner::part(record), checked::to_hand_over()],
    }
}

/// The technical paper of a record: what it came to, and the proof of it.
fn paper(record: &Record, envelope: &Envelope, mut again: Again) -> Paper {
    let mut parts = vec![outcome::part(record)];
    parts.extend(settings::parts(record, &mut again));
    parts.extend(pictures::part(record, &mut again));
    parts.extend(differences::part(record, &mut again));
    parts.extend(site_tests::part(record));
    parts.extend(evidence::parts(record));
    parts.push(checked::cautions(record));
    parts.push(checked::to_sign());
    parts.push(checked::part(record, envelope));
    Paper {
        title: format!("Close-out of {}", record.site.name),
        footer: format!("Close-out of {}, as of {}, SHA-256 {}", record.site.name, record.made.as_of, envelope.sha256()),
        standing: standing(record),
        parts,
    }
}

/// `larkspur-row-3.close-out.html`.
fn file_of(site: &str) -> PathBuf {
    let plain = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '-' };
    let name: String = site.chars().map(plain).collect();
    PathBuf::from(format!("{}.close-out.html", name.trim_start_matches('.')))
}

/// What every page says at its head.
fn standing(record: &Record) -> Headline {
    let whole = record.verdict.whole();
    let weight = match whole.verdict {
        Verdict::Complies if !whole.is_unverified() => Weight::Calm,
        Verdict::Complies | Verdict::NotProven => Weight::Mind,
        Verdict::DoesNotComply | Verdict::CouldNotTell => Weight::Stop,
    };
    Headline { says: record.verdict.headline.to_uppercase(), weight }
}

/// A part that goes on where the one before ended.
fn part(title: &str, blocks: Vec<paper::Block>) -> Part {
    Part { title: title.to_owned(), starts_page: false, blocks }
}
