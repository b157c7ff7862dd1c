//! What a device did or will do, in words: how often it disconnected, what was not played, times that say only by when it is
//! off, and a time that follows a slope. Each is held against what is played, in every verb that says it.

use crate::program;
use crate::served;

use program::logs::{SITE, events_at, on_one_line, played, played_at};
use program::{DAY, asleft, root};
use serde_json::Value;
use served::Served;
use std::path::Path;

/// A log of so many seconds of a voltage, with rows a tenth of a second apart.
fn log(stretches: &[(f64, f64)]) -> String {
    let (mut text, mut row) = ("t [s],V_L1 [V],f [Hz]\n".to_owned(), 0);
    let mut end = 0.0;
    for (seconds, volts) in stretches {
        end += seconds;
        while f64::from(row) * 0.1 < end - 1e-9 {
            text.push_str(&format!("{:.1},{volts},50\n", f64::from(row) * 0.1));
            row += 1;
        }
    }
    text
}

/// Three dips in half a minute: a device that left in one of them waits a minute, so no device drops out twice.
#[test]
fn what_may_have_happened_in_one_of_several_dips_is_counted_once() {
    let dips = log(&[(10.0, 230.0), (1.5, 50.0), (5.0, 230.0), (1.6, 45.0), (5.0, 230.0), (1.7, 40.0), (9.0, 230.0)]);
    let (report, text) = played(&dips, &["--with", "as-nzs-4777.2/2020-amd2/new-zealand"]).unwrap();
    let device = &report["devices"][0];
    assert_eq!(device["events"].as_array().unwrap().iter().filter(|event| event["what"] == "tripped").count(), 3);
    assert_eq!(device["drop-outs"], serde_json::json!([0, 1]));
    assert!(text.contains("It may have disconnected once.") && text.contains("may have disconnected 1 1"), "{text}");
    // nobody says whether it was on
    let (report, _) = played_at(SITE, &log(&[(10.0, 230.0), (3.0, 50.0), (9.0, 230.0)]), &[]).unwrap();
    assert_eq!(report["devices"][0]["in-short"], "It disconnected once.");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    std::fs::write(&path, log(&[(10.0, 230.0), (3.0, 50.0), (9.0, 230.0)])).unwrap();
    let text = on_one_line(&events_at(SITE, &path, &["--no-plot"]).stdout);
    assert!(text.contains("It may have disconnected once. It may have disconnected between"), "{text}");
}

/// What is not known of a stage is no reason to say that all is well.
#[test]
fn what_could_not_be_played_is_not_proven() {
    let folder = tempfile::tempdir().unwrap();
    let site = std::fs::read_to_string(root().join(SITE)).unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    let calm = write("calm.csv", &log(&[(60.0, 230.0)]));
    let blind = write("blind.csv", &log(&[(60.0, 230.0)]).replace(",50\n", "\n").replace(",f [Hz]", ""));
    let misspelt = write("misspelt.yaml", &site.replace("region-selected: australia-a", "region-selected: australia-aa"));
    let one = write("one.yaml", &site.replace("undervoltage-2", "undervoltage-3").replace("region-selected: australia-a", ""));
    let run = |site: &Path, log: &Path| {
        let output = events_at(site.to_str().unwrap(), log, &["--no-plot", "--in-service", "yes"]);
        (output.status.code(), on_one_line(&output.stdout))
    };
    let (exit, text) = run(&root().join(SITE), &calm);
    assert!(exit == Some(0) && text.contains("No stage that was played disconnected it."), "{text}");
    let (exit, text) = run(&misspelt, &calm);
    assert!(
        exit == Some(1) && text.contains("None of its stages could be played, so that nothing says whether it disconnected."),
        "{text}"
    );
    let (exit, text) = run(&root().join(SITE), &blind);
    assert!(exit == Some(1) && text.contains("No stage that was played disconnected it; 2 of its stages could not be played."), "{text}");
    let (exit, text) = run(&one, &calm);
    assert!(exit == Some(1) && text.contains("could be played"), "{text}");
}

/// A device of three phases may trip by any; a log of one says nothing of the others.
#[test]
fn a_phase_that_is_not_logged_is_not_proven() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let three = |text: &str| text.replace("V_L1 [V]", "V_L1 [V],V_L2 [V],V_L3 [V]").replace(",230,50", ",230,230,230,50");
    let calm = log(&[(60.0, 230.0)]);
    for (text, exit, says) in [(calm.clone(), 1, Some("2 of its phases are not in the log")), (three(&calm), 0, None)] {
        std::fs::write(&path, text).unwrap();
        let output =
            events_at("tests/sites/boathouse-row-5.yaml", &path, &["--no-plot", "--in-service", "yes", "--measured-at", "terminals"]);
        let text = on_one_line(&output.stdout);
        assert_eq!(output.status.code(), Some(exit), "{text}");
        assert_eq!(text.contains("2 of the phases that it looks at are not in the log"), says.is_some(), "{text}");
        assert!(says.is_none_or(|says| text.contains(says)), "{text}");
    }
    let played = asleft(&["scenario", "tests/sites/boathouse-row-5.yaml", "noon-creep", "--no-plot", "--as-of", DAY]);
    assert!(!on_one_line(&played.stdout).contains("not in the log"));
}

/// A device of IEEE 1547 that states clearing times: by then it is off, and how long it stays on is the standard's to say.
fn clears(volts: u32, certified: &str) -> String {
    format!(
        "kind: site\nsite: pelican-steps-2\nrequirements: {{ standard: ieee-1547/2018-amd1, region: b-ii }}\n\
         dates: {{ applied: 2026-01-20, installed: 2026-06-02 }}\nsupply: {{ phases: 1, nominal: {volts} V line-neutral }}\n\
         devices:\n  inverter-1:\n    {certified}source: solar\n    nameplate: 2 kVA\n    rated-power: 2 kW\n    phases: 1\n    \
         as-left:\n      date: 2026-06-02\n      role: licensed installer\n      known-by: read\n      region-selected: b-ii\n      \
         settings:\n        undervoltage-1: {{ state: enabled, threshold: 0.70 pu, clearing-time: 10 s }}\n        \
         overvoltage-1: {{ state: enabled, threshold: 1.10 pu, clearing-time: 2 s }}\n"
    )
}

const CERTIFIED: &str = "certified: { standard: ieee-1547, edition: { year: 2018, amendment: 1 } }\n    ";

fn scenario(volts: f64, seconds: f64) -> String {
    format!(
        "kind: scenario\ntitle: One value\nteaches: It stays.\nsource: invented\nbegin: {{ available: 1 kW }}\nthen:\n  \
         - for: 2 s\n  - {{ voltage: {volts} V, for: {seconds} s }}\n"
    )
}

/// The map, the scenario and the page say the same of a clearing time, and of a ride-through along a slope
/// (3 s at 0.65 pu and 8.7 s more for each unit, IEEE 1547-2018, category II).
#[test]
fn a_clearing_time_and_a_slope_are_one_thing_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    std::fs::write(&site, clears(120, CERTIFIED)).unwrap();
    let site = site.to_str().unwrap();
    let map = asleft(&["trip-map", site, "--of", "voltage", "--as-of", DAY]);
    let text = on_one_line(&map.stdout);
    assert!(text.contains("Undervoltage, stage 1 trips below 84 V; it is off by 10 s"), "{text}");
    assert!(text.contains("the device trips, or is off by then") && !text.contains("after 10 s"), "{text}");
    let map: Value = serde_json::from_slice(&asleft(&["trip-map", site, "--format", "json", "--as-of", DAY]).stdout).unwrap();
    let held = &map["maps"][0]["held"][0];
    assert_eq!((&held["after"], &held["off-by"]), (&Value::Null, &10.0.into()), "{held}");
    let served = Served::start(folder.path(), &["site.yaml"]);
    for (volts, stays) in [(83.0_f64, 3.0 + 8.7 * (83.0 / 120.0 - 0.65)), (79.2, 3.0 + 8.7 * (79.2 / 120.0 - 0.65)), (60.0, 0.32)] {
        let file = folder.path().join("one-value.yaml");
        std::fs::write(&file, scenario(volts, 15.0)).unwrap();
        let played = asleft(&["scenario", site, file.to_str().unwrap(), "--format", "json", "--as-of", DAY]);
        let played: Value = serde_json::from_slice(&played.stdout).unwrap();
        let trip = &played["timeline"]["devices"][0]["events"][0];
        let at = |edge: &str| trip[edge]["seconds"].as_f64().unwrap() - 2.0;
        assert!((at("earliest") - stays).abs() < 2e-3 && (at("latest") - 10.0).abs() < 2e-3, "{volts} V: {trip}");
        let page = served.get(&format!("/at?of=site.yaml:inverter-1:as-left&v={volts}&f=60&p=1")).json();
        let says = page["parts"]["a-answer"].as_str().unwrap().replace(['\u{a0}', '\u{202f}'], " ").replace("&nbsp;", " ");
        let said = says.split_once("has to stay on for ").and_then(|(_, rest)| rest.split_once(" s")).unwrap_or_else(|| panic!("{says}")).0;
        assert!((said.parse::<f64>().unwrap() - stays).abs() < 1e-3, "{volts} V: {said} against {stays}");
        assert!(says.contains("as it is set, it is off by 10 s"), "{says}");
    }
}

/// Where nothing says how long it stays on, that is told: it is no knowledge that it trips at once.
#[test]
fn a_time_that_says_nothing_of_staying_on_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let (site, file) = (folder.path().join("site.yaml"), folder.path().join("one-value.yaml"));
    std::fs::write(&file, scenario(80.0, 15.0)).unwrap();
    for (certified, is_told) in [(CERTIFIED, false), ("", true)] {
        std::fs::write(&site, clears(120, certified)).unwrap();
        let output = asleft(&["scenario", site.to_str().unwrap(), file.to_str().unwrap(), "--no-plot", "--as-of", DAY]);
        let text = on_one_line(&output.stdout);
        assert_eq!(text.contains("its shortest time to trip is not known; it is assumed to trip at once or later"), is_told, "{text}");
    }
}

/// What could have been given is no less than what was, however short the log.
#[test]
fn little_energy_is_told_as_finely_as_what_was_given() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("one-value.yaml");
    std::fs::write(&file, scenario(60.0, 80.0)).unwrap();
    let text = on_one_line(&asleft(&["scenario", SITE, file.to_str().unwrap(), "--no-plot", "--as-of", DAY]).stdout);
    // 1 kW for 82 s
    assert!(text.contains("0.02 kWh were available, 0.00 kWh were delivered"), "{text}");
}

/// Of several devices, a picture says of which it could not play a stage.
#[test]
fn a_picture_says_whose_stage_was_not_played() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = folder.path().join("drawn.svg");
    let output = asleft(&[
        "scenario",
        SITE,
        "noon-creep",
        "--with",
        "as-nzs-4777.2/2015/australia",
        "--no-plot",
        "--svg",
        drawn.to_str().unwrap(),
        "--as-of",
        DAY,
    ]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let drawn = std::fs::read_to_string(&drawn).unwrap();
    assert!(drawn.contains("B: Not played: Undervoltage, stage 1: its time is not known"), "{drawn}");
    assert!(drawn.contains(">Not played: Active anti-islanding"), "{drawn}");
}

/// A slide is 16 to 9 and holds everything, however many devices are beside each other; what they have alike is named once.
#[test]
fn a_slide_has_room_for_every_device() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = folder.path().join("slide.svg");
    let others = ["as-nzs-4777.2/2020-amd2/new-zealand", "as-nzs-4777.2/2015/australia", "as-nzs-4777.2/2020-amd2/australia-c"];
    for count in 0..=others.len() {
        let with: Vec<&str> = others[..count].iter().flat_map(|other| ["--with", other]).collect();
        let arguments = ["scenario", SITE, "noon-creep", "--slide", "--no-plot", "--svg", drawn.to_str().unwrap(), "--as-of", DAY];
        let output = asleft(&[&arguments[..], &with].concat());
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let picture = std::fs::read_to_string(&drawn).unwrap();
        let (_, rest) = picture.split_once("viewBox=\"0 0 ").unwrap();
        let (width, height) = rest.split_once('"').unwrap().0.split_once(' ').unwrap();
        let [width, height]: [f64; 2] = [width, height].map(|size| size.parse().unwrap());
        assert!((width / height - 16.0 / 9.0).abs() < 0.01, "{count}: {width} to {height}");
        let places = picture.split(" y=\"").skip(1).map(|rest| rest.split_once('"').unwrap().0.parse::<f64>());
        let lowest = places.flatten().fold(0.0, f64::max);
        assert!(lowest <= height && picture.matches("off where it may be").count() <= count + 1, "{count}: {lowest} of {height}");
        assert!(count == 0 || picture.matches(": Overvoltage, stage 1<").count() <= 1, "{count}");
        assert!(count != 2 || picture.contains("265 V: (A, B) Overvoltage, stage 1"), "{picture}");
    }
}

/// Of two devices on the page, what the second does with reactive power is said by what it does, not by signs.
#[test]
fn reactive_power_is_absorbed_or_supplied_and_not_higher() {
    let served = Served::start(&root(), &[SITE]);
    let page = served.get(&format!("/?of={SITE}:inverter-1:as-left&with=as-nzs-4777.2/2015/australia&v=252&f=50&p=4")).body;
    let plain = page.replace(['\u{a0}', '\u{202f}'], " ").replace("&nbsp;", " ");
    assert!(plain.contains("In the second, it absorbs 2.4 kvar less."), "{plain}");
}

/// At half its rating nothing is asked of its power factor: it gives the same whether that acted before or not.
#[test]
fn what_two_histories_come_to_alike_is_told_once() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    let site = "kind: site\nsite: heath-lock-3\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-a }\n\
                dates: { applied: 2026-03-04, approved: 2026-04-01, installed: 2026-05-13 }\n\
                supply: { phases: 1, nominal: 230 V line-neutral }\ncables:\n  \
                mains: { part: consumer-mains, impedance: { resistance: 0.2 ohm, reactance: 0.3 ohm }, feeds: [inverter-1] }\n\
                devices:\n  inverter-1:\n    { source: solar, nameplate: 6 kVA, rated-power: 6 kW, phases: 1, as-left: { date: 2026-05-13, \
                role: licensed installer, known-by: display, settings: { volt-watt: { state: off }, volt-var: { state: off }, \
                power-dependent-power-factor: { state: enabled, points: [[50 %, 1], [90 %, 0.9]], direction: absorbing, \
                lock-in-voltage: 243 V, lock-out-voltage: 228 V } } } }\n";
    std::fs::write(&file, site).unwrap();
    let output = asleft(&["rise", file.to_str().unwrap(), "--supply", "225V,230V", "--output", "50,100", "--no-plot", "--as-of", DAY]);
    let text = String::from_utf8(output.stdout).unwrap();
    let of = |place: &str| text.lines().filter(|line| line.trim_start().starts_with(place)).count();
    assert_eq!(of("225 V at the point of supply, 50 % of full output"), 1, "{text}");
    assert_eq!(of("230 V at the point of supply, 100 % of full output, reactive power"), 2, "{text}");
}

/// A voltage that was mistyped by a digit is no answer.
#[test]
fn a_mistyped_voltage_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    std::fs::write(&path, log(&[(60.0, 230.0)])).unwrap();
    for (history, is_fine) in [("2400 V", false), ("10.4 pu", false), ("-240 V", false), ("240 V", true), ("1.04 pu", true), ("0 V", true)]
    {
        let history = format!("--history={history}");
        let output = events_at(SITE, &path, &["--no-plot", "--in-service", "yes", &history]);
        let says = on_one_line(&output.stderr);
        assert_eq!(output.status.code() == Some(2), !is_fine, "{history}: {says}");
        assert!(is_fine || says.contains("is no voltage of a 230 V supply"), "{history}: {says}");
    }
    for (supply, is_fine) in
        [("2440 V", false), ("24.4 V", false), ("235..2550:5 V", false), ("0 V", false), ("244 V", true), ("1.06 pu", true)]
    {
        let output = asleft(&["rise", "tests/sites/fencepost-lane-9.yaml", "--supply", supply, "--no-plot", "--as-of", DAY]);
        let says = on_one_line(&output.stderr);
        assert_eq!(says.contains("is no voltage of a 230 V supply") || says.contains("is above zero"), !is_fine, "{supply}: {says}");
        assert_eq!(output.status.code() == Some(2), !is_fine, "{supply}: {says}");
    }
}

/// `check` and `rise` reckon one rise; `check` says how, and that by parts it may be less.
#[test]
fn check_names_what_it_reckons_a_rise_by() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    let site = |reactance: &str, stated: &str| {
        format!(
            "kind: site\nsite: marten-yard-6\n\
             requirements: {{ standard: as-nzs-4777.2/2020-amd2, installation: as-nzs-4777.1/2024, region: australia-a }}\n\
             dates: {{ applied: 2026-03-04, approved: 2026-04-01, installed: 2026-05-13 }}\n\
             supply: {{ phases: 1, nominal: 230 V line-neutral }}\n{stated}cables:\n  \
             mains: {{ part: consumer-mains, impedance: {{ resistance: 0.1 ohm, reactance: {reactance} ohm }}, feeds: [inverter-1] }}\n\
             devices:\n  inverter-1:\n    {{ certified: {{ standard: as-nzs-4777.2, edition: {{ year: 2020, amendment: 2 }} }}, source: solar, \
             nameplate: 5 kVA, as-left: {{ date: 2026-05-13, role: licensed installer, known-by: display, region-selected: australia-a }} }}\n"
        )
    };
    let says = |text: &str, verb: &str| {
        std::fs::write(&file, text).unwrap();
        let output = asleft(&[verb, file.to_str().unwrap(), "--as-of", DAY]);
        on_one_line(&[output.stdout, output.stderr].concat())
    };
    let note = "by their whole impedance, |Z|";
    // by hand: 21.74 A out and back through 0.1118 ohm each way are 4.86 V, 2.113 %; through 0.1 ohm 1.89 %
    for (text, fails) in
        [(site("0.05", ""), true), (site("0.01", ""), false), (site("0.05", "installation: { voltage-rise: { total: 3 % } }\n"), true)]
    {
        let (check, rise) = (says(&text, "check"), says(&text, "rise"));
        let is_stated = text.contains("total: 3 %");
        assert_eq!(check.contains(note), fails && !is_stated, "{check}");
        assert_eq!(rise.contains("R cos φ + X sin φ, it is"), fails, "{rise}");
        assert!(check.contains("2.113 %") || !fails, "{check}");
    }
}
