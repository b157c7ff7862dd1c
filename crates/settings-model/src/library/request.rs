//! What the library is asked for, and why it may have to refuse.

use crate::facts::FactId;
use crate::files::{Device, SiteFile};
use crate::finding::{Finding, nearest};
use crate::source::Place;

/// What a site asks the library for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Request<'r> {
    /// The network, if an operator adds to the standard.
    pub network: Option<&'r str>,
    /// The range of overlay versions that the site names.
    pub overlay: Option<&'r str>,
    /// The standard and edition, where no network is named.
    pub standard: Option<&'r str>,
    /// What a device stands under in place of the standard below the network's overlays.
    pub in_place: Option<InPlace<'r>>,
    /// The standard of installation and edition, where no network is named.
    pub installation: Option<&'r str>,
    /// The region of the site.
    pub region: &'r str,
}

/// An edition that a device stands under in place of the site's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InPlace<'r> {
    /// The standard and edition.
    pub standard: &'r str,
    /// Its region, as that edition names it.
    pub region: &'r str,
}

impl<'r> Request<'r> {
    /// What a site asks the library for.
    #[must_use]
    pub fn of(site: &'r SiteFile<'_>) -> Self {
        Self {
            network: site.network.as_deref(),
            overlay: site.requirements.overlay.as_deref(),
            standard: site.requirements.standard.as_deref(),
            installation: site.requirements.installation.as_deref(),
            in_place: None,
            region: &site.requirements.region,
        }
    }

    /// What one device of a site asks the library for.
    #[must_use]
    pub fn of_device(site: &'r SiteFile<'_>, device: &'r Device<'_>) -> Self {
        match &device.stands_under {
            None => Self::of(site),
            Some(under) => Self { in_place: Some(InPlace { standard: &under.standard, region: &under.region }), ..Self::of(site) },
        }
    }
}

/// Why no rulebook could be made.
#[derive(Clone, Debug)]
pub enum Refusal {
    /// The site or a profile is at fault.
    Unusable(Vec<Finding>),
    /// Which version governs depends on facts that the site does not state.
    Hangs {
        /// Those facts.
        facts: Vec<FactId>,
        /// The versions between which it is undecided.
        versions: Vec<String>,
    },
    /// The request names something that the library does not have; the caller knows the place.
    Unknown {
        /// Which part of the request.
        part: Part,
        /// What is wrong.
        says: String,
        /// What to do.
        hint: Option<String>,
    },
}

/// A part of a [`Request`], so that a finding can point at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The network.
    Network,
    /// The range of overlay versions.
    Overlay,
    /// The standard and edition.
    Standard,
    /// The standard of installation and edition.
    Installation,
    /// The region.
    Region,
    /// What one device stands under in place of the site's standard.
    InPlace,
    /// The profiles that the site pins.
    Pinned,
}

impl Refusal {
    /// Something is named that is not known; these are.
    pub(super) fn unknown(part: Part, says: String, named: &str, known: &[String]) -> Self {
        let hint = match nearest(named, known.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None if known.is_empty() => "give the folder that has it as `--profiles`".to_owned(),
            None if part == Part::Region => format!("known: {}", known.join(", ")),
            None => format!("known: {}; give a folder with more as `--profiles`", known.join(", ")),
        };
        Self::Unknown { part, says, hint: Some(hint) }
    }

    /// A network is known, or thought to be, and none of its versions is in the range that is asked for.
    pub(super) fn out_of_range(network: &str, versions: &[semver::Version], networks: &[String]) -> Self {
        let says = format!("no version of `{network}` lies in this range");
        if versions.is_empty() {
            return Self::unknown(Part::Network, says, network, networks);
        }
        let known: Vec<String> = versions.iter().map(ToString::to_string).collect();
        let hint = format!("its versions: {}; widen the range, or give a folder with more as `--profiles`", known.join(", "));
        Self::Unknown { part: Part::Network, says, hint: Some(hint) }
    }

    /// A refusal about the standard of installation that a site names.
    pub(super) fn of_installation(self) -> Self {
        match self {
            Self::Unknown { says, hint, .. } => Self::Unknown { part: Part::Installation, says, hint },
            other => other,
        }
    }

    /// A refusal about what a device stands under in place of the site's standard.
    #[must_use]
    pub fn of_device(self) -> Self {
        match self {
            Self::Unknown { says, hint, .. } => Self::Unknown { part: Part::InPlace, says, hint },
            other => other,
        }
    }

    /// A refusal about what an overlay stands on is the overlay's fault, not the site's.
    pub(super) fn at(self, place: Place) -> Self {
        match self {
            Self::Unknown { says, hint, .. } => Self::Unusable(vec![Finding { hint, ..Finding::unusable("extends", place, says) }]),
            other => other,
        }
    }
}

impl From<Vec<Finding>> for Refusal {
    fn from(findings: Vec<Finding>) -> Self {
        Self::Unusable(findings)
    }
}
