//! How long to stay and by when to be off, slice by slice, against the tables of the standards.

use crate::common;

use common::shipped_library;
use jiff::civil::date;
use rules::assess::Assessor;
use rules::trip_map::{Stay, TripMap, trip_map};
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::library::Request;
use settings_model::quantity::Dimension;

fn map(standard: &str, region: &str, nominal: i64, measured: Dimension) -> TripMap {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    let request = Request { standard: Some(standard), region, ..Default::default() };
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, nominal.into());
    let books = assessor.books(request, &facts).unwrap();
    let requirement = books.on(Equipment::Inverter).requirement(&facts, &[]);
    trip_map(measured, &requirement.requirement, &facts).unwrap()
}

/// `from to: stays at the lower edge, at the upper, off by`.
fn written(map: &TripMap) -> Vec<String> {
    let edge = |edge: Option<Exact>| edge.map_or("-".to_owned(), |edge| edge.to_string());
    let stay = |stay: Stay| match stay {
        Stay::Always => "always".to_owned(),
        Stay::For(seconds) => seconds.to_string(),
    };
    let line = |slice: &rules::trip_map::Slice| {
        let [low, high] = slice.stays.map(stay);
        let stays = if low == high { low } else { format!("{low}..{high}") };
        format!("{} {}: {stays}, {}", edge(slice.from), edge(slice.to), edge(slice.off_by))
    };
    map.slices.iter().map(line).collect()
}

/// AS/NZS 4777.2:2020, region A: stages as in the shipped profile (thresholds from a single source, times
/// from memory). Its withstand was not seen, so only the least delays say how long to stay.
#[test]
fn where_no_withstand_is_asked_the_least_delays_say_how_long_to_stay() {
    let voltage = map("as-nzs-4777.2/2020-amd2", "australia-a", 230, Dimension::Voltage);
    assert!(!voltage.withstand_is_asked);
    assert_eq!(
        written(&voltage),
        ["- 70: 1, 2", "70 180: 10, 11", "180 258: always, -", "258 265: always, 603", "265 275: 1, 2", "275 -: 0, 0.2"]
    );
    // the mean of 10 min above 258 V, off within 3 s: whatever was before, 603 s of it are enough
    let by_mean: Vec<bool> = voltage.slices.iter().map(|slice| slice.by_mean).collect();
    assert_eq!(by_mean, [false, false, false, true, false, false]);
    let mean = voltage.mean.as_ref().unwrap();
    assert_eq!((mean.above, mean.window, mean.off_by()), ([258.into(); 2], 600.into(), Some(603.into())));
    let frequency = map("as-nzs-4777.2/2020-amd2", "australia-a", 230, Dimension::Frequency);
    assert_eq!(written(&frequency), ["- 47: 1, 2", "47 52: always, -", "52 -: 0, 0.2"]);
}

/// IEEE Std 1547-2018, abnormal category III, default trips and ride-through: EPRI's DER model
/// specification, 2024; Argonne's PV simulation tool, 2020. In per unit.
#[test]
fn where_withstand_is_asked_both_say_it() {
    let voltage = map("ieee-1547/2018", "b-iii", 1, Dimension::Voltage);
    assert!(voltage.withstand_is_asked);
    assert_eq!(
        written(&voltage),
        ["- 0.5: 1, 2", "0.5 0.7: 10, 21", "0.7 0.88: 20, 21", "0.88 1.1: always, -", "1.1 1.2: 12, 13", "1.2 -: 0, 0.16",]
    );
    let frequency = map("ieee-1547/2018", "b-iii", 1, Dimension::Frequency);
    assert_eq!(
        written(&frequency),
        [
            "- 56.5: 0, 0.16",
            "56.5 57: 0, 300",
            "57 58.5: 299, 300",
            "58.5 58.8: 299, -",
            "58.8 61.2: always, -",
            "61.2 61.8: 299, 300",
            "61.8 62: 0, 300",
            "62 -: 0, 0.16",
        ]
    );
}

/// Category I rides through longer the nearer a dip lies to nominal, along a line.
#[test]
fn a_slope_keeps_both_its_ends() {
    let voltage = map("ieee-1547/2018", "b-i", 1, Dimension::Voltage);
    let slope = written(&voltage).into_iter().find(|line| line.starts_with("0.7 0.88")).unwrap();
    assert_eq!(slope, "0.7 0.88: 0.7..1.42, -");
}
