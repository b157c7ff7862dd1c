//! What a site states and no requirement judged.

use settings_model::catalogue::{Equipment, SettingId};

/// Something that no requirement judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotJudged {
    /// The device, as the site's file names it, or the installation.
    pub device: String,
    /// What it is.
    pub kind: Equipment,
    /// Why.
    pub why: WhyNotJudged,
}

/// Why something was not judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhyNotJudged {
    /// No layer of the site asks anything of such a device: nothing of it was judged.
    NothingIsAsked,
    /// No layer asks for these settings, and no rule looks at them.
    NobodyAsksFor(Vec<SettingId>),
    /// These settings are asked for, and what is asked was not seen by those who wrote the profiles.
    NotSeen(Vec<SettingId>),
    /// These states are asked for, what is asked was not seen, and the functions do not act: they may have to.
    MayHaveToAct(Vec<SettingId>),
    /// So many things that a reading found acting, and that no setting says; each is told by a note of its own.
    ActsBeside(usize),
    /// These cables: no rise is counted along them.
    Cables(Vec<String>),
}

impl NotJudged {
    /// What was not judged, as paths: `relay-1`, `inverter-1/volt-watt/points`.
    pub fn paths(&self) -> impl Iterator<Item = String> {
        let paths: Vec<String> = match &self.why {
            WhyNotJudged::NothingIsAsked => vec![self.device.clone()],
            WhyNotJudged::NobodyAsksFor(settings) | WhyNotJudged::NotSeen(settings) | WhyNotJudged::MayHaveToAct(settings) => {
                settings.iter().map(|setting| format!("{}/{setting}", self.device)).collect()
            }
            WhyNotJudged::ActsBeside(count) => (0..*count).map(|n| format!("{}/captured/acts-beside/{n}", self.device)).collect(),
            WhyNotJudged::Cables(names) => names.iter().map(|name| format!("cables/{name}")).collect(),
        };
        paths.into_iter()
    }
}
