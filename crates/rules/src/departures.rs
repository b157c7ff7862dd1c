//! Site-specific approvals: departures that hold today, and why others do not.

use crate::assess::Note;
use jiff::civil::Date;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{LayerKind, WhyId};
use settings_model::entry::Verbs;
use settings_model::files::{SiteApproval, SiteFile};
use settings_model::finding::Outcome;
use settings_model::requirement::Rulebook;
use settings_model::schema::setting_of_path;

/// A departure that is approved, and holds, for one device or for all of a site.
#[derive(Clone, Debug)]
pub struct Departure {
    /// The one device meant; `None` for all.
    pub device: Option<String>,
    /// The setting.
    pub setting: SettingId,
    /// What is asked instead.
    pub verbs: Verbs,
    /// The approval's reference.
    pub reference: String,
    /// The role that approved it.
    pub role: String,
    /// The last day on which it holds.
    pub until: Option<Date>,
    /// Its position in the site's file.
    pub position: usize,
}

impl Departure {
    /// Whether it is meant for a device of this kind.
    #[must_use]
    pub fn applies_to(&self, device: &str, kind: Equipment) -> bool {
        self.setting.function().held_by.contains(&kind) && self.device.as_deref().is_none_or(|own| own == device)
    }
}

/// The departures of a site that hold on a day; notes on those that do not, or need a look.
pub fn departures(site: &SiteFile<'_>, rulebook: &Rulebook, today: Date, notes: &mut Vec<Note>) -> Vec<Departure> {
    let approvals = site.site_specific_approvals.iter().enumerate();
    approvals.filter_map(|(position, approval)| departure(position, approval, rulebook, today, notes)).collect()
}

fn departure(position: usize, of: &SiteApproval<'_>, rulebook: &Rulebook, today: Date, notes: &mut Vec<Note>) -> Option<Departure> {
    let setting = setting_of_path(&of.setting)?;
    let approval = &of.approval;
    let reference = approval.reference.to_string();
    let mut note = |key: [&str; 2], name: &'static str, headline: String, hint: &str| {
        let path = ["site-specific-approvals", &position.to_string(), key[0], key[1]].map(str::to_owned).to_vec();
        notes.push(Note { outcome: Outcome::Remark, name, path, headline, hint: Some(hint.to_owned()), lines: None });
    };
    if approval.granted.0 > today {
        let headline = format!("site-specific approval {reference} is granted only from {}; it is left out", approval.granted.0);
        note(["approval", "granted"], "approval-not-yet-granted", headline, "ask again from that day, or with --as-of");
        return None;
    }
    if let Some(until) = approval.until.filter(|until| until.0 < today) {
        let headline = format!("site-specific approval {reference} ended on {}; it is left out", until.0);
        note(["approval", "until"], "approval-expired", headline, "renew it with the network operator, or set what is required without it");
        return None;
    }
    if let Some(against) = &of.against {
        let version = against.version.to_string();
        let layer = rulebook.layers.iter().find(|l| l.kind == LayerKind::Overlay && l.key == *against.network);
        if layer.is_none_or(|layer| layer.version != version) {
            let now = layer.map_or_else(|| "no version of that network".to_owned(), |l| l.version.clone());
            let headline = format!("site-specific approval {reference} was granted against {version}; {now} governs now");
            note(["against", "version"], "approval-against-other-version", headline, "ask the network operator whether it still stands");
        }
    }
    let require = of.require.as_ref().and_then(|written| Some((written.value(setting).ok()?, WhyId::SITE_APPROVAL)));
    let comply = of.comply.as_ref().and_then(|written| written.claims(setting, WhyId::SITE_APPROVAL).ok());
    let verbs = Verbs { require, comply, why: Some(WhyId::SITE_APPROVAL), ..Verbs::default() };
    let device = (SettingId::named(&of.setting).is_none()).then(|| of.setting.split('/').next().unwrap_or_default().to_owned());
    let role = approval.role.to_string();
    Some(Departure { device, setting, verbs, reference, role, until: approval.until.map(|day| day.0), position })
}
