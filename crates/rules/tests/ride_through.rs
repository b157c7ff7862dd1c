//! Trips against ride-through, by the tables of IEEE Std 1547-2018: every default keeps out of it, and
//! each edge of the tables decides, to the last digit.

use crate::common;

use common::shipped_library;
use jiff::civil::date;
use rules::assess::Assessor;
use settings_model::catalogue::SettingId;
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;

const RULE: &str = "trip-inside-withstand";

/// A device of a region, with these settings and everything else as its category brings it.
fn site(standard: &str, region: &str, nominal: &str, settings: &str) -> String {
    let (year, amendment) = if standard.ends_with("amd1") { (2018, 1) } else { (2018, 0) };
    format!(
        "kind: site
site: example
requirements: {{ standard: {standard}, region: {region} }}
supply: {{ phases: 1, nominal: {nominal} line-neutral }}
devices:
  inverter-1:
    certified: {{ standard: ieee-1547, edition: {{ year: {year}, amendment: {amendment} }} }}
    as-left:
      known-by: display
      region-selected: {region}
      settings: {settings}
"
    )
}

/// How often the rule is broken.
fn broken(assessor: &mut Assessor, text: &str) -> usize {
    let source = assessor.sources.add("example", text);
    let root = reader::read(source, text, Kind::Site).unwrap_or_else(|findings| panic!("{text}: {findings:#?}"));
    let file: SiteFile<'_> = reader::typed(&root).unwrap();
    assessor.assess(&file).broken.iter().filter(|broken| broken.rule == RULE).count()
}

#[test]
fn every_default_keeps_out_of_the_ride_through_of_its_category() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    let stages: Vec<SettingId> = SettingId::all().filter(|id| id.parameter().key == "clearing-time").collect();
    for standard in ["ieee-1547/2018", "ieee-1547/2018-amd1"] {
        for region in ["a-i", "a-ii", "a-iii", "b-i", "b-ii", "b-iii"] {
            let request = settings_model::library::Request { standard: Some(standard), region, ..Default::default() };
            let books = assessor.books(request, &Default::default()).unwrap();
            let book = books.on(settings_model::catalogue::Equipment::Inverter);
            let requirement = &book.requirement(&Default::default(), &[]).requirement;
            let required = |setting: SettingId| Some(requirement.get(setting)?.entry.require.as_ref()?.show(setting));
            let mut stated = Vec::new();
            for stage in &stages {
                let Some((threshold, time)) = stage.sibling("threshold").and_then(required).zip(required(*stage)) else { continue };
                stated.push(format!("{}: {{ threshold: {threshold}, clearing-time: {time} }}", stage.function().key));
            }
            assert_eq!(stated.len(), 8, "{standard} {region}: two stages on each side of voltage and frequency");
            for nominal in ["120 V", "277 V"] {
                let text = site(standard, region, nominal, &format!("{{ {} }}", stated.join(", ")));
                assert_eq!(broken(&mut assessor, &text), 0, "{text}");
            }
        }
    }
}

/// The ride-through tables: EPRI's DER model specification, 2024, with NREL's PyDSS (categories I and
/// II) and Argonne's PV simulation tool, 2020 (category III, frequency). The last digit decides.
#[test]
fn each_edge_of_the_tables_decides() {
    const I: &str = "b-i";
    const II: &str = "b-ii";
    const III: &str = "b-iii";
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    for (region, stage, threshold, keeps_out, cuts_in) in [
        // mandatory operation of category I: 0.7 s at 0.70, and 4 s longer for each per unit
        (I, "undervoltage-1", "0.88 pu", "1.42 s", "1.419 s"),
        (I, "undervoltage-1", "0.79 pu", "1.06 s", "1.059 s"),
        (I, "undervoltage-1", "0.70 pu", "0.16 s", "0.159 s"),
        (I, "undervoltage-2", "0.50 pu", "0.01 s", ""),
        // of category II: 3 s at 0.65, and 8.7 s longer for each per unit
        (II, "undervoltage-1", "0.88 pu", "5.001 s", "5 s"),
        (II, "undervoltage-1", "0.70 pu", "3.435 s", "3.434 s"),
        (II, "undervoltage-1", "0.65 pu", "0.32 s", "0.319 s"),
        (II, "undervoltage-2", "0.45 pu", "0.16 s", "0.159 s"),
        (II, "undervoltage-2", "0.30 pu", "0.01 s", ""),
        (III, "undervoltage-1", "0.88 pu", "20 s", "19.999 s"),
        (III, "undervoltage-1", "0.7001 pu", "20 s", "19.999 s"),
        (III, "undervoltage-1", "0.70 pu", "10 s", "9.999 s"),
        (III, "undervoltage-2", "0.50 pu", "1 s", "0.999 s"),
        (III, "undervoltage-2", "0.10 pu", "1 s", "0.999 s"),
        // a stage that looks at everything below or above is held against all of it
        (II, "overvoltage-1", "1.10 pu", "1 s", "0.999 s"),
        (II, "overvoltage-1", "1.15 pu", "0.5 s", "0.499 s"),
        (II, "overvoltage-1", "1.175 pu", "0.2 s", "0.199 s"),
        (II, "overvoltage-2", "1.20 pu", "0.01 s", ""),
        (III, "overvoltage-1", "1.1999 pu", "12 s", "11.999 s"),
        (III, "overvoltage-2", "1.20 pu", "0.01 s", ""),
        (III, "overfrequency-1", "61.2 Hz", "299 s", "298.9 s"),
        (III, "overfrequency-2", "61.8 Hz", "0.16 s", ""),
        (III, "overfrequency-2", "61.79 Hz", "299 s", "0.16 s"),
        (III, "underfrequency-1", "58.8 Hz", "299 s", "298.9 s"),
        (III, "underfrequency-2", "57 Hz", "0.16 s", ""),
        (III, "underfrequency-2", "57.01 Hz", "299 s", "0.16 s"),
    ] {
        for (time, expected) in [(keeps_out, 0), (cuts_in, 1)].into_iter().filter(|(time, _)| !time.is_empty()) {
            for nominal in ["120 V", "277 V"] {
                let text = site(
                    "ieee-1547/2018-amd1",
                    region,
                    nominal,
                    &format!("{{ {stage}: {{ threshold: {threshold}, clearing-time: {time} }} }}"),
                );
                assert_eq!(broken(&mut assessor, &text), expected, "{region}: {stage} at {threshold} after {time}");
            }
        }
    }
}

/// Continuous operation is 0.88 to 1.10 per unit and 58.8 to 61.2 Hz, by the same sources.
#[test]
fn no_time_makes_up_for_a_trip_inside_continuous_operation() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    for (stage, inside) in
        [("undervoltage-1", "0.8801 pu"), ("overvoltage-1", "1.0999 pu"), ("underfrequency-1", "58.81 Hz"), ("overfrequency-1", "61.19 Hz")]
    {
        let trips = |state: &str| format!("{{ {stage}: {{ state: {state}, threshold: {inside}, clearing-time: 1000 s }} }}");
        assert_eq!(broken(&mut assessor, &site("ieee-1547/2018", "b-ii", "120 V", &trips("enabled"))), 1, "{stage}");
        assert_eq!(broken(&mut assessor, &site("ieee-1547/2018", "b-ii", "120 V", &trips("off"))), 0, "{stage} is off");
    }
}

#[test]
fn what_the_operator_asks_for_itself_is_meant_so() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    for (network, region, dates, settings, expected) in [
        // Pinewold (invented) has a stage inside continuous operation, with a reason
        ("pinewold", "b-iii", "2026-02-12", "{ overfrequency-1: { threshold: 60.6 Hz, clearing-time: 300 s } }", 0),
        ("pinewold", "b-iii", "2026-02-12", "{ overvoltage-1: { threshold: 1.09 pu, clearing-time: 13 s } }", 1),
        // Northfold (invented) trips before category II has to have ridden through
        ("northfold", "b-ii", "2026-02-12", "{ undervoltage-1: { threshold: 0.86 pu, clearing-time: 2.4 s } }", 0),
        ("northfold", "b-ii", "2026-02-12", "{ undervoltage-2: { threshold: 0.48 pu, definite-delay: 0.1 s } }", 1),
    ] {
        let text = site("ieee-1547/2018-amd1", region, "120 V", settings)
            .replace("site: example\n", &format!("site: example\nnetwork: {network}\ndates: {{ applied: {dates} }}\n"))
            .replace("standard: ieee-1547/2018-amd1, ", "");
        assert_eq!(broken(&mut assessor, &text), expected, "{text}");
    }
}
