//! The sites of a fleet, by their names: their texts are kept, and each is read when its log comes.

use crate::texts::{Found, blocks};
use crate::walk::{heading_of_tree, who};
use settings_model::files::SiteFile;
use settings_model::source::SourceId;
use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;

/// A site that was named.
pub struct KnownSite {
    /// Its own name.
    pub name: String,
    /// Its file, for people.
    pub file: String,
    /// Its line, where a file holds one site a line.
    pub line: Option<usize>,
    /// Its text.
    pub text: String,
    /// The company, branch and crew that answer for it.
    pub answerable: [String; 3],
    /// Whether a log of it was met.
    pub is_met: bool,
    /// The names of its inverters, as soon as its text was read for a log.
    pub inverters: Vec<String>,
}

/// All of them, in order.
#[derive(Default)]
pub struct Sites {
    /// In the order in which they were found.
    pub all: Vec<KnownSite>,
    by_name: BTreeMap<String, usize>,
    /// Texts that are no sites, and why.
    pub faults: Vec<String>,
}

impl Sites {
    /// Those that a path leads to, as `check` takes it.
    ///
    /// # Errors
    /// Where standard error cannot be written to.
    pub fn of(path: &str) -> io::Result<Self> {
        let mut sites = Self::default();
        blocks(&[PathBuf::from(path)], &mut |block| {
            block.each_text(&mut |found| {
                sites.take(found);
                Ok(())
            })
        })?;
        Ok(sites)
    }

    fn take(&mut self, found: Found<'_>) {
        let place = found.line.map_or_else(|| found.name.to_owned(), |line| format!("{}:{line}", found.name));
        let text = match found.text {
            Ok(text) => text,
            Err(says) => return self.faults.push(says),
        };
        let Some((name, answerable)) = heading(text) else {
            let says = format!("{place}: no site's name in it; `asleft check {}` says what is wrong", found.name);
            return self.faults.push(says);
        };
        if let Some(first) = self.by_name.get(&name) {
            let KnownSite { file, line, .. } = &self.all[*first];
            let first = line.map_or_else(|| file.clone(), |line| format!("{file}:{line}"));
            let says = format!("{place}: `{name}` is the name of another site too ({first}): nobody knows which of them a log is of");
            return self.faults.push(says);
        }
        self.by_name.insert(name.clone(), self.all.len());
        let (file, text) = (found.name.to_owned(), text.to_owned());
        self.all.push(KnownSite { name, file, line: found.line, text, answerable, is_met: false, inverters: Vec::new() });
    }

    /// The place of a site among all.
    pub fn place(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }
}

/// What a site calls itself and who answers for it, whatever else is wrong with it.
fn heading(text: &str) -> Option<(String, [String; 3])> {
    let of_line = SiteFile::of_line(text).map(|site| (site.site.to_string(), who(site.answerable.as_ref())));
    let of_tree = || {
        let (name, answerable) = heading_of_tree(text, SourceId(0));
        name.map(|name| (name, answerable))
    };
    of_line.or_else(of_tree).filter(|(name, _)| !name.trim().is_empty())
}
