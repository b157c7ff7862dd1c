//! Sites by their text, what they come to, and two that comply as they stand, to alter in one thing.
#![allow(dead_code, reason = "each test file uses its own part")]

use super::common::shipped_library;
use rules::assess::Assessor;
use rules::provenance::Verdict;
use rules::wording;
use settings_model::files::SiteFile;
use settings_model::finding::Finding;
use settings_model::library::{Library, Profile};
use settings_model::notation::date;
use settings_model::reader;
use std::cell::RefCell;

/// What a site came to.
#[derive(Debug)]
pub struct Came {
    pub verdict: Verdict,
    pub headline: String,
    pub findings: Vec<Finding>,
    pub not_judged: Vec<String>,
}

impl Came {
    pub fn of(&self, name: &str) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.name == name)
    }

    pub fn says(&self, name: &str, words: &str) {
        let finding = self.of(name).unwrap_or_else(|| panic!("no `{name}` among {:#?}", self.findings));
        assert!(finding.headline.contains(words), "{}", finding.headline);
        assert!(finding.place.is_known(), "{finding:?}");
    }
}

pub fn judged_by(library: Library, text: &str) -> Came {
    came(&mut Assessor::new(library, date("2026-11-25").unwrap()), text)
}

pub fn came(assessor: &mut Assessor, text: &str) -> Came {
    let source = assessor.sources.add("site.yaml", text);
    let root = assessor.read_site(source, text).unwrap_or_else(|findings| panic!("{findings:#?}\n{text}"));
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess(&site);
    Came {
        verdict: assessment.verdict,
        headline: assessment.headline(),
        findings: wording::findings(&assessment, &root),
        not_judged: assessment.not_judged.iter().flat_map(rules::assess::NotJudged::paths).collect(),
    }
}

thread_local! {
    static ASSESSOR: RefCell<Assessor> = RefCell::new(Assessor::new(shipped_library(), date("2026-11-25").unwrap()));
}

pub fn judged(text: &str) -> Came {
    ASSESSOR.with_borrow_mut(|assessor| {
        let before = assessor.sources.len();
        let came = came(assessor, text);
        // profiles that were read meanwhile stay
        if assessor.sources.len() == before + 1 {
            assessor.sources.forget_after(before);
        }
        came
    })
}

/// AS/NZS 4777.2 as its region has it: 60 s to wait at least, 265 V, 52 Hz, 10 %/min.
pub const STANDARD: [&str; 2] = ["as-nzs-4777.2/2020-amd2", "australia-a"];
/// IEEE 1547: clearing times of 0.16 s and of 2 s, 13 s.
pub const IEEE: [&str; 2] = ["ieee-1547/2018-amd1", "b-iii"];

/// A site of one certified inverter whose selected region stands for all that is not stated; `device` has more lines
/// of it, `left` what it was left with.
pub fn of_one_inverter([standard, region]: [&str; 2], device: &str, left: &str) -> String {
    let (key, edition) = standard.split_once('/').unwrap();
    let (year, amendment) = edition.split_once("-amd").unwrap();
    format!(
        "kind: site
site: example
requirements: {{ standard: {standard}, region: {region} }}
supply: {{ phases: 1, nominal: 230 V line-neutral }}
devices:
  inverter-1:
    certified: {{ standard: {key}, edition: {{ year: {year}, amendment: {amendment} }} }}
    source: solar
    nameplate: 6 kVA
    rated-power: 6 kW
    {device}
    as-left:
      known-by: display
      region-selected: {region}
      {left}
"
    )
}

/// An overlay of the invented network Rushmere, which asks for these settings beside those of the standard.
pub fn rushmere(settings: &str) -> String {
    format!(
        "kind: overlay
network: rushmere
title: Rushmere (invented)
version: 1.0.0
issue: {{ name: Note 1, published: 2026-01-01 }}
extends: {{ standard: as-nzs-4777.2/2020-amd2 }}
regions: [australia-a]
in-force: [{{ applied: from 2026-01-01 }}]
sources: {{ n1: {{ document: Rushmere note, clause: '1', basis: invented }} }}
settings:
{settings}"
    )
}

/// [`ONE`] under Rushmere, with what the standard asks for where Quillbrook asks for something else.
pub fn one_at_rushmere() -> String {
    let moved = [
        ("network: quillbrook", "network: rushmere"),
        ("overlay: ^3.0", "overlay: ^1.0"),
        ("threshold: 255 V", "threshold: 258 V"),
        ("ramp-rate: 10 %/min", "ramp-rate: 16.67 %/min"),
    ];
    moved.into_iter().fold(ONE.to_owned(), |site, (here, there)| with(&site, here, there))
}

/// The shipped profiles with an invented overlay of the network rushmere beside them.
pub fn with_overlay(text: &str) -> Library {
    let mut library = shipped_library();
    let path = "overlays/rushmere/1.0.0.yaml".to_owned();
    library.add(Profile { path: path.clone(), name: path, text: text.to_owned().into(), shipped: false });
    library
}

/// Of a site's file with one thing altered.
pub fn with(text: &str, what: &str, instead: &str) -> String {
    assert!(text.contains(what), "{what}");
    text.replacen(what, instead, 1)
}

/// One inverter under Quillbrook's issue 3.
pub const ONE: &str = "
kind: site
site: sedge-lane-1
network: quillbrook
requirements: { overlay: ^3.0, region: australia-a }
dates: { applied: 2026-08-26, approved: 2026-09-23, installed: 2026-10-19 }
work: { kind: new }
supply: { phases: 1, nominal: 230 V line-neutral }
export: { kind: fixed, approved: 5 kW, reference: QB-1 }
installation: { voltage-rise: { total: 1.4 % } }
devices:
  inverter-1:
    certified: { standard: as-nzs-4777.2, edition: { year: 2020, amendment: 2 } }
    source: solar
    nameplate: 6 kVA
    as-left:
      date: 2026-10-19
      role: licensed installer
      known-by: photo
      region-selected: australia-a
      settings:
        sustained-overvoltage: { threshold: 255 V }
        reconnection: { ramp-rate: 10 %/min }
        volt-watt: { state: enabled, points: [[253 V, 100 %], [260 V, 20 %]] }
        volt-var: { state: enabled }
        export-limit: { state: enabled, site-total: 5 kW, counts: site-total }
        export-sensor: { location: main-switchboard, ratio-fitted: 40, ratio-entered: 40, direction: correct, phase: own, on-loss: zero-export, loss-noticed: 8 s }
";

/// A site under Greywether's policy of 2026, which lets it export 10 kW.
const OF_TWO: &str = "
kind: site
site: sedge-lane-2
network: greywether
requirements: { overlay: ^2.0, region: new-zealand }
dates: { applied: 2026-05-14, approved: 2026-06-11, installed: 2026-08-24 }
work: { kind: new }
supply: { phases: 3, nominal: 230 V line-neutral }
export: { kind: fixed, approved: 30 kW, reference: GW-2 }
installation: { voltage-rise: { total: 1.3 % } }
devices:
";

/// A relay beside the inverter of [`ONE`], where nobody asks for one.
pub const RELAY: &str = "  relay-1:
    kind: grid-protection-relay
    as-left:
      date: 2026-10-19
      role: licensed installer
      known-by: test
      settings:
        overvoltage-1: { state: enabled, threshold: 999 V, definite-delay: 99 s }
";

/// Two inverters under Greywether's policy of 2026, each of which leaves the limit to `first` or `second`.
pub fn two(first: &str, second: &str) -> String {
    let inverter = |name: &str, master: &str| {
        format!(
            "  {name}:
    certified: {{ standard: as-nzs-4777.2, edition: {{ year: 2020, amendment: 2 }} }}
    source: solar
    nameplate: 10 kVA
    phases: 3
    as-left:
      date: 2026-08-24
      role: licensed installer
      known-by: display
      region-selected: new-zealand
      settings:
        sustained-overvoltage: {{ threshold: 258 V }}
        volt-watt: {{ state: enabled, points: [[253 V, 100 %], [260 V, 20 %]] }}
        volt-var: {{ state: enabled, points: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]] }}
        export-limit: {{ state: enabled, site-total: 10 kW, hard-limit: 12 kW }}
        export-sensor: {{ master: {master} }}
"
        )
    };
    format!("{OF_TWO}{}{}", inverter("inverter-1", first), inverter("inverter-2", second))
}
