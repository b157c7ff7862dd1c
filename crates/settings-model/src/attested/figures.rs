//! Every value of a profile, and the regions in which it is the one that speaks.

use super::said::{ReadValue, Says, Verb};
use crate::catalogue::{Equipment, SettingId};
use crate::exact::Exact;
use crate::files::{Blocks, CitationText, Conditions, Named, OverlayFile, StandardFile, Statement};
use crate::located::At;
use crate::source::Place;

/// One value of a profile.
#[derive(Clone, Debug)]
pub struct Figure<'f> {
    /// What it is asked of.
    pub kind: Equipment,
    /// Of which setting.
    pub setting: SettingId,
    /// The regions in which it speaks; none for a profile that has no regions.
    pub regions: Vec<&'f str>,
    /// For which sites; `None` for all, or for those of no other case.
    pub when: Option<&'f Conditions>,
    /// Whether it is one of several cases.
    pub is_case: bool,
    /// Under which word.
    pub verb: Verb,
    /// The value.
    pub said: ReadValue<'f>,
    /// Where the profile found it.
    pub source: Option<&'f CitationText>,
    /// The places by which claims name it: as long as one of them decides, it does.
    pub lines: Vec<Place>,
}

/// A profile: what it states, and on what that rests.
pub trait Stating: Blocks {
    /// The sources it lists.
    fn sources(&self) -> &Named<String, CitationText>;
    /// The nominal voltage that its per unit counts from, in volts.
    fn nominal(&self) -> Option<Exact> {
        None
    }
    /// Each region and what speaks there, one after another; a profile without regions has one of no
    /// name.
    fn holders(&self) -> Vec<(&str, Vec<&dyn Blocks>)>;
}

impl Stating for StandardFile {
    fn sources(&self) -> &Named<String, CitationText> {
        &self.sources
    }
    fn nominal(&self) -> Option<Exact> {
        self.nominal.map(|nominal| nominal.0)
    }
    fn holders(&self) -> Vec<(&str, Vec<&dyn Blocks>)> {
        if self.regions.0.is_empty() {
            return vec![("", vec![self])];
        }
        let in_region = self.regions.iter().map(|(key, region)| {
            let parts = region.made_of.iter().filter_map(|name| self.parts.get(name)).map(|part| part as &dyn Blocks);
            let holders = std::iter::once(self as &dyn Blocks).chain(parts).chain([region as &dyn Blocks]);
            (key, holders.collect())
        });
        in_region.collect()
    }
}

impl Stating for OverlayFile {
    fn sources(&self) -> &Named<String, CitationText> {
        &self.sources
    }
    fn holders(&self) -> Vec<(&str, Vec<&dyn Blocks>)> {
        vec![("", vec![self])]
    }
}

/// One case of what one holder says of one setting.
struct Spoken<'f> {
    holder: usize,
    setting: SettingId,
    when: Option<&'f Conditions>,
    is_case: bool,
    said: &'f Statement,
}

/// Every value of a profile, in the order in which it is written.
#[must_use]
pub fn figures<'f>(file: &'f (dyn Stating + 'f)) -> Vec<Figure<'f>> {
    let mut figures: Vec<Figure<'f>> = Vec::new();
    for (region, holders) in file.holders() {
        for kind in Equipment::ALL {
            let spoken: Vec<Spoken<'f>> = holders.iter().enumerate().flat_map(|(n, holder)| spoken(n, *holder, kind)).collect();
            for one in &spoken {
                for verb in Verb::ALL {
                    let Some(said) = one.said.said(verb) else { continue };
                    if spoken.iter().any(|later| replaces(later, one, verb)) {
                        continue;
                    }
                    add(&mut figures, region, figure(file, kind, one, verb, said));
                }
            }
        }
    }
    figures.sort_by_key(|figure| (figure.said.place(), figure.verb));
    figures
}

/// A demand of a profile whose content was not seen by who wrote it.
#[derive(Clone, Debug)]
pub struct Gap<'f> {
    /// What it is asked of.
    pub kind: Equipment,
    /// Of which setting.
    pub setting: SettingId,
    /// The regions in which it speaks; none for a profile that has no regions.
    pub regions: Vec<&'f str>,
    /// For which sites; `None` for all, or for those of no other case.
    pub when: Option<&'f Conditions>,
    /// What is missing.
    pub says: &'f At<String>,
    /// What is known of it.
    pub source: Option<&'f CitationText>,
}

/// Every gap of a profile, in the order in which it is written.
#[must_use]
pub fn gaps<'f>(file: &'f (dyn Stating + 'f)) -> Vec<Gap<'f>> {
    let mut gaps: Vec<Gap<'f>> = Vec::new();
    for (region, holders) in file.holders() {
        for kind in Equipment::ALL {
            let spoken: Vec<Spoken<'f>> = holders.iter().enumerate().flat_map(|(n, holder)| spoken(n, *holder, kind)).collect();
            let stands = |one: &&Spoken<'f>| !spoken.iter().any(|later| replaces(later, one, Verb::Require));
            for one in spoken.iter().filter(stands) {
                let Some(says) = &one.said.gap else { continue };
                let source = one.said.source.as_ref().and_then(|name| file.sources().get(name));
                let known = gaps.iter().position(|known| known.says.place == says.place && says.place.is_known());
                let known = known.unwrap_or_else(|| {
                    gaps.push(Gap { kind, setting: one.setting, regions: Vec::new(), when: one.when, says, source });
                    gaps.len() - 1
                });
                gaps[known].regions.extend(Some(region).filter(|region| !region.is_empty()));
            }
        }
    }
    gaps
}

fn figure<'f>(file: &'f (dyn Stating + 'f), kind: Equipment, one: &Spoken<'f>, verb: Verb, said: ReadValue<'f>) -> Figure<'f> {
    let named = match verb {
        Verb::Adjustable | Verb::Step => one.said.range_source.as_ref().or(one.said.source.as_ref()),
        _ => one.said.source.as_ref(),
    };
    let source = named.and_then(|name| file.sources().get(name));
    // the value required stands as long as what complies beside it does
    let is_of_several = verb.asks() && verb != Verb::Also;
    let beside = Verb::ALL.into_iter().filter(|other| is_of_several && other.asks() && *other != Verb::Also);
    let lines = beside.filter_map(|other| one.said.said(other)).map(ReadValue::place).chain([said.place()]).collect();
    Figure { kind, setting: one.setting, regions: Vec::new(), when: one.when, is_case: one.is_case, verb, said, source, lines }
}

/// What several regions share is one figure.
fn add<'f>(figures: &mut Vec<Figure<'f>>, region: &'f str, figure: Figure<'f>) {
    let key = |figure: &Figure<'f>| -> (Place, Verb) { (figure.said.place(), figure.verb) };
    let known = figures.iter().position(|known| key(known) == key(&figure) && figure.said.place().is_known());
    let known = known.unwrap_or_else(|| {
        figures.push(figure);
        figures.len() - 1
    });
    figures[known].regions.extend(Some(region).filter(|region| !region.is_empty()));
}

fn spoken<'f>(holder: usize, blocks: &'f dyn Blocks, kind: Equipment) -> Vec<Spoken<'f>> {
    let mut spoken = Vec::new();
    for (function, parameters) in &blocks.on(kind).0.0 {
        for (parameter, statement) in &parameters.0 {
            let Some(setting) = SettingId::find(function, parameter) else { continue };
            let mut add = |said: &'f Statement, is_case| spoken.push(Spoken { holder, setting, when: said.when.as_ref(), is_case, said });
            match &statement.value.cases {
                Some(cases) => cases.iter().for_each(|case| add(&case.value, true)),
                None => add(&statement.value, false),
            }
        }
    }
    spoken
}

/// Whether what is said later takes the place of a value for all sites that it was said of.
fn replaces(later: &Spoken<'_>, one: &Spoken<'_>, verb: Verb) -> bool {
    let of_all = later.when.is_none() && !later.is_case;
    if later.holder <= one.holder || later.setting != one.setting || !(of_all || same_sites(later.when, one.when)) {
        return false;
    }
    let says = |verb| later.said.said(verb).is_some();
    match verb {
        Verb::Evidence | Verb::Adjustable => says(verb),
        _ => later.said.gap.is_some() || [Verb::Require, Verb::Comply, Verb::NowhereBelow, Verb::NowhereAbove].into_iter().any(says),
    }
}

/// Whether two lists of conditions, in whatever order and words, are met by the same sites.
pub(super) fn same_sites(one: Option<&Conditions>, other: Option<&Conditions>) -> bool {
    let (Some(one), Some(other)) = (one, other) else { return one.is_none() && other.is_none() };
    let (one, other) = (conditions(one), conditions(other));
    one.len() == other.len() && one.iter().all(|condition| other.contains(condition))
}

fn conditions(of: &Conditions) -> Vec<(crate::facts::FactId, crate::cells::FactTest)> {
    let mut whys = crate::claim::Provenances::default();
    let read = crate::layer::LayerReader::new(crate::claim::LayerId(0), &[], &mut whys).conditions(Some(of));
    read.into_iter().map(|condition| (condition.fact, condition.test)).collect()
}
