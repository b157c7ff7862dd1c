//! A device that is set as one requirement asks, held against another.

use crate::common;

use common::shipped_library;
use jiff::civil::date;
use rules::assess::Assessor;
use rules::compare::as_required::standings_as_required;
use rules::provenance::Verdict;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::facts::{FactId, Facts};
use settings_model::library::Request;
use std::collections::BTreeMap;

fn facts() -> Facts {
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, 230.into());
    facts.set_number(FactId::Phases, 1.into());
    facts
}

/// What the second region of a standard comes to on a device set as the first asks.
fn standings(assessor: &mut Assessor, standard: &str, [own, other]: [&str; 2]) -> BTreeMap<SettingId, Verdict> {
    let mut requirement = |region| {
        let request = Request { standard: Some(standard), region, ..Default::default() };
        let books = assessor.books(request, &facts()).unwrap();
        books.on(Equipment::Inverter).requirement(&facts(), &[])
    };
    let [own, other] = [own, other].map(&mut requirement);
    standings_as_required(&own.requirement, &other.requirement, &facts())
}

fn of(standings: &BTreeMap<SettingId, Verdict>, wanted: Verdict) -> Vec<String> {
    standings.iter().filter(|(_, standing)| **standing == wanted).map(|(setting, _)| setting.to_string()).collect()
}

/// Ranges, curves, words, what is left open: whatever a standard asks, it asks nothing else of itself.
#[test]
fn every_requirement_complies_with_itself() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    let mut looked_at = 0;
    for standard in assessor.library.standards() {
        let file = assessor.library.standard(&standard, &mut assessor.sources).unwrap();
        let regions: Vec<String> = file.file.regions.iter().map(|(key, _)| key.to_owned()).collect();
        for region in regions {
            let standings = standings(&mut assessor, &standard, [&region, &region]);
            let broken = [of(&standings, Verdict::DoesNotComply), of(&standings, Verdict::NotProven)].concat();
            assert_eq!(broken, [""; 0], "{standard} {region}");
            looked_at += standings.len();
        }
    }
    assert!(looked_at > 200, "{looked_at}");
}

/// AS/NZS 4777.2:2020 regions B and C against A (from memory): B moves curves and lets the same stages
/// be; C waits longer at low frequency, which
/// A does not.
#[test]
fn another_region_is_found_out() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    let standard = "as-nzs-4777.2/2020-amd2";
    let b = standings(&mut assessor, standard, ["australia-b", "australia-a"]);
    let wrong = of(&b, Verdict::DoesNotComply);
    assert!(wrong.contains(&"volt-watt/points".to_owned()) && wrong.contains(&"volt-var/points".to_owned()), "{wrong:?}");
    assert!(!wrong.iter().any(|setting| setting.starts_with("undervoltage")), "{wrong:?}");
    let c = standings(&mut assessor, standard, ["australia-c", "australia-a"]);
    let (wrong, open) = (of(&c, Verdict::DoesNotComply), of(&c, Verdict::NotProven));
    for setting in ["underfrequency-1/threshold", "underfrequency-1/definite-delay", "over-frequency-response/end"] {
        assert!(wrong.contains(&setting.to_owned()), "{setting}: {wrong:?}");
    }
    // off by 6 s at the latest is not off by 2 s, but may be
    assert_eq!(open, ["underfrequency-1/disconnection"]);
}
