//! What a site came to: each device, the site as a whole, and the verdict.

mod broken;
mod cause;
mod certificate;
mod not_judged;
mod reservations;

pub use broken::Broken;
pub use cause::Cause;
pub use certificate::Certificate;
pub use not_judged::{NotJudged, WhyNotJudged};
pub use reservations::Reservations;

use crate::book::{Book, Counted};
use crate::departure::Departure;
use crate::judge::{DeviceSettings, UnmetClaim, UnmetKind};
use crate::pairing::Exchanged;
use crate::phrase::under;
use crate::provenance::{Figures, Judgement, Standing, Verdict, of_line};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Evidence, LayerKind, ProvenanceId};
use settings_model::facts::Facts;
use settings_model::finding::{Finding, Outcome};
use settings_model::labels::LabelMap;
use settings_model::settings::Settings;
use std::borrow::Cow;
use std::rc::Rc;

/// Something about the site as a whole, with the path to its place in the site's file.
#[derive(Clone, Debug)]
pub struct Note {
    /// What kind of message.
    pub outcome: Outcome,
    /// A stable name for it.
    pub name: &'static str,
    /// Keys and list positions that lead to its place.
    pub path: Vec<String>,
    /// One phrase that stands alone.
    pub headline: String,
    /// What to do.
    pub hint: Option<String>,
    /// The lines of requirements that explain it, and the book that they stand in.
    pub lines: Option<(Rc<Book>, Vec<ProvenanceId>)>,
}

/// What one device came to.
#[derive(Debug)]
pub struct DeviceResult<'s> {
    /// The device's name in the site's file.
    pub name: &'s str,
    /// What it is.
    pub kind: Equipment,
    /// What it was left with.
    pub settings: Cow<'s, Settings>,
    /// Stages that its file names the other way round; `settings` has them as they are meant.
    pub exchanged: Vec<Exchanged>,
    /// How its values are known, unless they say otherwise themselves.
    pub evidence: Option<Evidence>,
    /// What it was found with.
    pub as_found: Option<&'s Settings>,
    /// What its display calls settings, where a label map is for it.
    pub labels: Option<Rc<LabelMap>>,
    /// The facts of the site and the device.
    pub facts: Facts,
    /// What its layers say of its kind.
    pub book: Rc<Book>,
    /// What it was asked.
    pub counted: Rc<Counted>,
    /// Its faults, by setting in catalogue order, ties last.
    pub faults: Vec<UnmetClaim>,
    /// One cause that explains most of them.
    pub cause: Option<Cause>,
    /// Why the selected region does not stand for values that are not listed.
    pub region: RegionStands,
    /// To what it is certified, against what it stands under.
    pub certificate: Certificate,
    /// Settings that the selected region stands for although the device was read: it does not implement their registers.
    pub not_implemented: Vec<SettingId>,
    /// The departures approved for it.
    pub departures: Vec<Departure>,
}

impl DeviceResult<'_> {
    /// What it holds, as it is judged.
    pub(crate) fn held(&self) -> DeviceSettings<'_> {
        let region_stands = self.region == RegionStands::Yes;
        DeviceSettings { settings: &self.settings, evidence: self.evidence, region_stands, asked: &self.counted.requirement }
    }

    /// How many of the required values are known in each way, in the order of [`Evidence::ALL`]; a
    /// value that the selected region stands for is counted apart, and one that is known in no stated
    /// way is counted as a statement.
    #[must_use]
    pub fn known(&self) -> [usize; Evidence::ALL.len()] {
        let mut known = [0; Evidence::ALL.len()];
        for (setting, covered_by_region) in &self.counted.asked {
            let kind = match self.settings.get(*setting) {
                Some(value) => Some(value.evidence.or(self.evidence).unwrap_or(Evidence::Statement)),
                None if *covered_by_region && self.region == RegionStands::Yes => Some(Evidence::Region),
                None => None,
            };
            if let Some(kind) = kind {
                known[kind as usize] += 1;
            }
        }
        known
    }
}

/// Whether the region selected on a device stands for the values that are not listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegionStands {
    /// It does.
    Yes,
    /// No region is stated as selected.
    NotStated,
    /// Another region is selected.
    OtherRegion,
    /// The device is not stated to be certified to the standard.
    NotCertified,
}

/// What a site came to.
#[derive(Debug)]
pub struct Assessment<'s> {
    /// The verdict.
    pub verdict: Verdict,
    /// The rulebook that the site stands under, if one could be chosen.
    pub book: Option<Rc<Book>>,
    /// The site's facts.
    pub facts: Facts,
    /// Its devices.
    pub devices: Vec<DeviceResult<'s>>,
    /// Rules of practice that it breaks.
    pub broken: Vec<Broken>,
    /// What concerns the site as a whole.
    pub notes: Vec<Note>,
    /// What it states, and no requirement judged.
    pub not_judged: Vec<NotJudged>,
    /// Faults in profiles, with their own places.
    pub profile_findings: Vec<Finding>,
}

impl Assessment<'_> {
    /// How many values the selected region stands for although the device was read: it does not implement their registers.
    #[must_use]
    pub fn not_implemented(&self) -> usize {
        self.devices.iter().map(|device| device.not_implemented.len()).sum()
    }

    /// Whether it complies without so much as a remark.
    #[must_use]
    pub fn has_nothing_to_say(&self) -> bool {
        self.verdict == Verdict::Complies
            && self.notes.is_empty()
            && self.not_judged.is_empty()
            && self.broken.is_empty()
            && self.devices.iter().all(|device| device.faults.is_empty() && !device.counted.is_disputed)
    }

    /// What the site stands under, in words, and each device that stands under another standard.
    #[must_use]
    pub fn under(&self) -> String {
        let Some(site) = &self.book else { return String::new() };
        let other = |device: &&DeviceResult<'_>| device.book.rulebook.standard != site.rulebook.standard;
        let standard = |device: &DeviceResult<'_>| {
            let base = device.book.rulebook.layers.iter().find(|layer| layer.kind == LayerKind::Standard);
            base.map(|layer| format!("{} under {}", device.name, layer.title))
        };
        std::iter::once(under(&site.rulebook)).chain(self.devices.iter().filter(other).filter_map(standard)).collect::<Vec<_>>().join("; ")
    }

    /// What it came to, and the figures that it rests on.
    #[must_use]
    pub fn judgement(&self) -> Judgement {
        Judgement { verdict: self.verdict, figures: self.figures(), broken_by: self.broken_by() }
    }

    /// The one headline: what it came to, by which figures, and what keeps it from being plainly fine.
    #[must_use]
    pub fn headline(&self) -> String {
        let judgement = self.judgement();
        Reservations::of(self).add_to(judgement.headline(), judgement.verdict)
    }

    /// How its required figures are known, those that several devices share counted once.
    #[must_use]
    pub fn figures(&self) -> Figures {
        self.distinct().map(|counted| counted.figures).sum()
    }

    /// What is asked, but was not seen, and so was not checked.
    #[must_use]
    pub fn not_checked(&self) -> Vec<String> {
        let mut unseen: Vec<SettingId> = self.distinct().flat_map(|counted| &counted.not_checked).copied().collect();
        unseen.sort_unstable();
        unseen.dedup();
        unseen.iter().map(ToString::to_string).collect()
    }

    /// How many of the required values of its devices are known in each way, in the order of
    /// [`Evidence::ALL`]; what is added up for the installation is known by itself.
    #[must_use]
    pub fn known(&self) -> [usize; Evidence::ALL.len()] {
        let mut all = [0; Evidence::ALL.len()];
        for device in self.devices.iter().filter(|device| device.kind != Equipment::Installation) {
            all.iter_mut().zip(device.known()).for_each(|(all, own)| *all += own);
        }
        all
    }

    /// The same in words; see [`known_by_words`].
    #[must_use]
    pub fn known_by(&self) -> String {
        known_by_words(self.known(), self.not_implemented())
    }

    /// Each requirement that some device of it was asked, once.
    fn distinct(&self) -> impl Iterator<Item = &Counted> {
        let devices = &self.devices;
        let is_first = |n: &usize| devices[..*n].iter().all(|earlier| !Rc::ptr_eq(&earlier.counted, &devices[*n].counted));
        (0..devices.len()).filter(is_first).map(|n| &*devices[n].counted)
    }

    /// How the surest figure is known that it breaks; `None` where no figure decides, or it breaks nothing.
    fn broken_by(&self) -> Option<Standing> {
        if self.notes.iter().any(|note| note.outcome == Outcome::DoesNotComply) {
            return None;
        }
        let broken = self.broken.iter().filter(|broken| broken.outcome == Outcome::DoesNotComply);
        let broken = broken.map(|broken| broken.basis);
        let lines = self.devices.iter().flat_map(|device| {
            let fails = device.faults.iter().filter(|fault| fault.kind == UnmetKind::Fails);
            fails.map(|fault| of_line(fault.claim.why, &device.book.rulebook))
        });
        // what no profile states is no figure, and comes first
        lines.chain(broken).min().flatten()
    }

    /// The keys of the profiles that the site and its devices stand under, lowest layer first, each once:
    /// `overlays/quillbrook/3.0.0`.
    #[must_use]
    pub fn layers(&self) -> Vec<String> {
        let books = self.book.iter().chain(self.devices.iter().map(|device| &device.book));
        let mut keys: Vec<String> = Vec::new();
        for layer in books.flat_map(|book| &book.rulebook.layers) {
            let folder = match layer.kind {
                LayerKind::Standard | LayerKind::InstallationStandard => "standards",
                LayerKind::Overlay => "overlays",
                LayerKind::SiteApproval | LayerKind::Catalogue => continue,
            };
            let key = format!("{folder}/{}/{}", layer.key, layer.version);
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        keys
    }
}

/// The worst of all that was found.
pub(crate) fn verdict(devices: &[DeviceResult<'_>], notes: &[Note], broken: &[Broken]) -> Verdict {
    let of_fault = |fault: &UnmetClaim| match fault.kind {
        UnmetKind::Fails => Verdict::DoesNotComply,
        UnmetKind::NotProven(_) => Verdict::NotProven,
        UnmetKind::SameResponse => Verdict::Complies,
    };
    let of_outcome = |outcome: Outcome| match outcome {
        Outcome::Unusable => Verdict::CouldNotTell,
        Outcome::DoesNotComply => Verdict::DoesNotComply,
        Outcome::NotProven => Verdict::NotProven,
        Outcome::Remark => Verdict::Complies,
    };
    let faults = devices.iter().flat_map(|d| &d.faults).map(of_fault);
    let others = notes.iter().map(|note| note.outcome).chain(broken.iter().map(|broken| broken.outcome));
    faults.chain(others.map(of_outcome)).max().unwrap_or(Verdict::Complies)
}

/// How many values are known in each way, in the order of [`Evidence::ALL`], and for how many of them the region
/// stands in place of registers, in words: `12 taken from the display, 40 covered by the selected region`.
#[must_use]
pub fn known_by_words(known: [usize; Evidence::ALL.len()], not_implemented: usize) -> String {
    let each = Evidence::ALL.into_iter().zip(known).filter(|(_, count)| *count > 0);
    let each = each.map(|(kind, count)| match (kind, not_implemented) {
        (Evidence::Region, unread @ 1..) => {
            format!("{count} {}, {unread} of them in place of registers that the device does not implement", kind.phrase())
        }
        _ => format!("{count} {}", kind.phrase()),
    });
    each.collect::<Vec<_>>().join(", ")
}

/// What sites come to of whose devices this is asked: by a figure that a licensed copy contradicts nothing is
/// proven.
pub(crate) fn verdict_by_disputes(devices: &[DeviceResult<'_>]) -> Verdict {
    let is_disputed = devices.iter().any(|device| device.counted.figures.disputed > 0);
    if is_disputed { Verdict::NotProven } else { Verdict::Complies }
}
