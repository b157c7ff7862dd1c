//! EREC G98 and G99, Type A, low voltage: how long to stay and by when to be off. Every figure is recalled,
//! but for the bands of frequency (legislation.gov.uk, Regulation (EU) 2016/1388, annex I, Great Britain).

use crate::common;

use common::{exact, shipped_library};
use jiff::civil::date;
use rules::assess::Assessor;
use rules::trip_map::{Slice, Stay, TripMap, trip_map};
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::library::Request;
use settings_model::quantity::Dimension;

const BOTH: [(&str, &str); 2] = [("erec-g98/2018-amd7", "great-britain"), ("erec-g99/2018-amd9", "type-a-low-voltage")];

fn map((standard, region): (&str, &str), measured: Dimension) -> TripMap {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    let request = Request { standard: Some(standard), region, ..Default::default() };
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, 230.into());
    let books = assessor.books(request, &facts).unwrap();
    let requirement = books.on(Equipment::Inverter).requirement(&facts, &[]);
    trip_map(measured, &requirement.requirement, &facts).unwrap()
}

fn at(map: &TripMap, value: Exact) -> &Slice {
    let holds = |slice: &&Slice| slice.from.is_none_or(|from| value >= from) && slice.to.is_none_or(|to| value < to);
    map.slices.iter().find(holds).unwrap()
}

/// The disturbances that a type test applies to show that the device does not trip (EREC G98, Form C, recalled).
/// Each lies just inside a threshold, or ends just before a delay.
#[test]
fn a_device_set_as_is_asked_stays_on_through_the_tests_that_must_not_trip() {
    for standard in BOTH {
        let (voltage, frequency) = (map(standard, Dimension::Voltage), map(standard, Dimension::Frequency));
        for (map, value, seconds) in [
            (&voltage, "188", "5.0"),
            (&voltage, "180", "2.45"),
            (&voltage, "258.2", "5.0"),
            (&voltage, "269.7", "0.95"),
            (&voltage, "277.7", "0.45"),
            (&frequency, "47.7", "30"),
            (&frequency, "47.2", "19.5"),
            (&frequency, "46.8", "0.45"),
            (&frequency, "51.8", "120"),
            (&frequency, "52.2", "0.45"),
        ] {
            let stays = at(map, exact(value)).stays;
            let long_enough = |stay: Stay| match stay {
                Stay::Always => true,
                Stay::For(least) => exact(seconds) <= least,
            };
            assert!(stays.into_iter().all(long_enough), "{standard:?} {value} for {seconds} s: {stays:?}");
        }
    }
}

/// By when it is off: the delay and at most half a second more (recalled).
#[test]
fn beyond_each_threshold_it_is_off_half_a_second_after_the_delay() {
    for standard in BOTH {
        let (voltage, frequency) = (map(standard, Dimension::Voltage), map(standard, Dimension::Frequency));
        for (map, value, delay, off_by) in [
            (&voltage, "183.9", "2.5", "3"),
            (&voltage, "262.3", "1", "1.5"),
            (&voltage, "273.8", "0.5", "1"),
            (&frequency, "47.4", "20", "20.5"),
            (&frequency, "46.9", "0.5", "1"),
            (&frequency, "52.1", "0.5", "1"),
        ] {
            let slice = at(map, exact(value));
            assert_eq!((slice.stays[0], slice.off_by), (Stay::For(exact(delay)), Some(exact(off_by))), "{standard:?} {value}");
        }
        for inside in ["184", "230", "262.1"] {
            let slice = at(&voltage, exact(inside));
            assert_eq!((slice.stays, slice.off_by), ([Stay::Always; 2], None), "{standard:?} {inside}");
        }
        // a quarter of an hour is to be stood at 51.8 Hz, an hour and a half at 48 Hz; nothing trips there
        for (value, seconds) in [("51.8", "900"), ("48", "5400")] {
            let slice = at(&frequency, exact(value));
            assert_eq!((slice.stays, slice.off_by), ([Stay::For(exact(seconds)); 2], None), "{standard:?} {value}");
        }
    }
}
