//! What `diff --format json` prints; text and Markdown are written from the same.

use rules::compare::step::Step;
use rules::compare::words::ChangeInWords;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::catalogue::Equipment;

/// What `diff --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DiffReport {
    /// That a site was made for a lesson; absent for any other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub training: Option<&'static str>,
    /// The first of the two.
    pub old: String,
    /// The second.
    pub new: String,
    /// Whether nothing differs.
    pub same: bool,
    /// Where requirements were compared: from when the second governs, and what changed.
    pub requirements: Option<RequirementsReport>,
    /// Where settings were compared: each pair of devices.
    pub settings: Option<Vec<DevicesReport>>,
}

/// What changed from one version of requirements to another.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RequirementsReport {
    /// When the second was published.
    pub published: Option<String>,
    /// Which sites the second governs: any of these lines.
    pub governs: Vec<String>,
    /// Which sites the first governs, where these are others.
    pub governed: Vec<String>,
    /// Sites that the second governs and the first does not: any of these lines.
    pub newly_governed: Vec<String>,
    /// Sites that the first governs and the second does not, and that stay under the first: any of these lines.
    pub no_longer_governed: Vec<String>,
    /// Which older versions are still accepted, and where.
    pub older_accepted: Option<String>,
    /// The same of the first, where it differs.
    pub older_accepted_before: Option<String>,
    /// The regions that were compared.
    pub regions: Vec<String>,
    /// Regions that only one of the two has.
    pub regions_of_one_only: Vec<String>,
    /// The changes, those that may strand a site first.
    pub changes: Vec<ChangeReport>,
    /// Settings of which only document, clause or reason changed.
    pub only_source: Vec<String>,
}

/// One change of what is asked.
#[derive(Clone, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ChangeReport {
    /// The setting.
    pub setting: String,
    /// Its name for people; of a relay, with that said.
    pub title: String,
    /// Of what kind of equipment: `inverter`, `grid-protection-relay` or `installation`.
    pub equipment: &'static str,
    /// `moved`, `narrower`, `wider`, `added`, `removed`, `value to set moved`, `evidence`, `adjustable range`, `not seen`, `not covered by the older profile`, `not covered by the newer profile` or `not proven`.
    pub what: &'static str,
    /// The version step that it deserves: `breaking`, `minor`, `patch` or `not-proven`.
    pub step: &'static str,
    /// Why it deserves that step.
    pub reason: String,
    /// Whether something that complied may comply no longer.
    pub may_strand: bool,
    /// Whether no site was shown to comply before, so that whoever it concerns has something to do all the same.
    pub nobody_complied: bool,
    /// What was asked: of several regions that now ask the same, one for each that asked otherwise.
    pub was: Vec<WasReport>,
    /// What is asked now.
    pub now: String,
    /// What an installer does about it.
    pub to_do: String,
    /// Rules that tie the value to others: each value may comply alone, and break the rule together.
    pub keep: Vec<String>,
    /// For which sites.
    pub sites: String,
    /// In which regions; empty for all that were compared.
    pub regions: Vec<String>,
    /// Who says so, with document and clause.
    pub by: Option<String>,
    /// The reason given.
    pub because: Option<String>,
}

/// What was asked.
#[derive(Clone, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct WasReport {
    /// In which regions; empty for all those of the change.
    pub regions: Vec<String>,
    /// What was asked.
    pub asked: String,
    /// How far the value to set has moved since; of a curve, where its response lies farthest off.
    pub by_how_much: Option<String>,
}

impl WasReport {
    /// What was asked, and of several regions where, and how far that is from what is asked now.
    pub fn in_words(&self) -> String {
        if self.regions.is_empty() {
            return self.asked.clone();
        }
        let moved = self.by_how_much.as_ref().map(|by| format!("; since then {by}")).unwrap_or_default();
        format!("{} in {}{moved}", self.asked, self.regions.join(", "))
    }
}

impl ChangeReport {
    /// A change that was told, of one kind of equipment, in the regions that are named.
    pub fn new(told: ChangeInWords, kind: Equipment, regions: Vec<String>) -> Self {
        Self {
            setting: told.setting.to_string(),
            title: match kind {
                Equipment::GridProtectionRelay => format!("{} (grid protection relay)", told.setting.title()),
                Equipment::Inverter | Equipment::Installation => told.setting.title(),
            },
            equipment: kind.word(),
            what: told.what,
            step: told.reason.step_word(),
            reason: told.reason.phrase(),
            may_strand: told.reason.is_open() || told.reason.step() == Step::Breaking,
            nobody_complied: told.reason.nobody_complied(),
            was: vec![WasReport { regions: regions.clone(), asked: told.was, by_how_much: told.by_how_much }],
            now: told.now,
            to_do: told.to_do,
            keep: told.keep,
            sites: told.sites,
            regions,
            by: told.by,
            because: told.because,
        }
    }

    /// Names regions only where it is not all of those that were compared.
    pub fn settle(&mut self, compared: usize) {
        if let [was] = &mut self.was[..] {
            was.regions.clear();
        }
        if self.regions.len() == compared {
            self.regions.clear();
        }
    }

    /// `every site, in Australia B`.
    pub fn sites_and_regions(&self) -> String {
        if self.regions.is_empty() { self.sites.clone() } else { format!("{}, in {}", self.sites, self.regions.join(", ")) }
    }

    /// Takes in what another region asked, where that is all that tells them apart.
    pub fn take_in(&mut self, other: &Self) -> bool {
        let alike = Self { was: other.was.clone(), regions: other.regions.clone(), ..self.clone() } == *other;
        if alike {
            let asked = |was: &WasReport, theirs: &WasReport| (&was.asked, &was.by_how_much) == (&theirs.asked, &theirs.by_how_much);
            for theirs in &other.was {
                match self.was.iter_mut().find(|was| asked(was, theirs)) {
                    Some(was) => was.regions.extend(other.regions.iter().cloned()),
                    None => self.was.push(WasReport { regions: other.regions.clone(), ..theirs.clone() }),
                }
            }
            self.regions.extend(other.regions.iter().cloned());
        }
        alike
    }
}

/// Two devices, or one at two moments.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DevicesReport {
    /// The first, with its site.
    pub old: String,
    /// The second, with its site.
    pub new: String,
    /// The region selected on each, where it is not the same.
    pub region_selected: Option<RegionsReport>,
    /// How many settings either states.
    pub stated: usize,
    /// Those that differ, in catalogue order.
    pub differences: Vec<DifferenceReport>,
    /// Whether what is required was known, so that `standing` could be said.
    pub judged: bool,
}

/// The regions that two devices, or one at two moments, had selected.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RegionsReport {
    /// On the first; absent where it is not stated.
    pub old: Option<String>,
    /// On the second; absent where it is not stated.
    pub new: Option<String>,
}

impl RegionsReport {
    /// `australia-c, now australia-a`.
    pub fn in_words(&self) -> String {
        let [old, new] = [&self.old, &self.new].map(|region| region.as_deref().unwrap_or("not stated"));
        format!("{old}, now {new}")
    }
}

impl DevicesReport {
    /// Whether nothing differs.
    pub fn is_same(&self) -> bool {
        self.differences.is_empty() && self.region_selected.is_none()
    }
}

/// One setting that is not held alike.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DifferenceReport {
    /// The setting.
    pub setting: String,
    /// Its name for people.
    pub title: String,
    /// What the first holds; absent where it is not stated.
    pub old: Option<String>,
    /// What the second holds; absent where it is not stated.
    pub new: Option<String>,
    /// In what they differ, in words.
    pub difference: String,
    /// Whether the response is equal and only the entries differ.
    pub response_equal: bool,
    /// How the first is known.
    pub old_known_by: Option<&'static str>,
    /// How the second is known.
    pub new_known_by: Option<&'static str>,
    /// How each stands to what is required of the site today: `corrected`, `no longer complies`, `still does not comply`, `complies` or `not proven`; absent where nothing is asked.
    pub standing: Option<&'static str>,
}
