//! `asleft pin`: what a site stands under now, by name and content, so that it can be judged so again.

use super::{assessor, refused, site_tree};
use crate::args::Pin;
use crate::walk::write_messages;
use crate::{Exit, files};
use rules::assess::Assessor;
use rules::provenance::Verdict;
use settings_model::document::Node;
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;
use std::fmt::Write as _;
use std::io::{self, Write};

/// Prints the pins of a site, or writes them into its file.
pub fn run(args: &Pin) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let Some(root) = site_tree(&args.site, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    let site: SiteFile<'_> = reader::typed(&root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
    let assessment = assessor.assess(&site);
    if assessment.book.is_none() || assessment.verdict == Verdict::CouldNotTell {
        let findings = rules::wording::findings(&assessment, &root);
        return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell);
    }
    let pins = pins(&assessment.layers(), site.training_notice(), &assessor);
    if !args.write {
        terminal::stdout().write_all(pins.as_bytes())?;
        return Ok(Exit::Fine);
    }
    if args.site.as_os_str() == "-" {
        return refused("standard input cannot be written to; leave `--write` out");
    }
    let text = files::text(&args.site)?;
    let Some(with_pins) = spliced(&text, &root, &pins) else {
        return refused("the pins cannot be written into a file of this form; leave `--write` out, and paste what is printed");
    };
    let mut sources = settings_model::source::Sources::default();
    let source = sources.add(terminal::path(&args.site), with_pins.as_str());
    if let Err(findings) = reader::read(source, &with_pins, Kind::Site) {
        return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell);
    }
    files::write_whole(&args.site, with_pins.as_bytes())?;
    writeln!(terminal::stderr(), "pinned: {}", terminal::path(&args.site))?;
    Ok(Exit::Fine)
}

/// Each profile with the digest of its content.
pub fn pinned_profiles(keys: &[String], assessor: &Assessor) -> Vec<(String, String)> {
    keys.iter().filter_map(|key| Some((key.clone(), assessor.library.profile(key)?.sha256()))).collect()
}

/// Pins as a site's file states them.
fn pins(keys: &[String], training: Option<&str>, assessor: &Assessor) -> String {
    let mark = training.map(|notice| format!("{notice}; ")).unwrap_or_default();
    let mut text = format!("pinned: # {mark}judged against these as of {}\n", assessor.today);
    for (key, sha256) in pinned_profiles(keys, assessor) {
        let _ = writeln!(text, "  - {{ profile: {key}, sha256: {sha256} }}");
    }
    text
}

/// The text with the pins in place of those it has, or at its end; all else stays as it is.
fn spliced(text: &str, root: &Node, pins: &str) -> Option<String> {
    if text.trim_start().starts_with('{') {
        return None;
    }
    let Some((key, value)) = root.entry("pinned") else {
        let gap = if text.ends_with('\n') { "" } else { "\n" };
        return Some(format!("{text}{gap}{pins}"));
    };
    let start = key.place.start as usize;
    let end = (value.place.end as usize).max(start);
    let end = text[end..].find('\n').map_or(text.len(), |newline| end + newline + 1);
    Some(format!("{}{pins}{}", &text[..start], &text[end..]))
}
