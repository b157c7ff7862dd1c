//! A rulebook: all that the layers of a site state, and what that comes to for a site's facts.

use super::{Requirement, Resolved, resolved};
use crate::catalogue::{COUNT, SettingId};
use crate::cells::{CellKey, Condition, Partition, all_hold};
use crate::claim::{Citation, Claim, LayerId, LayerKind, Limit, Provenance, ProvenanceId, Provenances, Term};
use crate::entry::{Entry, Stated, Verbs, lay, lay_said};
use crate::exact::Exact;
use crate::facts::{FactId, Facts};
use crate::files::{Edition, PercentOf, Percentage};
use crate::layer::Head;
use crate::source::Place;
use crate::ties::TIES;
use std::sync::Arc;

/// All layers that a site stands under, lowest first, for one region.
#[derive(Clone, Debug)]
pub struct Rulebook {
    /// The layers; the first is the standard, the last the catalogue.
    pub layers: Vec<Head>,
    /// Every line that made a claim.
    pub whys: Provenances,
    /// Nominal voltage of the standard, line to neutral.
    pub nominal: Option<Exact>,
    /// Nominal frequency of the networks that the standard is for, in hertz.
    pub nominal_frequency: Option<Exact>,
    /// Of what the standard's percentages are taken.
    pub percent_of: Option<PercentOf>,
    /// The lines that say so.
    pub percent_lines: Vec<(Percentage, ProvenanceId)>,
    /// How far a response may lie off in a test, per cent of the rating, and where that is from.
    pub response_tolerance: Option<(Exact, Arc<Citation>)>,
    /// The region's key, as devices have it selected.
    pub region: String,
    /// The region's name in print.
    pub region_title: String,
    /// What every reader of the region's numbers should know.
    pub region_notes: Vec<String>,
    /// The base standard's key, and the editions whose certified devices bring its values.
    pub standard: (String, Vec<Edition>),
    /// What each layer states of each setting, lowest layer first.
    stated: Vec<Vec<(LayerId, Stated)>>,
    says_anything: bool,
    ties: Vec<Claim>,
    partition: Partition,
}

impl Rulebook {
    /// A rulebook of layers, lowest first, with the line arena their claims point into.
    #[must_use]
    pub fn new(mut layers: Vec<Head>, stated: Vec<(LayerId, Stated)>, mut whys: Provenances, standard: (String, Vec<Edition>)) -> Self {
        let catalogue = LayerId(layers.len() as u8);
        layers.push(Head {
            kind: LayerKind::Catalogue,
            title: "rules that tie settings".to_owned(),
            key: "catalogue".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            notes: Vec::new(),
        });
        let ties = TIES.iter().flat_map(|tie| {
            let because: Option<Arc<str>> = Some(Arc::from(tie.sentence));
            tie.claims(whys.add(Provenance { layer: catalogue, place: Place::NOWHERE, citation: None, because, read: None }))
        });
        let ties = ties.collect();
        let says_anything = !stated.is_empty();
        let mut by_setting: Vec<Vec<(LayerId, Stated)>> = vec![Vec::new(); COUNT];
        for (layer, said) in stated {
            by_setting[said.setting.index()].push((layer, said));
        }
        let partition = Partition::of(by_setting.iter().flatten().flat_map(|(_, said)| conditions(said)));
        let (region, region_title) = (String::new(), String::new());
        let (nominal, nominal_frequency, percent_of) = (None, None, None);
        let stated = by_setting;
        Self {
            layers,
            whys,
            nominal,
            nominal_frequency,
            percent_of,
            percent_lines: Vec::new(),
            region,
            region_title,
            region_notes: Vec::new(),
            response_tolerance: None,
            standard,
            stated,
            says_anything,
            ties,
            partition,
        }
    }

    /// The base standard and edition, as files name it: `as-nzs-4777.2/2020-amd2`.
    #[must_use]
    pub fn base_key(&self) -> String {
        let base = self.layers.iter().find(|layer| layer.kind.is_base());
        base.map_or_else(String::new, |layer| format!("{}/{}", layer.key, layer.version))
    }

    /// The version of a network that is one of the layers.
    #[must_use]
    pub fn version_of(&self, network: &str) -> Option<semver::Version> {
        let layer = self.layers.iter().find(|layer| layer.kind.is_of_a_network() && layer.key == network)?;
        semver::Version::parse(&layer.version).ok()
    }

    /// Whether a word names its region: by the key, or as it is printed, in letters of any case.
    #[must_use]
    pub fn is_region(&self, named: &str) -> bool {
        if named == self.region {
            return true;
        }
        let plain = |text: &str| text.trim().to_lowercase().replace([' ', '_'], "-");
        let named = plain(named);
        named == plain(&self.region) || named == plain(&self.region_title)
    }

    /// Whether any layer speaks of this kind of equipment at all.
    #[must_use]
    pub fn says_anything(&self) -> bool {
        self.says_anything
    }

    /// Whether any layer speaks, for some sites at least, of the function of a setting.
    #[must_use]
    pub fn speaks_of_function(&self, setting: SettingId) -> bool {
        SettingId::all().filter(|id| id.same_function(setting)).any(|id| !self.stated[id.index()].is_empty())
    }

    /// The line behind a claim, and its layer; `None` for a site-specific approval.
    #[must_use]
    pub fn why(&self, id: ProvenanceId) -> Option<(&Provenance, &Head)> {
        let why = self.whys.get(id)?;
        Some((why, &self.layers[usize::from(why.layer.0)]))
    }

    /// Whether a line is one of the catalogue's own ties.
    #[must_use]
    pub fn is_tie(&self, id: ProvenanceId) -> bool {
        self.ties.iter().any(|tie| tie.why == id)
    }

    /// The cell that a site lies in; `None` while a fact that some condition asks for is unknown.
    #[must_use]
    pub fn cell(&self, facts: &Facts) -> Option<CellKey> {
        self.partition.cell(facts)
    }

    /// The cell that a site lies in, or the group of cells that it may lie in.
    #[must_use]
    pub fn cell_key(&self, facts: &Facts) -> CellKey {
        self.partition.key(facts)
    }

    /// What each layer states of a setting, lowest first.
    #[must_use]
    pub fn stated(&self, setting: SettingId) -> &[(LayerId, Stated)] {
        &self.stated[setting.index()]
    }

    /// The requirement for a site whose every fact that matters is known.
    ///
    /// A condition on an unknown fact is taken as not holding; callers try every compatible cell
    /// first (see [`Self::alternatives`]).
    #[must_use]
    pub fn resolve(&self, facts: &Facts) -> Requirement {
        let entries: Vec<Resolved> = SettingId::all().filter_map(|setting| self.entry(setting, facts)).collect();
        let is_meant_otherwise = |tie: &&Claim| is_meant_otherwise(tie, &entries) || self.says_what_no_export_means(tie, facts);
        let ties = self.ties.iter().filter(|tie| !is_meant_otherwise(tie)).cloned().collect();
        Requirement::new(entries, ties)
    }

    /// Of a tie to the approved export: whether the site exports nothing, and a layer says for such sites what
    /// that means for the setting.
    fn says_what_no_export_means(&self, tie: &Claim, facts: &Facts) -> bool {
        let is_approval = tie.bound().is_some_and(|bound| bound.value.of == Some(FactId::ApprovedExport));
        is_approval && self.defines_no_export(tie.on.subject().setting, facts)
    }

    /// Whether the site exports nothing, and a layer says for such sites what is asked of a setting then.
    #[must_use]
    pub fn defines_no_export(&self, setting: SettingId, facts: &Facts) -> bool {
        let of_kind = |conditions: &[Condition]| conditions.iter().any(|condition| condition.fact == FactId::ExportKind);
        facts.is_without_export() && self.cases_met(setting, facts).into_iter().flatten().any(|(_, conditions)| of_kind(conditions))
    }

    /// As [`Self::resolve`], with departures approved for this site laid on top.
    #[must_use]
    pub fn resolve_with(&self, facts: &Facts, departures: &[(SettingId, Verbs)]) -> Requirement {
        let mut requirement = self.resolve(facts);
        if departures.is_empty() {
            return requirement;
        }
        for (setting, verbs) in departures {
            match requirement.entries.binary_search_by_key(setting, |r| r.entry.setting) {
                Ok(at) => {
                    let below = requirement.entries[at].entry.clone();
                    requirement.entries[at] = resolved(lay(below, verbs), requirement.entries[at].base.clone());
                }
                Err(at) => {
                    let base = Entry::unstated(*setting);
                    requirement.entries.insert(at, resolved(lay(base.clone(), verbs), base));
                }
            }
        }
        let limits = departures.iter().filter_map(|(setting, _)| Some((setting.state()?, requirement.get(*setting)?.clone())));
        for (state, limit) in limits.collect::<Vec<_>>() {
            let is_switched = state.limits_switched().any(|one| one == limit.entry.setting);
            if let (true, Err(at)) = (is_switched, requirement.entries.binary_search_by_key(&state, |r| r.entry.setting)) {
                requirement.entries.insert(at, switched_on(state, &limit));
            }
        }
        Requirement::new(requirement.entries, requirement.ties)
    }

    /// The settings whose entry depends on facts that the site does not state, with those facts.
    #[must_use]
    pub fn hanging(&self, facts: &Facts) -> Vec<(SettingId, Vec<FactId>)> {
        let hanging = |setting: SettingId| {
            let unknown = |c: &&Condition| facts.get(c.fact).is_none();
            let undecided = |said: &&Stated| said.cases.iter().any(|case| all_hold(&case.when, facts).is_none());
            let conditions = self.bearing_on(setting).filter(undecided).flat_map(conditions);
            let mut facts: Vec<FactId> = conditions.filter(unknown).map(|c| c.fact).collect();
            facts.sort_unstable();
            facts.dedup();
            (!facts.is_empty()).then_some((setting, facts))
        };
        SettingId::all().filter_map(hanging).collect()
    }

    /// Facts of one site for each cell that these facts leave open.
    pub fn examples_of_cells<'p>(&'p self, facts: &'p Facts) -> impl Iterator<Item = Facts> + 'p {
        self.partition.cells(facts)
    }

    /// How many kinds of site all its conditions together tell apart; saturates.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.partition.len()
    }

    /// The layer nearest to the site that a file states.
    #[must_use]
    pub fn topmost_file(&self) -> Option<LayerId> {
        let top = self.layers.iter().rposition(|layer| layer.kind != LayerKind::Catalogue)?;
        Some(LayerId(top as u8))
    }

    /// Which case of each layer speaks of each setting at such a site: sites of which these are the
    /// same are asked the same.
    #[must_use]
    pub fn all_cases_met(&self, facts: &Facts) -> Vec<u16> {
        let met = |setting| self.cases_met(setting, facts).into_iter().map(|met| met.map_or(u16::MAX, |(case, _)| case as u16));
        SettingId::all().flat_map(met).collect()
    }

    /// What holds for one setting below a layer.
    #[must_use]
    pub fn entry_below(&self, setting: SettingId, facts: &Facts, layer: LayerId) -> Entry {
        let below = self.stated[setting.index()].iter().take_while(|(own, _)| *own < layer);
        below.fold(Entry::unstated(setting), |entry, (_, said)| lay_said(entry, said.of(facts)))
    }

    /// What layers state that bears on a setting: of itself, and of the limits that it switches.
    fn bearing_on(&self, setting: SettingId) -> impl Iterator<Item = &Stated> {
        std::iter::once(setting).chain(setting.limits_switched()).flat_map(|setting| &self.stated[setting.index()]).map(|(_, said)| said)
    }

    /// Every condition that what is asked of a setting depends on.
    pub fn conditions_on(&self, setting: SettingId) -> impl Iterator<Item = &Condition> {
        self.bearing_on(setting).flat_map(conditions)
    }

    /// The cases that speak of a setting at such a site: for each layer, lowest first, the position
    /// of its case and the conditions that hold; `None` where the layer speaks for the other sites.
    #[must_use]
    pub fn cases_met(&self, setting: SettingId, facts: &Facts) -> Vec<Option<(usize, &[Condition])>> {
        let met = |said: &Stated| said.cases.iter().position(|case| all_hold(&case.when, facts) == Some(true));
        self.stated[setting.index()].iter().map(|(_, said)| met(said).map(|n| (n, &said.cases[n].when[..]))).collect()
    }

    /// The different entries that a setting may have, whatever the unknown facts turn out to be.
    #[must_use]
    pub fn alternatives(&self, setting: SettingId, facts: &Facts) -> Vec<Resolved> {
        let mut different: Vec<Resolved> = Vec::new();
        let partition = Partition::of(self.conditions_on(setting));
        for example in partition.cells(facts) {
            let entry = self.entry(setting, &example).unwrap_or_else(|| {
                let unstated = Entry::unstated(setting);
                resolved(unstated.clone(), unstated)
            });
            if !different.iter().any(|other| other.entry == entry.entry) {
                different.push(entry);
            }
        }
        different
    }

    /// What holds for one setting at a site whose every fact that matters is known; `None` where no
    /// layer speaks of it.
    #[must_use]
    pub fn entry(&self, setting: SettingId, facts: &Facts) -> Option<Resolved> {
        let laid = self.laid(setting, facts);
        if laid.as_ref().is_some_and(|laid| !laid.entry.demands_nothing()) {
            return laid;
        }
        let limits = setting.limits_switched().filter_map(|limit| self.laid(limit, facts));
        let mut switched = limits.map(|limit| switched_on(setting, &limit));
        switched.find(|state| !state.entry.demands_nothing()).or(laid)
    }

    /// What the layers state of a setting, one over the other.
    fn laid(&self, setting: SettingId, facts: &Facts) -> Option<Resolved> {
        let unstated = Entry::unstated(setting);
        let layers = &self.stated[setting.index()];
        let apply = |entry: Entry, said: &Stated| lay_said(entry, said.of(facts));
        let standard = |layer: &LayerId| self.layers[usize::from(layer.0)].kind == LayerKind::Standard;
        let base = layers.iter().filter(|(layer, _)| standard(layer)).fold(unstated, |entry, (_, said)| apply(entry, said));
        let entry = layers.iter().filter(|(layer, _)| !standard(layer)).fold(base.clone(), |entry, (_, said)| apply(entry, said));
        (!entry.trace.is_empty()).then(|| {
            // a region brings no value of what is left to the network operator
            let brings_none = entry.is_left_open() && !self.keeps_idle(setting, facts);
            let found = resolved(entry, base);
            Resolved { covered_by_region: found.covered_by_region && !brings_none, ..found }
        })
    }

    /// Whether the function of a setting may not be enabled, so that its other settings claim nothing.
    #[must_use]
    pub fn keeps_idle(&self, setting: SettingId, facts: &Facts) -> bool {
        let state = setting.state().filter(|state| *state != setting).and_then(|state| self.laid(state, facts));
        state.is_some_and(|resolved| resolved.entry.keeps_off())
    }
}

/// The state of a limit on power of which no layer says whether it acts.
fn switched_on(state: SettingId, limit: &Resolved) -> Resolved {
    resolved(Entry::enabled_for(state, &limit.entry), Entry::enabled_for(state, &limit.base))
}

/// Whether the standard's own values break a tie: then they are meant so, as where a second, narrow window
/// trips at the frequency at which the response begins.
fn is_meant_otherwise(tie: &Claim, entries: &[Resolved]) -> bool {
    let (Term::Gap(one, other), Limit::AtMost(bound)) = (tie.on, &tie.limit) else { return false };
    let own = |var: crate::claim::Var| {
        let at = entries.binary_search_by_key(&var.setting, |resolved| resolved.entry.setting).ok()?;
        entries[at].base.require.as_ref()?.part(var.part)
    };
    let (Some(one), Some(other)) = (own(one), own(other)) else { return false };
    let gap = one.number - other.number;
    let is_kept = gap < bound.value.number || (!bound.open && gap == bound.value.number);
    one.of == other.of && bound.value.of.is_none() && !is_kept
}

fn conditions(said: &Stated) -> impl Iterator<Item = &Condition> {
    said.cases.iter().flat_map(|case| &case.when)
}
