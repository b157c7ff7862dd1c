//! What is wrong at a site, as marking needs it: by device and setting, without words.

use crate::assess::{Assessment, OUT_OF_ORDER};
use crate::judge::{MissingEvidence, UnmetKind};
use crate::provenance::Verdict;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::finding::Outcome;
use std::collections::BTreeSet;
use std::fmt;

/// Something that is set on a device.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// The device's name in the site's file.
    pub device: String,
    /// What is set there.
    pub what: What,
}

/// What is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// The region.
    Region,
    /// A setting of the catalogue.
    Setting(SettingId),
}

/// The word for the region in keys and diagnoses: the one that site files use.
pub const REGION: &str = "region-selected";

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Region => f.write_str(REGION),
            Self::Setting(setting) => setting.fmt(f),
        }
    }
}

impl What {
    /// What a word names.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        if word == REGION { Some(Self::Region) } else { SettingId::named(word).map(Self::Setting) }
    }
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.device, self.what)
    }
}

/// One thing that is wrong: any of these may be what is set wrong.
pub type Trouble = BTreeSet<Spot>;

/// What is wrong at a site.
#[derive(Clone, Debug)]
pub struct Troubles {
    /// What the site came to.
    pub verdict: Verdict,
    /// What does not comply.
    pub wrong: Vec<Trouble>,
    /// What is not proven: not stated, or not known as is asked.
    pub unproven: BTreeSet<Spot>,
}

/// Rules about the export of the whole site: what breaks them may be set on any device.
const OF_THE_SITE: [&str; 1] = ["limit-held-twice"];
const SHARED: [SettingId; 2] = [SettingId::of("export-limit", "site-total"), SettingId::of("export-sensor", "master")];

impl Troubles {
    /// Those of an assessment.
    #[must_use]
    pub fn of(assessment: &Assessment<'_>) -> Self {
        let (mut wrong, mut unproven) = (Vec::new(), BTreeSet::new());
        let mut add = |trouble: Trouble| {
            if !wrong.contains(&trouble) {
                wrong.push(trouble);
            }
        };
        for device in &assessment.devices {
            let spot = |setting| Spot { device: device.name.to_owned(), what: What::Setting(setting) };
            for fault in &device.faults {
                let is_tie = device.book.rulebook.is_tie(fault.claim.why);
                match fault.kind {
                    UnmetKind::Fails if is_tie => add(fault.claim.on.vars().map(|var| spot(var.setting)).collect()),
                    UnmetKind::Fails => add(Trouble::from([spot(fault.setting)])),
                    // an exercise has no photos to take
                    UnmetKind::NotProven(MissingEvidence::Evidence) => {}
                    UnmetKind::NotProven(_) => _ = unproven.insert(spot(fault.setting)),
                    UnmetKind::SameResponse => {}
                }
            }
        }
        for broken in assessment.broken.iter().filter(|broken| broken.outcome == Outcome::DoesNotComply) {
            let of = |device: usize| assessment.devices[device].name.to_owned();
            let own = [broken.setting].into_iter().chain(broken.with.iter().copied());
            let mut trouble: Trouble = own.map(|setting| Spot { device: of(broken.device), what: What::Setting(setting) }).collect();
            if OF_THE_SITE.contains(&broken.rule) {
                let inverters = assessment.devices.iter().filter(|device| device.kind == Equipment::Inverter);
                let shared = inverters.flat_map(|device| SHARED.map(|setting| (device.name.to_owned(), setting)));
                trouble.extend(shared.map(|(device, setting)| Spot { device, what: What::Setting(setting) }));
            }
            add(trouble);
        }
        for note in assessment.notes.iter().filter(|note| note.name == "wrong-region") {
            let device = note.path.get(1).cloned().unwrap_or_default();
            add(Trouble::from([Spot { device, what: What::Region }]));
        }
        for note in assessment.notes.iter().filter(|note| note.name == OUT_OF_ORDER) {
            let [_, device, "as-left", _, function, key] = note.path.iter().map(String::as_str).collect::<Vec<_>>()[..] else { continue };
            let what = SettingId::find(function, key).map(What::Setting);
            what.into_iter().for_each(|what| add(Trouble::from([Spot { device: device.to_owned(), what }])));
        }
        Self { verdict: assessment.verdict, wrong, unproven }
    }

    /// Everything that may be set wrong.
    #[must_use]
    pub fn suspects(&self) -> BTreeSet<Spot> {
        self.wrong.iter().flatten().cloned().collect()
    }
}
