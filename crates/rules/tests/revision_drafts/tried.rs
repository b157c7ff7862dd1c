//! Drawn versions read as books, and which values of a drawn site break nothing of one.

use super::super::common::{read_site, setting};
use super::{Ground, Holds, Pair, Place, site};
use proptest::test_runner::{Config, RngSeed, TestCaseError, TestError};
use rules::assess::{Assessor, Books};
use settings_model::catalogue::SettingId;
use settings_model::files::SiteFile;
use settings_model::library::Profile;
use settings_model::reader;

/// So many pairs from this seed: the gate asks the same each time; `PROPTEST_RNG_SEED` and `ASLEFT_PAIRS` go
/// hunting for others.
pub fn config(cases: u32, seed: u64, shrinks: u32) -> Config {
    let cases = std::env::var("ASLEFT_PAIRS").ok().and_then(|text| text.parse().ok()).unwrap_or(cases);
    let rng_seed = match Config::default().rng_seed {
        RngSeed::Random => RngSeed::Fixed(seed),
        chosen => chosen,
    };
    Config { cases, rng_seed, failure_persistence: None, max_shrink_iters: shrinks, ..Config::default() }
}

/// Panics where pairs of versions failed, with the least of them that does.
pub fn kept<Places, Sites>(outcome: Result<(), TestError<(Pair, Places, Sites)>>, ground: &Ground) {
    match outcome {
        Ok(()) => {}
        Err(TestError::Fail(why, (pair, ..))) => panic!("{why}\nunder these versions on {}:\n{pair:?}", ground.standard),
        Err(TestError::Abort(why)) => panic!("{why}"),
    }
}

/// The two versions as books, in an assessor that keeps the standards it read. What the reader refuses, such
/// as a curve outside the range that the same line leaves to it, is no network.
pub fn books(pair: &Pair, ground: &Ground, network: &str, assessor: &mut Assessor) -> Result<[Books; 2], TestCaseError> {
    let mut of = |newer: usize| {
        let text = pair.text(ground, network, newer);
        let path = format!("overlays/{network}/{}.0.0.yaml", newer + 1);
        assessor.library.add(Profile { name: path.clone(), path, text: text.clone().into(), shipped: false });
        let version = semver::Version::new(newer as u64 + 1, 0, 0);
        let rulebooks = assessor.library.rulebooks_of((network, &version), ground.region, &mut assessor.sources);
        rulebooks.map(Books::of).map_err(|refusal| TestCaseError::reject(format!("{refusal:?}\n{text}")))
    };
    Ok([of(0)?, of(1)?])
}

/// At each place, of each slot, the values that break nothing of the older version, found by judging.
pub fn good_values(
    ground: &Ground,
    network: &str,
    places: &[Place],
    values: &[Vec<String>],
    old: &Books,
    assessor: &mut Assessor,
) -> Vec<Vec<Vec<usize>>> {
    let most = values.iter().map(Vec::len).max().unwrap_or_default();
    let of_place = |place: &Place| {
        let mut good = vec![Vec::new(); ground.slots.len()];
        for n in 0..most {
            let held: Vec<Holds> = values.iter().map(|_| Some((n, "read"))).collect();
            let text = site(ground, network, place, &held, values);
            let root = read_site(&text, assessor).unwrap();
            let tried: SiteFile<'_> = reader::typed(&root).unwrap();
            let assessment = assessor.assess_under(&tried, old);
            let wrong: Vec<SettingId> = assessment.devices.iter().flat_map(|device| &device.faults).map(|fault| fault.setting).collect();
            for (slot, found) in good.iter_mut().enumerate() {
                let own = setting(&format!("{}/{}", ground.slots[slot].function, ground.slots[slot].parameter));
                if n < values[slot].len() && !wrong.contains(&own) {
                    found.push(n);
                }
            }
        }
        good
    };
    places.iter().map(of_place).collect()
}
