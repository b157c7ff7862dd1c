//! From a profile file to a layer: typed statements, each with the line it stands on.

use crate::catalogue::SettingId;
use crate::cells::Condition;
use crate::claim::{Basis, Citation, Claim, LayerId, LayerKind, Part, Why, WhyId, Whys};
use crate::entry::{Case, Stated, Verbs};
use crate::facts::FactId;
use crate::files::{Conditions, OverlayFile, StandardFile, Statement, Statements};
use crate::finding::Finding;
use crate::located::At;
use crate::notation::{self, Fault, Written};
use crate::source::Place;
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
    whys: &'w mut Whys,
    /// What could not be read.
    pub findings: Vec<Finding>,
}

impl<'w> LayerReader<'w> {
    /// A reader for one layer, with the sources its file lists.
    #[must_use]
    pub fn new(layer: LayerId, sources: &[(String, crate::files::CitationText)], whys: &'w mut Whys) -> Self {
        let citation = |(key, text): &(String, crate::files::CitationText)| {
            let citation = Citation {
                document: text.document.clone(),
                clause: text.clause.clone(),
                basis: Basis::from(text.basis),
                note: text.note.clone(),
            };
            (key.clone(), Arc::new(citation))
        };
        Self { layer, citations: sources.iter().map(citation).collect(), whys, findings: Vec::new() }
    }

    /// The statements of a standard for one region.
    pub fn standard(&mut self, file: &StandardFile, region: Option<&str>) -> Vec<Stated> {
        let mut stated = self.statements(&file.settings);
        if let Some(region) = region.and_then(|name| file.regions.get(name)) {
            stated.extend(self.statements(&region.settings));
        }
        stated
    }

    /// The statements of an overlay.
    pub fn overlay(&mut self, file: &OverlayFile) -> Vec<Stated> {
        self.statements(&file.settings)
    }

    fn statements(&mut self, statements: &Statements) -> Vec<Stated> {
        let mut stated = Vec::new();
        for (function, parameters) in &statements.0.0 {
            for (parameter, statement) in &parameters.0 {
                match SettingId::find(function, parameter) {
                    Some(setting) => stated.push(self.stated(setting, parameter.place, statement)),
                    None => self.fault(parameter.place, format!("`{}/{}` is not a setting", **function, **parameter)),
                }
            }
        }
        stated
    }

    fn stated(&mut self, setting: SettingId, place: Place, statement: &At<Statement>) -> Stated {
        let Some(cases) = &statement.cases else {
            let when = self.conditions(statement.when.as_ref());
            let case = Case { when, verbs: self.verbs(setting, place, statement) };
            return Stated { setting, cases: vec![case], otherwise: None, place };
        };
        if speaks(statement) {
            self.fault(place, "a statement has either `cases` or says something itself".to_owned());
        }
        let (mut read, mut otherwise) = (Vec::new(), None);
        for (n, case) in cases.iter().enumerate() {
            match (&case.when, &case.otherwise) {
                (Some(_), None) if !demands(case) => self.fault(case.place, "the case says nothing; add what it asks for".to_owned()),
                (Some(when), None) => {
                    let when = self.conditions(Some(when));
                    read.push(Case { when, verbs: self.verbs(setting, case.place, case) });
                }
                (None, Some(_)) if n + 1 == cases.len() => otherwise = None,
                (None, None) if n + 1 == cases.len() => otherwise = Some(self.verbs(setting, case.place, case)),
                _ => self.fault(case.place, "a case has `when`; only the last may go without, or say `otherwise`".to_owned()),
            }
        }
        Stated { setting, cases: read, otherwise, place }
    }

    fn verbs(&mut self, setting: SettingId, place: Place, said: &Statement) -> Verbs {
        let demands = said.require.is_some() || said.comply.is_some() || said.also.is_some() || said.adjustable.is_some();
        if let Some(gap) = said.gap.as_ref().filter(|_| demands) {
            self.fault(gap.place, "a gap says that nothing was seen; it cannot stand beside a demand".to_owned());
        }
        let because: Option<Arc<str>> = said.because.as_deref().map(Arc::from);
        let citation = said.source.as_ref().and_then(|source| self.citations.get(&source.value).cloned());
        let range_citation = said.range_source.as_ref().map(|source| self.citations.get(&source.value).cloned());
        let line = said.require.as_ref().or(said.comply.as_ref()).or(said.also.as_ref()).map_or(place, |w| w.place);
        let mut why = |place: Place, citation: Option<Arc<Citation>>| {
            self.whys.add(Why { layer: self.layer, place, citation, because: because.clone() })
        };
        let own = why(line, citation.clone());
        let require = said.require.as_ref().map(|w| (w, why(w.place, citation.clone())));
        let comply = said.comply.as_ref().map(|w| (w, why(w.place, citation.clone())));
        let also = said.also.as_ref().map(|w| (w, why(w.place, citation.clone())));
        let adjustable = said.adjustable.as_ref().map(|w| (w, why(w.place, range_citation.unwrap_or(citation.clone()))));
        let gap = said.gap.as_ref().map(|gap| {
            let because: Option<Arc<str>> = Some(Arc::from(gap.value.as_str()));
            self.whys.add(Why { layer: self.layer, place: gap.place, citation, because })
        });
        let mut verbs = Verbs {
            require: require.and_then(|(w, why)| Some((self.value(setting, w)?, why))),
            comply: comply.map(|(w, why)| self.claims(setting, w, why)),
            also: also.map(|(w, why)| self.claims(setting, w, why)).unwrap_or_default(),
            adjustable: adjustable.map(|(w, why)| self.claims(setting, w, why)),
            outside_because: said.outside_because.as_ref().map(|text| text.place),
            moved_by: said.moved_by.map(Into::into),
            gap,
            why: Some(own),
        };
        self.check_own_range(said, &verbs);
        if let Some(spacing) = &said.spacing {
            self.add_spacing(setting, said, spacing, own, &mut verbs);
        }
        verbs
    }

    /// A value that is required lies in the range that the same line says it may be moved in.
    fn check_own_range(&mut self, said: &Statement, verbs: &Verbs) {
        let (Some((value, _)), Some(range), Some(written)) = (&verbs.require, &verbs.adjustable, &said.require) else { return };
        if said.outside_because.is_some() {
            return;
        }
        if let Some(claim) = range.iter().find(|claim| value.keeps(claim) == Some(false)) {
            let says = match claim.on.subject().part {
                Part::PointCount => "the required curve and the range it may be moved in differ in their number of points".to_owned(),
                _ => "the required value lies outside the range it may be moved in".to_owned(),
            };
            self.fault(written.place, says);
        }
    }

    fn add_spacing(&mut self, setting: SettingId, said: &Statement, text: &At<String>, why: WhyId, verbs: &mut Verbs) {
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
            Err(says) => self.fault(text.place, says),
        }
    }

    /// Conditions of a case, or of one line of an in-force window.
    pub fn conditions(&mut self, conditions: Option<&Conditions>) -> Vec<Condition> {
        let mut read = Vec::new();
        for (key, text) in conditions.iter().flat_map(|c| &c.0.0) {
            let Some(fact) = FactId::named(key) else {
                self.fault(key.place, format!("`{}` is not a fact of a site", **key));
                continue;
            };
            match notation::fact_test(fact, text) {
                Ok(test) => read.push(Condition { fact, test, place: text.place }),
                Err(says) => self.fault(text.place, says),
            }
        }
        read
    }

    fn value(&mut self, setting: SettingId, written: &At<Written>) -> Option<crate::value::Value> {
        written.value(setting).map_err(|faults| self.faults(written.place, faults)).ok()
    }

    fn claims(&mut self, setting: SettingId, written: &At<Written>, why: WhyId) -> Vec<Claim> {
        written.claims(setting, why).map_err(|faults| self.faults(written.place, faults)).unwrap_or_default()
    }

    fn faults(&mut self, place: Place, faults: Vec<Fault>) {
        for fault in faults {
            self.fault(place, fault.says);
        }
    }

    fn fault(&mut self, place: Place, says: String) {
        self.findings.push(Finding::unusable("statement", place, says));
    }
}

fn speaks(statement: &Statement) -> bool {
    demands(statement) || statement.when.is_some()
}

fn demands(statement: &Statement) -> bool {
    let Statement { require, comply, also, adjustable, gap, .. } = statement;
    require.is_some() || comply.is_some() || also.is_some() || adjustable.is_some() || gap.is_some()
}
