//! Scenarios as courses: levels and times counted from what is required, exactly.

use response::course::{Course, Grounds, Signal, course};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, ScenarioFile};
use settings_model::reader;
use settings_model::source::Sources;
use std::path::Path;

/// 230 V, 50 Hz, 5 kW; the figures of AS/NZS 4777.2:2020, region Australia A, as the shipped profile has them.
struct RegionA(Facts);

impl Default for RegionA {
    fn default() -> Self {
        let mut facts = Facts::default();
        facts.set_number(FactId::NominalVoltage, Exact::from(230));
        facts.set_number(FactId::RatedPower, Exact::from(5000));
        Self(facts)
    }
}

impl Grounds for RegionA {
    fn facts(&self) -> &Facts {
        &self.0
    }
    fn nominal_frequency(&self) -> f64 {
        50.0
    }
    fn required(&self, setting: SettingId) -> Option<f64> {
        let known = [
            ("undervoltage-1/threshold", 180.0),
            ("overvoltage-2/threshold", 275.0),
            ("sustained-overvoltage/threshold", 258.0),
            ("reconnection/upper-frequency", 50.15),
            ("reconnection/observation-time", 60.0),
            ("over-frequency-response/start", 50.25),
            ("underfrequency-1/threshold", 47.0),
            ("overfrequency-1/threshold", 52.0),
            ("remote-control/fallback-after", 900.0),
        ];
        known.iter().find(|(name, _)| SettingId::named(name) == Some(setting)).map(|(_, value)| *value)
    }
    fn times(&self, stage: SettingId) -> Option<[Option<i64>; 2]> {
        Some(if stage.function().key == "undervoltage-1" {
            [Some(10_000_000), Some(11_000_000)]
        } else {
            [Some(1_000_000), Some(2_000_000)]
        })
    }
}

fn read(text: &str) -> Result<ScenarioFile, Vec<String>> {
    let mut sources = Sources::default();
    let source = sources.add("scenario", text);
    let says = |findings: Vec<settings_model::finding::Finding>| findings.into_iter().map(|finding| finding.headline).collect::<Vec<_>>();
    let root = reader::read(source, text, Kind::Scenario).map_err(says)?;
    reader::typed(&root).map_err(says)
}

pub fn shipped() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles/scenarios");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    files.map(|path| (path.file_stem().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(path).unwrap())).collect()
}

/// What a scenario comes to in region A.
pub fn course_of(text: &str) -> Course {
    course(&read(text).unwrap(), &RegionA::default()).unwrap()
}

/// The drills of the trade (`practice.md` of the design) are all there, and each comes to a course.
#[test]
fn every_shipped_scenario_comes_to_a_course() {
    let shipped = shipped();
    assert!(shipped.len() >= 19, "{}", shipped.len());
    for (name, text) in shipped {
        let file = read(&text).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        let course = course(&file, &RegionA::default()).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        assert!(course.stretches.windows(2).all(|pair| pair[0].to == pair[1].from), "{name}");
        assert!(course.samples().all(|(_, signal)| signal.voltage.iter().all(|v| v.is_finite())), "{name}");
    }
}

/// 180 V less 5 V, for 10 s less 100 ms: no binary rounding moves an edge.
#[test]
fn levels_and_times_are_counted_exactly() {
    let text = shipped().into_iter().find(|(name, _)| name == "dip-that-must-be-ridden-through").unwrap().1;
    let course = course(&read(&text).unwrap(), &RegionA::default()).unwrap();
    let at = |stretch: usize| (course.stretches[stretch].from, course.stretches[stretch].to, course.stretches[stretch].begins.voltage[0]);
    assert_eq!([at(0), at(1)], [(0, 30_000_000, 230.0), (30_000_000, 39_900_000, 175.0)]);
    assert_eq!(course.stretches[0].begins, Signal { voltage: [230.0; 3], frequency: 50.0, available: 4000.0, own_use: 0.0 });
}

#[test]
fn what_is_not_required_is_named_at_its_place_and_all_at_once() {
    let text = "kind: scenario\ntitle: T\nteaches: T\nsource: invented\nbegin: {}\nthen:\n  - { voltage: undervoltage-2/threshold, for: 1 s }\n  - repeat: 3\n    then:\n      - { voltage: overvoltage-1/threshold + 1 V, for: reconnection/observation-time - 60 s }\n";
    let faults = course(&read(text).unwrap(), &RegionA::default()).unwrap_err();
    let lines: Vec<String> = faults.iter().map(|finding| finding.headline.clone()).collect();
    assert_eq!(
        lines,
        [
            "no single value is required of Undervoltage, stage 2: threshold here",
            "no single value is required of Overvoltage, stage 1: threshold here",
            "this makes 0 s here, and a step takes some time",
        ]
    );
}

#[test]
fn a_step_without_time_and_an_endless_repetition_are_refused() {
    let head = "kind: scenario\ntitle: T\nteaches: T\nsource: invented\nbegin: {}\nthen:\n";
    for (steps, says) in [
        ("  - { voltage: 200 V }\n", "the step takes no time"),
        ("  - { over: 3 s }\n", "nothing changes over this time"),
        ("  - { repeat: 3 }\n", "nothing is repeated"),
        ("  - { repeat: 60000, then: [{ for: 1 s }] }\n", "60000 steps, with all that is repeated"),
        ("  - { repeat: 2, voltage: 200 V, then: [{ for: 1 s }] }\n", "`voltage` beside `repeat`"),
        ("  - { for: 1 s, then: [{ for: 1 s }] }\n", "steps under a step that does not repeat"),
        ("  []\n", "nothing happens"),
    ] {
        assert_eq!(read(&format!("{head}{steps}")).unwrap_err(), [says], "{steps}");
    }
    let long = read(&format!("{head}  - {{ repeat: 8, then: [{{ for: 24 h }}] }}\n")).unwrap();
    assert_eq!(course(&long, &RegionA::default()).unwrap_err()[0].headline, "it lasts longer than a day");
}
