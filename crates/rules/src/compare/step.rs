//! Version steps, as semantic versioning counts them.

/// A version step, as semantic versioning counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Words only.
    Patch,
    /// More is admitted; what complied still does.
    Minor,
    /// Something that complied no longer does.
    Breaking,
}

impl Step {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Patch => "patch",
            Self::Minor => "minor",
            Self::Breaking => "breaking",
        }
    }

    /// The step from one version to a later one; `None` where it is not later. Below 1.0.0 the second
    /// number takes the part of the first.
    #[must_use]
    pub fn between(old: &semver::Version, new: &semver::Version) -> Option<Self> {
        if new <= old {
            return None;
        }
        let unstable = old.major == 0 && new.major == 0;
        Some(match (old.major != new.major, old.minor != new.minor) {
            (true, _) => Self::Breaking,
            (false, true) if unstable => Self::Breaking,
            (false, true) => Self::Minor,
            (false, false) => Self::Patch,
        })
    }

    /// The least version that takes this step.
    #[must_use]
    pub fn after(self, old: &semver::Version) -> semver::Version {
        let (major, minor, patch) = (old.major, old.minor, old.patch);
        match self {
            Self::Breaking if major > 0 => semver::Version::new(major + 1, 0, 0),
            Self::Breaking | Self::Minor => semver::Version::new(major, minor + 1, 0),
            Self::Patch => semver::Version::new(major, minor, patch + 1),
        }
    }
}
