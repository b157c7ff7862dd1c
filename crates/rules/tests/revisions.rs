//! Version steps: the shipped histories took the steps they deserved, and whoever a breaking change
//! strands complied before and does not after.

mod common;

use common::*;
use jiff::civil::Date;
use rules::assess::{Assessor, Books, SiteVerdict};
use rules::example_site::Under;
use rules::revision::{Reason, Step, weighed};
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;

fn regions(standard: &str, assessor: &mut Assessor) -> Vec<String> {
    let standard = assessor.library.standard(standard, &mut assessor.sources).unwrap();
    standard.file.regions.iter().map(|(key, _)| key.to_owned()).collect()
}

/// Every example is a whole site that reads without a fault, complies under the older version and
/// does not under the newer one, as the judge sees it.
#[test]
fn every_shipped_history_took_the_steps_it_deserved() {
    let mut assessor = Assessor::new(shipped_library(), Date::constant(2026, 11, 25));
    let (mut shown, mut without) = (0, Vec::new());
    for network in assessor.library.networks() {
        for pair in assessor.library.versions(&network).windows(2) {
            let declared = Step::between(&pair[0], &pair[1]).unwrap();
            let standard = assessor.library.standard_below(&network, &pair[0], &mut assessor.sources).unwrap();
            let mut deserved = Step::Patch;
            for region in regions(&standard, &mut assessor) {
                let mut books = |version| assessor.library.rulebooks_of((&network, version), &region, &mut assessor.sources);
                let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
                let (old, new) = (Books::of(old), Books::of(new));
                let under = Under { network: Some(&network), standard: &standard, region: &region };
                for weighed in weighed(&old, &new, under, &mut assessor) {
                    deserved = deserved.max(weighed.step);
                    let Some(example) = &weighed.example else {
                        if weighed.step == Step::Breaking {
                            without.push(format!("{network} {} {region} {}", pair[1], weighed.change.setting));
                        }
                        continue;
                    };
                    shown += 1;
                    let source = assessor.sources.add("example", example.site.as_str());
                    let root =
                        reader::read(source, &example.site, Kind::Site).unwrap_or_else(|faults| panic!("{faults:?}\n{}", example.site));
                    let site: SiteFile<'_> = reader::typed(&root).unwrap();
                    assert_eq!(assessor.assess_under(&site, &old).verdict, SiteVerdict::Complies, "{}", example.site);
                    assert_ne!(assessor.assess_under(&site, &new).verdict, SiteVerdict::Complies, "{}", example.site);
                }
            }
            assert_eq!(deserved, declared, "{network} {} to {}", pair[0], pair[1]);
        }
    }
    assert!(shown >= 30, "{shown}");
    assert_eq!(without, [""; 0]);
}

#[test]
fn a_step_is_named_by_what_it_takes_away() {
    for (reason, step) in [
        (Reason::ValuesLost, Step::Breaking),
        (Reason::NewlyAsked, Step::Breaking),
        (Reason::OtherPointsLost, Step::Breaking),
        (Reason::StageUnasked, Step::Breaking),
        (Reason::EvidenceDemanded, Step::Breaking),
        (Reason::RangeNarrower, Step::Breaking),
        (Reason::FewerMayMove, Step::Breaking),
        (Reason::MoreComplies, Step::Minor),
        (Reason::RequiredMoved, Step::Minor),
        (Reason::WordsOnly, Step::Patch),
    ] {
        assert_eq!(reason.step(), step, "{reason:?}");
    }
    let version = |text: &str| semver::Version::parse(text).unwrap();
    let between = |old: &str, new: &str| Step::between(&version(old), &version(new));
    assert_eq!(between("1.2.3", "2.0.0"), Some(Step::Breaking));
    assert_eq!(between("1.2.3", "1.3.0"), Some(Step::Minor));
    assert_eq!(between("1.2.3", "1.2.4"), Some(Step::Patch));
    assert_eq!(between("0.2.3", "0.3.0"), Some(Step::Breaking), "before 1.0.0 the second number counts");
    assert_eq!(between("1.2.3", "1.2.3"), None);
    assert_eq!(Step::Breaking.after(&version("1.2.3")), version("2.0.0"));
    assert_eq!(Step::Minor.after(&version("1.2.3")), version("1.3.0"));
}
