//! What is checked, compared or played: a site with its devices, or requirements.

mod named;

pub use named::{known_key, requirements};

use crate::book::Books;
use settings_model::document::Node;
use settings_model::files::OverlayFile;
use settings_model::finding::Finding;
use settings_model::library::{Refusal, Typed};
use std::io;
use std::rc::Rc;

/// What an operand names.
pub enum Operand {
    /// What devices of a site hold.
    Site(SiteOperand),
    /// What a standard or a network asks.
    Requirements(RequirementsOperand),
}

/// A site's file, and of it one device or one moment.
pub struct SiteOperand {
    /// The checked tree of the file.
    pub root: Node,
    /// The one device meant; without it all.
    pub device: Option<String>,
    /// The moment meant, if it is said.
    pub moment: Option<Moment>,
}

/// When a device was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// Before the work.
    AsFound,
    /// After it.
    AsLeft,
}

impl Moment {
    /// The word in files, and after a colon.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::AsFound => "as-found",
            Self::AsLeft => "as-left",
        }
    }
}

/// What a standard or a network asks, region by region.
pub struct RequirementsOperand {
    /// Its name in print.
    pub title: String,
    /// The network's file, where it is one.
    pub overlay: Option<Rc<Typed<OverlayFile>>>,
    /// The base standard and edition below it.
    pub standard: String,
    /// Whether one region was named.
    pub is_of_one_region: bool,
    /// Key and name of each region, and what is asked there.
    pub regions: Vec<(String, String, Books)>,
}

impl RequirementsOperand {
    /// The one region that was named, or that there is, and the title with it; `word` is how it was named.
    ///
    /// # Errors
    /// Where there are several and none was named.
    pub fn of_one_region(&self, word: &str) -> Result<(String, &Books), OperandError> {
        let [(_, region, books)] = &self.regions[..] else {
            let first = self.regions.first().map(|(key, ..)| format!("{word}/{key}")).unwrap_or_default();
            return Err(OperandError::Words(format!("{} has several regions; name one, as in `{first}`", self.title)));
        };
        let title = if self.title.contains(region.as_str()) { self.title.clone() } else { format!("{}, {region}", self.title) };
        Ok((title, books))
    }
}

/// Title, key and both sides of each region that two have in common; two that were named are paired
/// whatever their keys.
#[must_use]
pub fn pairs<'o>(old: &'o RequirementsOperand, new: &'o RequirementsOperand) -> Vec<(String, &'o str, &'o Books, &'o Books)> {
    let both_named = old.is_of_one_region && new.is_of_one_region;
    if let (true, [(one, title, old)], [(other, other_title, new)]) = (both_named, &old.regions[..], &new.regions[..]) {
        let title = if one == other { title.clone() } else { format!("{title} against {other_title}") };
        return vec![(title, one, old, new)];
    }
    let counterpart = |key: &str| new.regions.iter().find(|(other, ..)| other == key);
    let paired = old.regions.iter().filter_map(|(key, title, books)| Some((title.clone(), key.as_str(), books, &counterpart(key)?.2)));
    paired.collect()
}

/// Why an operand could not be used.
pub enum OperandError {
    /// It names nothing that is at hand.
    Words(String),
    /// A file is at fault.
    Findings(Vec<Finding>),
}

impl From<io::Error> for OperandError {
    fn from(error: io::Error) -> Self {
        Self::Words(error.to_string())
    }
}

impl From<Vec<Finding>> for OperandError {
    fn from(findings: Vec<Finding>) -> Self {
        Self::Findings(findings)
    }
}

impl From<Refusal> for OperandError {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::Unusable(findings) => Self::Findings(findings),
            Refusal::Unknown { says, hint, .. } => Self::Words(hint.map_or(says.clone(), |hint| format!("{says}; {hint}"))),
            Refusal::Hangs { versions, .. } => {
                Self::Words(format!("it depends on a site's dates which of {} is meant", versions.join(", ")))
            }
        }
    }
}
