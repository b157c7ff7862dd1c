//! The figures of profiles, those that nobody read in a licensed copy yet before all, and who uses each.

use crate::assess::{Assessment, Assessor};
use crate::provenance::{Figures, Standing};
use jiff::civil::Date;
use settings_model::attested::{Attestation, Figure, Gap, Reads, Stating, Verb, figures, reads};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::ProvenanceId;
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::files::{CitationText, Conditions};
use settings_model::library::Refusal;
use settings_model::requirement::Rulebook;
use settings_model::source::Place;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// A figure of a profile as lists tell it.
#[derive(Clone, Debug)]
pub struct ListedFigure {
    /// The key of its profile: `standards/as-nzs-4777.2/2020-amd2`.
    pub profile: String,
    /// The profile's name in print.
    pub title: String,
    /// What it is asked of.
    pub kind: Equipment,
    /// Of which setting.
    pub setting: SettingId,
    /// Under which word of the profile; `None` for a gap, whose value says what was not seen.
    pub verb: Option<Verb>,
    /// The value as the profile writes it.
    pub value: String,
    /// The regions in which it is known so.
    pub regions: Vec<String>,
    /// Whether these are all regions of the profile.
    pub is_everywhere: bool,
    /// For which sites, where not for all.
    pub when: Option<String>,
    /// The clause that the profile cites.
    pub clause: Option<String>,
    /// Where it was found; `None` where the profile does not say.
    pub source: Option<CitationText>,
    /// The day or the month in which it was last held against a copy or its sources, where anybody noted it.
    pub confirmed: Option<String>,
    /// How it is known.
    pub standing: Standing,
    /// The places by which claims name it.
    pub lines: Vec<Place>,
}

/// Which figures of a profile are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Those that still rest on memory or a single source, or that a licensed copy contradicts.
    Unverified,
    /// Every one, and what was not seen.
    All,
}

/// The figures of some profiles, and how many of all their figures offices read.
///
/// # Errors
/// See [`Refusal`].
pub fn listed_figures(keys: &[String], which: Which, assessor: &mut Assessor) -> Result<(Vec<ListedFigure>, usize), Refusal> {
    let (mut open, mut attested) = (Vec::new(), 0);
    for key in keys {
        match key.split('/').collect::<Vec<_>>()[..] {
            ["standards", name, edition] => {
                let typed = assessor.library.standard(&format!("{name}/{edition}"), &mut assessor.sources)?;
                attested += of_profile(key, &typed.file.title, &typed.file, &typed.attestations, which, &mut open);
            }
            ["overlays", network, version] => {
                let Ok(version) = semver::Version::parse(version) else { continue };
                let typed = assessor.library.overlay(network, &version, &mut assessor.sources)?;
                let title = format!("{}, {}", typed.file.title, typed.file.issue.name);
                attested += of_profile(key, &title, &typed.file, &typed.attestations, which, &mut open);
            }
            _ => {}
        }
    }
    Ok((open, attested))
}

/// Adds the open figures of one profile; how many of its figures were read wherever they hold.
fn of_profile(
    key: &str,
    title: &str,
    file: &dyn Stating,
    attestations: &[Rc<Attestation>],
    which: Which,
    open: &mut Vec<ListedFigure>,
) -> usize {
    let regions: Vec<&str> = file.holders().into_iter().map(|(region, _)| region).collect();
    let reads = reads_of(file, attestations);
    let (mut attested, first) = (0, open.len());
    for figure in figures(file) {
        let by_standing = by_standing(&figure, &reads);
        attested += usize::from(by_standing.iter().all(|(standing, _)| *standing == Standing::Attested));
        for (standing, own) in by_standing.into_iter().filter(|(standing, _)| which == Which::All || standing.is_unverified()) {
            let read = own.iter().filter_map(|region| reads[region.as_str()].get(&figure.said.place())).map(|read| read.by.read_on).max();
            add(&mut listed(key, title, &figure, standing, read), own, &regions, first, open);
        }
    }
    for gap in settings_model::attested::gaps(file).iter().filter(|_| which == Which::All) {
        let own =
            if gap.regions.is_empty() { vec![String::new()] } else { gap.regions.iter().map(|region| (*region).to_owned()).collect() };
        add(&mut listed_gap(key, title, gap), own, &regions, first, open);
    }
    attested
}

/// How a figure is known, and in which regions.
fn by_standing(figure: &Figure<'_>, reads: &BTreeMap<&str, Reads>) -> Vec<(Standing, Vec<String>)> {
    let held_in = if figure.regions.is_empty() { vec![""] } else { figure.regions.clone() };
    let mut by_standing: Vec<(Standing, Vec<String>)> = Vec::new();
    for region in held_in {
        let standing = standing_in(figure, &reads[region]);
        match by_standing.iter_mut().find(|(known, _)| *known == standing) {
            Some((_, regions)) => regions.push(region.to_owned()),
            None => by_standing.push((standing, vec![region.to_owned()])),
        }
    }
    by_standing
}

/// How the figures of a profile are known, with what offices read; each by the region in which it is
/// least sure.
#[must_use]
pub fn figures_of(file: &dyn Stating, attestations: &[Rc<Attestation>]) -> Figures {
    let reads = reads_of(file, attestations);
    let sourced = figures(file).into_iter().filter(|figure| figure.source.is_some());
    sourced.filter_map(|figure| by_standing(&figure, &reads).into_iter().map(|(standing, _)| standing).max()).collect()
}

fn reads_of<'f>(file: &'f dyn Stating, attestations: &[Rc<Attestation>]) -> BTreeMap<&'f str, Reads> {
    file.holders().into_iter().map(|(region, _)| (region, reads(file, attestations, region))).collect()
}

fn standing_in(figure: &Figure<'_>, reads: &Reads) -> Standing {
    match reads.get(&figure.said.place()) {
        Some(read) if read.agrees => Standing::Attested,
        Some(_) => Standing::Disputed,
        None => figure.source.map_or(Standing::Memory, |source| source.basis.into()),
    }
}

fn listed(key: &str, title: &str, figure: &Figure<'_>, standing: Standing, read: Option<Date>) -> ListedFigure {
    let confirmed = figure.source.and_then(|source| source.confirmed);
    ListedFigure {
        profile: key.to_owned(),
        title: title.to_owned(),
        kind: figure.kind,
        setting: figure.setting,
        verb: Some(figure.verb),
        value: figure.said.words(),
        regions: Vec::new(),
        is_everywhere: false,
        when: figure.when.map(conditions),
        clause: figure.source.and_then(|source| source.clause.clone()),
        source: figure.source.cloned(),
        confirmed: read.map(|day| day.to_string()).or(confirmed.map(|month| month.to_string())),
        standing,
        lines: figure.lines.clone(),
    }
}

fn listed_gap(key: &str, title: &str, gap: &Gap<'_>) -> ListedFigure {
    ListedFigure {
        profile: key.to_owned(),
        title: title.to_owned(),
        kind: gap.kind,
        setting: gap.setting,
        verb: None,
        value: gap.says.value.clone(),
        regions: Vec::new(),
        is_everywhere: false,
        when: gap.when.map(conditions),
        clause: gap.source.and_then(|source| source.clause.clone()),
        source: gap.source.cloned(),
        confirmed: None,
        standing: Standing::Open,
        lines: vec![gap.says.place],
    }
}

/// Regions that state the same on the same grounds are one row.
fn add(figure: &mut ListedFigure, regions: Vec<String>, all: &[&str], first: usize, open: &mut Vec<ListedFigure>) {
    let source =
        |f: &ListedFigure| f.source.as_ref().map(|source| (source.document.clone(), source.found_in.clone(), source.conflict.clone()));
    let alike = |other: &ListedFigure| {
        let key = |f: &ListedFigure| (f.kind, f.setting, f.verb, f.value.clone(), f.when.clone(), f.clause.clone());
        key(other) == key(figure) && other.standing == figure.standing && source(other) == source(figure)
    };
    let position = open[first..].iter().position(alike).map_or_else(
        || {
            open.push(figure.clone());
            open.len() - 1
        },
        |position| first + position,
    );
    let row = &mut open[position];
    row.lines.extend_from_slice(&figure.lines);
    row.regions.extend(regions.into_iter().filter(|region| !region.is_empty()));
    row.is_everywhere = row.regions.len() == all.iter().filter(|region| !region.is_empty()).count();
}

fn conditions(of: &Conditions) -> String {
    of.0.0.iter().map(|(fact, test)| format!("{} {}", fact.value, test.value)).collect::<Vec<_>>().join(" and ")
}

/// Who is counted as a user of figures.
#[derive(Clone, Debug, Default)]
pub struct Use {
    /// How many use each figure, by its position.
    pub of_figures: Vec<usize>,
    /// How many were looked at.
    pub users: usize,
    /// Of each network that users stand on, how many do and which figures they use; sites on none stand under no name.
    pub of_networks: BTreeMap<String, (usize, BTreeSet<usize>)>,
    by_line: BTreeMap<Place, Vec<usize>>,
}

impl Use {
    /// Nobody yet uses any of these figures.
    #[must_use]
    pub fn of(figures: &[ListedFigure]) -> Self {
        let mut by_line: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
        for (n, figure) in figures.iter().enumerate() {
            for line in &figure.lines {
                by_line.entry(*line).or_default().push(n);
            }
        }
        Self { of_figures: vec![0; figures.len()], users: 0, of_networks: BTreeMap::new(), by_line }
    }

    /// One more user, of these lines.
    pub fn add(&mut self, lines: impl IntoIterator<Item = Place>) {
        self.users += 1;
        let used: BTreeSet<usize> = lines.into_iter().filter_map(|line| self.by_line.get(&line)).flatten().copied().collect();
        for figure in used {
            self.of_figures[figure] += 1;
        }
    }

    /// One more user, of these lines, on this network.
    pub fn add_site(&mut self, network: &str, lines: &BTreeSet<Place>) {
        let (sites, used) = self.of_networks.entry(network.to_owned()).or_default();
        *sites += 1;
        used.extend(lines.iter().filter_map(|line| self.by_line.get(line)).flatten());
        self.add(lines.iter().copied());
    }

    /// What another counted of the same figures.
    pub fn merge(&mut self, other: &Self) {
        self.users += other.users;
        for (network, (sites, used)) in &other.of_networks {
            let own = self.of_networks.entry(network.clone()).or_default();
            own.0 += sites;
            own.1.extend(used);
        }
        self.of_figures.iter_mut().zip(&other.of_figures).for_each(|(count, more)| *count += more);
    }

    /// Each region of each standard at hand, and each version of a network in each region that it
    /// takes: the figures that decide there for some site at least.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn in_profiles(figures: &[ListedFigure], assessor: &mut Assessor) -> Result<Self, Refusal> {
        let mut used = Self::of(figures);
        for key in assessor.library.standards() {
            for rulebooks in assessor.library.rulebooks_in_every_region(&key, &mut assessor.sources)? {
                used.add(rulebooks.iter().flat_map(lines_of));
            }
        }
        for network in assessor.library.networks() {
            for version in assessor.library.versions(&network) {
                for region in assessor.library.regions_below(&network, &version, &mut assessor.sources)? {
                    let rulebooks = assessor.library.rulebooks_of((&network, &version), &region, &mut assessor.sources)?;
                    used.add(rulebooks.iter().flat_map(lines_of));
                }
            }
        }
        Ok(used)
    }
}

/// The lines that decide something for some site.
fn lines_of(rulebook: &Rulebook) -> Vec<Place> {
    let entries = SettingId::all().filter(|setting| !rulebook.stated(*setting).is_empty());
    let entries = entries.flat_map(|setting| rulebook.alternatives(setting, &Facts::default()));
    entries.flat_map(|resolved| lines_of_entry(&resolved.entry, rulebook)).collect()
}

/// The lines that decide what a site is asked.
#[must_use]
pub fn lines_at(assessment: &Assessment<'_>) -> BTreeSet<Place> {
    let entries = assessment.devices.iter().flat_map(|device| {
        let rulebook = &device.book.rulebook;
        device.counted.requirement.entries.iter().flat_map(|resolved| lines_of_entry(&resolved.entry, rulebook))
    });
    entries.collect()
}

fn lines_of_entry(entry: &Entry, rulebook: &Rulebook) -> Vec<Place> {
    let whys: BTreeSet<ProvenanceId> = entry.comply.iter().chain(&entry.adjustable).map(|claim| claim.why).collect();
    whys.into_iter().filter_map(|why| rulebook.whys.get(why)).map(|line| line.place).filter(|place| place.is_known()).collect()
}
