//! What `events` says that a device had to do, and what `behaves` says of one that did, or did not: the same trips, over
//! drawn logs of dips and swells.

use crate::program;

use program::asleft;
use serde_json::Value;
use std::fmt::Write;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";
/// Volts, how many seconds, and after how many it is off: below stage 1 for longer than its 11 s, and not; above stage 1
/// for longer than its 2 s; high, and inside. All lie farther from a threshold than a meter errs.
const EXCURSIONS: [(f64, [u64; 2], Option<u64>); 4] =
    [(150.0, [14, 40], Some(10)), (160.0, [3, 8], None), (269.0, [4, 9], Some(2)), (250.0, [5, 30], None)];

/// A number from 0 up to so many, by a seed that moves on (Knuth's constants for a linear congruence).
fn drawn(seed: &mut u64, below: u64) -> u64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 33) % below
}

/// An hour in steps of a second; whether the device leaves when it has to. Power as a lawful device gives it.
fn log(mut seed: u64, leaves: bool) -> String {
    let (mut text, mut volts, mut off_from) = (String::from("time,V_L1 [V],P [kW]\n"), [232.0; 3_600], Vec::new());
    let mut at = 900;
    while at < 3_000 {
        let (value, [shortest, longest], trips) = EXCURSIONS[drawn(&mut seed, 4) as usize];
        let lasts = shortest + drawn(&mut seed, longest - shortest + 1);
        (at..at + lasts).for_each(|second| volts[second as usize] = value);
        off_from.extend(trips.map(|after| (at + after, at + lasts)));
        // now and then the next comes before it may be back
        at += lasts + if drawn(&mut seed, 3) == 0 { 20 } else { 180 + drawn(&mut seed, 700) };
    }
    let mut back_at: u64 = 0;
    for (second, volts) in volts.iter().enumerate() {
        let second = second as u64;
        // 60 s of a supply that is as it should be, and 10 % a minute after
        if *volts != 232.0 && back_at > 0 && second < back_at {
            back_at = second + 62;
        }
        for (from, to) in &off_from {
            if leaves && second == *from && second >= back_at {
                back_at = to + 62;
            }
        }
        let kilowatts = if second < back_at {
            0.0
        } else if back_at == 0 {
            4.0
        } else {
            ((second - back_at) as f64 / 100.0).min(4.0)
        };
        writeln!(text, "2026-11-16T{:02}:{:02}:{:02}+10:00,{volts:.1},{kilowatts:.3}", 10 + second / 3_600, second / 60 % 60, second % 60)
            .unwrap();
    }
    text
}

fn json(verb: &str, log: &str, more: &[&str]) -> Value {
    let arguments = [&[verb, SITE, log, "--as-of", "2026-11-25", "--measured-at", "terminals", "--format", "json"], more].concat();
    let output = asleft(&arguments);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{arguments:?}: {}", String::from_utf8_lossy(&output.stderr)))
}

/// How often the device had to leave, as `events` plays it.
fn had_to_leave(log: &str) -> u64 {
    let report = json("events", log, &[]);
    let events = report["devices"][0]["events"].as_array().unwrap().clone();
    let trips = events.iter().filter(|event| event["what"] == "tripped");
    trips
        .map(|event| {
            assert_eq!(event["sure"], "certain", "{event}");
            event["times"].as_u64().unwrap()
        })
        .sum()
}

/// How often it did, and how often it gave power instead, as `behaves` sees it.
fn left_and_stayed(log: &str) -> (Value, [u64; 2]) {
    let report = json("behaves", log, &["--functions", "trips,reconnection"]);
    let of = |function: &str| report["functions"].as_array().unwrap().iter().find(|of| of["function"] == function).unwrap().clone();
    let (trips, returns) = (of("trips"), of("reconnection"));
    let count = |begins: &str| {
        let told = trips["happened"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let told = told.filter_map(|says| says.strip_prefix(begins)).next().and_then(|says| says.rsplit(": ").next());
        told.map_or(0, |often| if often == "once" { 1 } else { often.trim_end_matches(" times").parse().unwrap() })
    };
    let counts = [count("disconnected when"), count("gave power when")];
    assert_ne!(returns["answer"], "departs", "{returns}");
    (trips["answer"].clone(), counts)
}

#[test]
fn both_verbs_know_the_same_trips() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("log.csv");
    let file = file.to_str().unwrap();
    let (first, many) = (number("ASLEFT_SEED", 1), number("ASLEFT_DRAWN", 12));
    let mut trips = 0;
    for seed in first..first + many {
        for leaves in [true, false] {
            std::fs::write(file, log(seed, leaves)).unwrap();
            let (had_to, (answer, [left, stayed])) = (had_to_leave(file), left_and_stayed(file));
            trips += had_to;
            let wanted = if leaves { [had_to, 0] } else { [0, had_to] };
            assert_eq!([left, stayed], wanted, "seed {seed}, leaves: {leaves}");
            let wanted = match (had_to, leaves) {
                (0, _) => "not-shown",
                (_, true) => "behaves",
                (_, false) => "departs",
            };
            assert_eq!(answer, wanted, "seed {seed}, leaves: {leaves}");
        }
    }
    assert!(trips > 2 * many, "{trips}");
}

fn number(variable: &str, usual: u64) -> u64 {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}
