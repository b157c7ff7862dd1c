//! What something came to, and by which figures.

use super::{Figures, Standing};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What something came to: a site, a device, one part of a record. The later the worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It is shown to be as required.
    Complies,
    /// Nothing is shown to be wrong, and not everything to be right.
    NotProven,
    /// Something is not as required.
    DoesNotComply,
    /// The question could not be put: a file is at fault.
    CouldNotTell,
}

impl Verdict {
    /// The word in machine-readable answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Complies => "complies",
            Self::NotProven => "not-proven",
            Self::DoesNotComply => "does-not-comply",
            Self::CouldNotTell => "could-not-tell",
        }
    }

    /// In print, of what no figures decided.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Complies => "complies",
            Self::NotProven => "not proven",
            Self::DoesNotComply => "does not comply",
            Self::CouldNotTell => "could not tell",
        }
    }

    /// In print, where the figures that decided are known no better than this. Never plain where nobody
    /// verified them: a wrong device may pass by a wrong figure, and a correct one be re-set by it.
    #[must_use]
    pub fn by(self, decided: Option<Standing>) -> &'static str {
        match (self, decided.filter(|standing| standing.is_unverified())) {
            // of a record made before nothing was proven by a disputed figure; of a site it cannot be
            (Self::Complies, Some(Standing::Disputed)) => "agrees with disputed figures",
            (Self::Complies, Some(_)) => "agrees with unverified figures",
            (Self::DoesNotComply, Some(Standing::Disputed)) => "does not comply with disputed figures",
            (Self::DoesNotComply, Some(_)) => "does not comply with unverified figures",
            (verdict, _) => verdict.phrase(),
        }
    }
}

/// What something came to, and the figures that it rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judgement {
    /// What it came to.
    pub verdict: Verdict,
    /// How its required figures are known.
    pub figures: Figures,
    /// How the figures are known that broke it: the surest of them, since one is enough. `None` where
    /// something else than a figure broke it, or nothing did.
    pub broken_by: Option<Standing>,
}

impl Judgement {
    /// Of what could not be judged.
    pub const COULD_NOT_TELL: Self = Self {
        verdict: Verdict::CouldNotTell,
        figures: Figures { published: 0, invented: 0, single_source: 0, memory: 0, site_approval: 0, attested: 0, disputed: 0, open: 0 },
        broken_by: None,
    };

    /// How the figures are known that decided: of what complies the least sure of all, of what does not
    /// the surest of those that it breaks.
    #[must_use]
    pub fn decided_by(&self) -> Option<Standing> {
        match self.verdict {
            Verdict::Complies => self.figures.worst(),
            Verdict::DoesNotComply => self.broken_by,
            Verdict::NotProven | Verdict::CouldNotTell => None,
        }
    }

    /// The one headline: what it came to, and whether figures decided that nobody verified.
    #[must_use]
    pub fn headline(&self) -> &'static str {
        self.verdict.by(self.decided_by())
    }

    /// Whether it would be otherwise if the figures that nobody verified were wrong.
    #[must_use]
    pub fn is_unverified(&self) -> bool {
        self.decided_by().is_some_and(Standing::is_unverified)
    }

    /// Whether a figure decided that a licensed copy contradicts.
    #[must_use]
    pub fn is_disputed(&self) -> bool {
        self.decided_by() == Some(Standing::Disputed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(verdict: Verdict, figures: &[Standing], broken_by: Option<Standing>) -> &'static str {
        Judgement { verdict, figures: figures.iter().copied().collect(), broken_by }.headline()
    }

    #[test]
    fn no_verdict_by_an_unverified_figure_is_plain() {
        use Standing::{Attested, Disputed, Invented, Memory, Open, Published, SingleSource};
        assert_eq!(of(Verdict::Complies, &[Published, Attested, Invented, Open], None), "complies");
        assert_eq!(of(Verdict::Complies, &[Published, SingleSource], None), "agrees with unverified figures");
        assert_eq!(of(Verdict::Complies, &[Disputed, Memory], None), "agrees with disputed figures");
        assert_eq!(of(Verdict::DoesNotComply, &[Memory], Some(Memory)), "does not comply with unverified figures");
        assert_eq!(of(Verdict::DoesNotComply, &[Memory], Some(Disputed)), "does not comply with disputed figures");
        // one that was verified is enough, and so is what no figure decides
        assert_eq!(of(Verdict::DoesNotComply, &[Memory, Published], Some(Published)), "does not comply");
        assert_eq!(of(Verdict::DoesNotComply, &[Memory], None), "does not comply");
        assert_eq!(of(Verdict::NotProven, &[Memory], None), "not proven");
    }

    #[test]
    fn a_word_is_the_word_in_files() {
        for verdict in [Verdict::Complies, Verdict::NotProven, Verdict::DoesNotComply, Verdict::CouldNotTell] {
            assert_eq!(serde_json::to_string(&verdict).unwrap(), format!("\"{}\"", verdict.word()));
        }
    }
}
