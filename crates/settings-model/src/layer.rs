//! From a profile file to a layer: typed statements, each with the line it stands on.

use crate::attested::{Read, Reads, Says, Verb, together};
use crate::catalogue::{Equipment, SettingId, Shape};
use crate::cells::{Condition, Partition};
use crate::claim::{Citation, Claim, LayerId, LayerKind, Limit, Line, Provenance, ProvenanceId, Provenances, Term};
use crate::entry::{Case, Stated, Verbs};
use crate::exact::Exact;
use crate::facts::FactId;
use crate::files::{Blocks, Conditions, OverlayFile, PercentOfSaid, Percentage, StandardFile, Statement, Statements};
use crate::finding::Finding;
use crate::located::At;
use crate::notation::{self, ValueFault, Written};
use crate::quantity::Amount;
use crate::slip::Slip;
use crate::source::Place;
use crate::value::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a reader should know of a layer.
#[derive(Clone, Debug)]
pub struct Head {
    /// What kind of layer.
    pub kind: LayerKind,
    /// Its name in print: `AS/NZS 4777.2:2020, Australia A`; `Quillbrook, Issue 2`.
    pub title: String,
    /// Key of the standard or network.
    pub key: String,
    /// Version or edition in print: `2.0.0`, `2020`.
    pub version: String,
    /// What every reader of its numbers should know.
    pub notes: Vec<String>,
}

/// A layer's citations by the key that its file gives them.
type Citations = BTreeMap<String, Arc<Citation>>;

/// Reads statements into typed form, collecting every fault.
pub struct LayerReader<'w> {
    layer: LayerId,
    citations: Citations,
    reads: Reads,
    whys: &'w mut Provenances,
    /// What could not be read.
    pub findings: Vec<Finding>,
}

/// More kinds of site than the conditions of one setting, or of one version's windows, can be meant to tell apart.
const MOST_KINDS: usize = 10_000;

impl<'w> LayerReader<'w> {
    /// A reader for one layer, with the sources its file lists.
    #[must_use]
    pub fn new(layer: LayerId, sources: &[(String, crate::files::CitationText)], whys: &'w mut Provenances) -> Self {
        let citation = |(key, text): &(String, crate::files::CitationText)| (key.clone(), Arc::new(Citation::from(text)));
        Self { layer, citations: sources.iter().map(citation).collect(), reads: Reads::new(), whys, findings: Vec::new() }
    }

    /// The same, knowing what offices read of its values.
    #[must_use]
    pub fn with_reads(self, reads: Reads) -> Self {
        Self { reads, ..self }
    }

    /// The statements of a standard on one kind of equipment, for one region: those of every region,
    /// then those of the parts it is made of, then its own.
    pub fn standard(&mut self, file: &StandardFile, kind: Equipment, region: Option<&str>) -> Vec<Stated> {
        let mut stated = self.statements(file.on(kind));
        if let Some(region) = region.and_then(|name| file.regions.get(name)) {
            for part in region.made_of.iter().filter_map(|name| file.parts.get(name)) {
                stated.extend(self.statements(part.on(kind)));
            }
            stated.extend(self.statements(region.on(kind)));
        }
        stated
    }

    /// The lines that say of what a standard's percentages are taken.
    pub fn percentages(&mut self, file: &StandardFile) -> Vec<(Percentage, ProvenanceId)> {
        let said = file.percent_of.iter().flat_map(PercentOfSaid::sources);
        said.map(|(kind, source)| {
            let citation = self.citations.get(&source.value).cloned();
            (kind, self.whys.add(Provenance { layer: self.layer, place: source.place, citation, because: None, read: None }))
        })
        .collect()
    }

    /// All statements of a standard.
    pub fn whole_standard(&mut self, file: &StandardFile) {
        for kind in Equipment::ALL {
            self.whole(file.on(kind));
            file.parts.iter().for_each(|(_, part)| self.whole(part.on(kind)));
            file.regions.iter().for_each(|(_, region)| self.whole(region.on(kind)));
        }
    }

    /// The statements of an overlay on one kind of equipment.
    pub fn overlay(&mut self, file: &OverlayFile, kind: Equipment) -> Vec<Stated> {
        self.statements(file.on(kind))
    }

    /// All statements of an overlay, and when it is in force.
    pub fn whole_overlay(&mut self, file: &OverlayFile) {
        Equipment::ALL.into_iter().for_each(|kind| self.whole(file.on(kind)));
        let older = file.older_accepted.iter().map(|older| &older.when);
        let windows: Vec<Condition> = file.in_force.iter().chain(older).flat_map(|when| self.conditions(Some(when))).collect();
        if let Some(first) = windows.first() {
            self.bounded(first.place, &windows);
        }
    }

    fn whole(&mut self, statements: &Statements) {
        for said in self.statements(statements) {
            let conditions: Vec<Condition> = said.cases.iter().flat_map(|case| &case.when).copied().collect();
            self.bounded(said.place, &conditions);
        }
    }

    /// Conditions are tried against one another, kind of site by kind of site.
    fn bounded(&mut self, place: Place, conditions: &[Condition]) {
        let kinds = Partition::of(conditions).len();
        if kinds > MOST_KINDS {
            let says = "these conditions tell more kinds of site apart than anybody can have meant".to_owned();
            self.fault(place, Slip::new(says, format!("write fewer of them, or coarser ones: at most {MOST_KINDS} kinds of site")));
        }
    }

    fn statements(&mut self, statements: &Statements) -> Vec<Stated> {
        let mut stated = Vec::new();
        for (function, parameters) in &statements.0.0 {
            for (parameter, statement) in &parameters.0 {
                match SettingId::find(function, parameter) {
                    Some(setting) => stated.push(self.stated(setting, parameter.place, statement)),
                    None => self.fault(parameter.place, unknown("setting", &format!("{}/{}", **function, **parameter))),
                }
            }
        }
        stated
    }

    fn stated(&mut self, setting: SettingId, place: Place, statement: &At<Statement>) -> Stated {
        let Some(cases) = &statement.cases else {
            let when = self.conditions(statement.when.as_ref());
            let case = Case { when, verbs: self.verbs(setting, place, statement) };
            return Stated { setting, cases: vec![case], otherwise: None, no_case: None, place };
        };
        let (mut read, mut otherwise, mut rest_as_below) = (Vec::new(), None, false);
        for (n, case) in cases.iter().enumerate() {
            match (&case.when, &case.otherwise) {
                (Some(when), None) => {
                    let when = self.conditions(Some(when));
                    read.push(Case { when, verbs: self.verbs(setting, case.place, case) });
                }
                (None, Some(_)) if n + 1 == cases.len() => rest_as_below = true,
                (None, None) if n + 1 == cases.len() => otherwise = Some(self.verbs(setting, case.place, case)),
                _ => self.fault(case.place, Slip::new("a case without `when`", "only the last case may go without it")),
            }
        }
        let has_word = rest_as_below || otherwise.is_some() || read.len() < 2;
        let no_case = (!has_word).then(|| self.line_without_case(place));
        Stated { setting, cases: read, otherwise, no_case, place }
    }

    fn line_without_case(&mut self, place: Place) -> ProvenanceId {
        self.whys.add(Provenance { layer: self.layer, place, citation: None, because: None, read: None })
    }

    fn verbs(&mut self, setting: SettingId, place: Place, said: &Statement) -> Verbs {
        let because: Option<Arc<str>> = said.because.as_deref().map(Arc::from);
        let citation = said.source.as_ref().and_then(|source| self.citations.get(&source.value).cloned());
        let range_citation = said.range_source.as_ref().map(|source| self.citations.get(&source.value).cloned());
        let line = said
            .require
            .as_ref()
            .or(said.comply.as_ref())
            .or(said.also.as_ref())
            .or(said.nowhere_below.as_ref())
            .or(said.nowhere_above.as_ref())
            .map(|w| w.place)
            .or(said.evidence.as_ref().map(|w| w.place))
            .unwrap_or(place);
        let of_all = self.read_of_all(said);
        let of = |verbs: &[Verb]| self.read_of(said, verbs.iter().copied());
        let reads = [&[Verb::Require, Verb::ResponseWithin][..], &[Verb::Comply], &[Verb::Also], &[Verb::Evidence], &[Verb::Adjustable]];
        let [of_require, of_comply, of_also, of_evidence, of_range] = reads.map(of);
        let mut why = |place: Place, citation: Option<Arc<Citation>>, read: Option<Arc<Read>>| {
            self.whys.add(Provenance { layer: self.layer, place, citation, because: because.clone(), read })
        };
        let own = why(line, citation.clone(), of_all);
        let require = said.require.as_ref().map(|w| (w, why(w.place, citation.clone(), of_require)));
        let comply = said.comply.as_ref().map(|w| (w, why(w.place, citation.clone(), of_comply)));
        let also = said.also.as_ref().map(|w| (w, why(w.place, citation.clone(), of_also)));
        let evidence = said.evidence.as_ref().map(|w| (w, why(w.place, citation.clone(), of_evidence)));
        let adjustable = said.adjustable.as_ref().map(|w| (w, why(w.place, range_citation.unwrap_or(citation.clone()), of_range)));
        let gap = said.gap.as_ref().map(|gap| {
            let because: Option<Arc<str>> = Some(Arc::from(gap.value.as_str()));
            self.whys.add(Provenance { layer: self.layer, place: gap.place, citation, because, read: None })
        });
        let mut verbs = Verbs {
            require: require.and_then(|(w, why)| Some((self.value(setting, w)?, why))),
            comply: comply.map(|(w, why)| self.claims(setting, w, why)),
            also: also.map(|(w, why)| self.claims(setting, w, why)).unwrap_or_default(),
            evidence: evidence.map(|(w, why)| self.evidence(setting, w, why)),
            adjustable: adjustable.map(|(w, why)| self.claims(setting, w, why)),
            outside_because: said.outside_because.as_ref().map(|text| text.place),
            step: None,
            moved_by: said.moved_by.map(Into::into),
            gap,
            why: Some(own),
        };
        for (written, limit) in
            [(&said.nowhere_below, Limit::Above as fn(Line) -> Limit), (&said.nowhere_above, Limit::Below as fn(Line) -> Limit)]
        {
            if let Some(written) = written {
                verbs.comply.get_or_insert_default().extend(self.line(setting, written, limit, own));
            }
        }
        if let (Some(within), Some((value, why))) = (&said.response_within, &verbs.require) {
            verbs.comply = self.tube(setting, value, within, *why);
        }
        if let Some(spacing) = &said.spacing {
            self.add_spacing(setting, said, spacing, own, &mut verbs);
        }
        verbs.step = said.step.as_ref().and_then(|step| self.step(setting, said, step));
        self.check_required(said, &verbs);
        verbs
    }

    /// What was read of the values that stand under these words: all of them, or nothing.
    fn read_of(&self, said: &Statement, verbs: impl Iterator<Item = Verb>) -> Option<Arc<Read>> {
        let places = verbs.filter_map(|verb| said.said(verb)).map(crate::attested::ReadValue::place);
        together(&places.map(|place| self.reads.get(&place).cloned()).collect::<Vec<_>>())
    }

    /// What was read of everything that a statement asks; of one that asks nothing, of its range.
    fn read_of_all(&self, said: &Statement) -> Option<Arc<Read>> {
        if self.reads.is_empty() {
            return None;
        }
        let asks = || Verb::ALL.into_iter().filter(|verb| verb.asks());
        match asks().any(|verb| said.said(verb).is_some()) {
            true => self.read_of(said, asks()),
            false => self.read_of(said, [Verb::Adjustable, Verb::Evidence].into_iter()),
        }
    }

    /// A value that is required lies in what the same statement says complies, and may be moved to.
    fn check_required(&mut self, said: &Statement, verbs: &Verbs) {
        let Some((value, _)) = &verbs.require else { return };
        let range = verbs.adjustable.as_ref().filter(|_| said.outside_because.is_none());
        let complying = [("comply", &said.comply), ("nowhere-below", &said.nowhere_below), ("nowhere-above", &said.nowhere_above)];
        let complying = complying.into_iter().find(|(_, written)| written.is_some()).unwrap_or(("comply", &None));
        let sets = [(complying.0, complying.1, verbs.comply.as_ref()), ("adjustable", &said.adjustable, range)];
        for (verb, written, claims) in sets {
            let outside = claims.into_iter().flatten().any(|claim| value.keeps(claim) == Some(false));
            if let (true, Some(set), Some(required)) = (outside, written, &said.require) {
                let says = format!("the value required is not among those under `{verb}`");
                let finding = Finding::unusable("require", required.place, says).because(set.place, "not among these");
                let help = if verb.starts_with("nowhere") { "move the line of" } else { "widen" };
                self.findings.push(finding.hint(format!("correct `require`, or {help} `{verb}`")));
            }
        }
    }

    fn evidence(&mut self, setting: SettingId, text: &At<String>, why: ProvenanceId) -> Vec<Claim> {
        match notation::evidence(text) {
            Ok(kinds) => vec![Claim { on: Term::Var(setting.into()), limit: Limit::Stated(kinds), why }],
            Err(slip) => {
                self.fault(text.place, slip);
                Vec::new()
            }
        }
    }

    fn tube(&mut self, setting: SettingId, required: &Value, within: &At<(String, String)>, why: ProvenanceId) -> Option<Vec<Claim>> {
        let Value::Curve(points) = required else { return None };
        let (aside, above) = &within.value;
        match notation::tube(setting, points, (aside, above), why) {
            Ok(claims) => Some(claims.to_vec()),
            Err(slip) => {
                self.fault(within.place, slip);
                None
            }
        }
    }

    /// The claim that a response lies on one side of a line.
    fn line(&mut self, setting: SettingId, written: &At<Written>, limit: fn(Line) -> Limit, why: ProvenanceId) -> Option<Claim> {
        let Value::Curve(points) = self.value(setting, written)? else { return None };
        Some(Claim { on: Term::Var(setting.into()), limit: limit(points.into()), why })
    }

    /// The steps in which a range can be set.
    fn step(&mut self, setting: SettingId, said: &Statement, text: &At<String>) -> Option<Amount> {
        let Shape::Quantity(dimension) = setting.parameter().shape else { return None };
        if said.adjustable.is_none() {
            self.fault(text.place, Slip::new("steps of no range", "add `adjustable` with the range that is set in these steps"));
        }
        let step = dimension.parse(text).map_err(|slip| self.fault(text.place, slip)).ok()?;
        if step.number <= Exact::ZERO {
            self.fault(
                text.place,
                Slip::new(format!("`{}` is no step", text.value), "write the difference between one value and the next"),
            );
        }
        Some(step)
    }

    fn add_spacing(&mut self, setting: SettingId, said: &Statement, text: &At<String>, why: ProvenanceId, verbs: &mut Verbs) {
        let points = |written: &Option<At<Written>>| match written.as_deref() {
            Some(Written::Points(points)) => points.len(),
            _ => 0,
        };
        let count = points(&said.adjustable).max(points(&said.comply));
        match notation::spacing(setting, count, text, why) {
            Ok(claims) => {
                for set in [&mut verbs.adjustable, &mut verbs.comply].into_iter().flatten() {
                    set.extend_from_slice(&claims);
                }
            }
            Err(slip) => self.fault(text.place, slip),
        }
    }

    /// Conditions of a case, or of one line of an in-force window.
    pub fn conditions(&mut self, conditions: Option<&Conditions>) -> Vec<Condition> {
        let mut read = Vec::new();
        for (key, text) in conditions.iter().flat_map(|c| &c.0.0) {
            let Some(fact) = FactId::named(key) else {
                self.fault(key.place, unknown("fact", key));
                continue;
            };
            match notation::fact_test(fact, text) {
                Ok(test) => read.push(Condition { fact, test, place: text.place }),
                Err(slip) => self.fault(text.place, slip),
            }
        }
        read
    }

    fn value(&mut self, setting: SettingId, written: &At<Written>) -> Option<Value> {
        written.value(setting).map_err(|faults| self.faults(written.place, faults)).ok()
    }

    fn claims(&mut self, setting: SettingId, written: &At<Written>, why: ProvenanceId) -> Vec<Claim> {
        written.claims(setting, why).map_err(|faults| self.faults(written.place, faults)).unwrap_or_default()
    }

    fn faults(&mut self, place: Place, faults: Vec<ValueFault>) {
        for fault in faults {
            self.fault(place, fault.slip);
        }
    }

    fn fault(&mut self, place: Place, slip: Slip) {
        self.findings.push(Finding::unusable("statement", place, slip.says).hint(slip.help));
    }
}

fn unknown(what: &str, key: &str) -> Slip {
    Slip::new(format!("`{key}` is not a {what}"), format!("`asleft list {what}s` names them all"))
}
