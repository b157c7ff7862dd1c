//! What a profile is refused for is kept like what is read: it is not read again for every site.

use rules::assess::Assessor;
use rules::provenance::Verdict;
use settings_model::files::{Kind, SiteFile};
use settings_model::library::{Library, Profile};
use settings_model::reader;
use settings_model::source::SourceId;

const SITE: &str = "kind: site
site: broken-bend-1
network: brokenridge
requirements: { overlay: ^1.0, region: australia-a }
dates: { applied: 2026-08-03, approved: 2026-08-31, installed: 2026-10-13 }
supply: { phases: 1, nominal: 230 V line-neutral }
devices: { inverter-1: { source: solar, nameplate: 5 kVA, as-left: { settings: { sustained-overvoltage: { threshold: 255 V } } } } }
";

/// The shipped standards, and an invented network whose only version cannot be read.
fn library() -> Library {
    let mut library = Library::default();
    let standards = concat!(env!("CARGO_MANIFEST_DIR"), "/../../profiles/standards/as-nzs-4777.2/2020-amd2.yaml");
    for (path, text) in [
        ("standards/as-nzs-4777.2/2020-amd2.yaml", std::fs::read_to_string(standards).unwrap()),
        ("overlays/brokenridge/1.0.0.yaml", "kind: overlay\nnetwork: brokenridge\nversion: nothing\n".to_owned()),
    ] {
        library.add(Profile { path: path.to_owned(), name: path.to_owned(), text: text.into(), shipped: false });
    }
    library
}

#[test]
fn a_broken_profile_is_read_once() {
    let mut assessor = Assessor::new(library(), settings_model::notation::date("2026-11-25").unwrap());
    let root = reader::read(SourceId(9), SITE, Kind::Site).unwrap();
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let mut told = Vec::new();
    for _ in 0..3 {
        let assessment = assessor.assess(&site);
        assert_eq!(assessment.verdict, Verdict::CouldNotTell);
        let headlines: Vec<String> = assessment.profile_findings.iter().map(|finding| finding.headline.clone()).collect();
        assert!(!headlines.is_empty());
        told.push((headlines, assessor.sources.len()));
    }
    assert!(told.iter().all(|one| *one == told[0]), "{told:?}");
}

#[test]
fn rounding_never_says_that_nothing_changed() {
    use rules::compare::holdings::By;
    use settings_model::catalogue::SettingId;
    use settings_model::exact::Exact;
    let points = SettingId::of("volt-var", "points");
    let by = By::Response { by: Exact::new(-4, 3), at: Exact::from(250) };
    assert_eq!(rules::compare::words::in_words(points, by, true), "response up to 0.004 % lower, at 250 V");
}
