//! Who may put profiles into a library: asked before one takes part in an answer.

use super::{Library, Profile};
use crate::finding::Finding;
use crate::slip::Slip;
use crate::source::{Place, SourceId};
use std::fmt;
use std::rc::Rc;

/// The name of the finding about a profile that may not take part.
pub const NOT_SIGNED: &str = "not-signed";

/// Decides whether a profile may take part, or says why not.
#[derive(Clone)]
pub struct Gate(pub Rc<Asks>);

/// What a gate asks of a profile.
pub type Asks = dyn Fn(&Profile) -> Result<(), Slip>;

impl fmt::Debug for Gate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Gate")
    }
}

impl Library {
    /// Asks this gate before any profile is used. What is not used is not asked about, so that which
    /// version governs stays the same: one that governs and may not take part is a refusal.
    pub fn set_gate(&mut self, gate: Gate) {
        self.gate = Some(gate);
    }

    /// Whether any profile has to pass a gate.
    #[must_use]
    pub fn has_gate(&self) -> bool {
        self.gate.is_some()
    }

    /// A library of some of these profiles, behind the same gate.
    #[must_use]
    pub fn only<'k>(&self, keys: impl IntoIterator<Item = &'k str>) -> Self {
        let mut library = Self { gate: self.gate.clone(), ..Self::default() };
        keys.into_iter().filter_map(|key| self.profile(key)).for_each(|profile| library.add(profile.clone()));
        library
    }

    /// Whether a profile may take part in an answer.
    ///
    /// # Errors
    /// Why not.
    pub fn admit(&self, profile: &Profile, source: SourceId) -> Result<(), Vec<Finding>> {
        let Some(Gate(admits)) = &self.gate else { return Ok(()) };
        let place = Place { source, start: 0, end: 0 };
        admits(profile).map_err(|slip| vec![Finding::unusable(NOT_SIGNED, place, slip.says).hint(slip.help)])
    }
}
