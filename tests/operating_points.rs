//! One operating point in every verb: where `rise` says that an inverter settles, `curve --of power`, the page and
//! `events` at that voltage say that it gives the same. And what the play of a device leaves out, each of them says.

use crate::drawn;
use crate::served;

use drawn::{Draw, Site};
use serde_json::Value as Json;
use served::{Served, asleft};
use std::path::Path;
use std::process::Output;

fn run(arguments: &[&str]) -> Output {
    asleft(arguments).args(["--as-of", "2026-11-25"]).output().unwrap()
}

fn json(arguments: &[&str]) -> Json {
    let output = run(&[arguments, &["--format", "json"]].concat());
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{arguments:?}: {}", String::from_utf8_lossy(&output.stderr)))
}

/// Everything that a verb prints, its lines joined.
fn flowing(arguments: &[&str]) -> (Option<i32>, String) {
    let output = run(arguments);
    let text = [output.stdout, output.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
    (output.status.code(), text.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn number(of: &Json) -> f64 {
    of.as_f64().unwrap_or_else(|| panic!("{of}"))
}

/// A day's worth of one voltage, a row each 10 s for half an hour.
fn log(volts: f64, hertz: u32, kilowatts: f64) -> String {
    let rows = (0..=180).map(|row| format!("2026-10-22T12:{:02}:{:02}Z,{volts},{hertz},{kilowatts}\n", row / 6, row % 6 * 10));
    format!("time,V_L1 [V],f [Hz],available power [kW]\n{}", rows.collect::<String>())
}

/// The inverters of a site alone, at full output and under every response.
#[test]
fn every_verb_gives_the_same_point() {
    let folder = tempfile::tempdir().unwrap();
    let (mut compared, mut played) = (0, 0);
    for n in 0..10 {
        let mut draw = Draw(4_000 + n);
        let mut site = Site::drawn(&mut draw);
        site.units.truncate(1);
        let text = site.file();
        let file = folder.path().join(format!("drawn-{n}.yaml"));
        std::fs::write(&file, &text).unwrap();
        let path = file.to_str().unwrap();
        let supplies = format!("{:.1},{:.1}V", site.nominal, site.nominal * 1.06);
        let rise = json(&["rise", path, "--supply", &supplies, "--output", "60,100"]);
        let served = Served::start(folder.path(), &[&format!("drawn-{n}.yaml")]);
        for row in rise["settled"].as_array().unwrap() {
            let Some(one) = row["inverters"].as_array().map(|all| &all[0]) else { continue };
            let available = site.units[0].apparent * number(&row["share"]) / 100.0;
            let at = format!("{} V", one["voltage"]);
            let says = || format!("site {n}: {row}\n{text}");
            let curve = json(&["curve", path, "--of", "power", "--at", &at, "--available", &format!("{available} W")]);
            let points = curve["power"][0]["points"].as_array().unwrap();
            let acted = one["acts"].as_bool().unwrap_or(false);
            let point = points.iter().find(|point| point["acted-before"].as_bool().is_none_or(|before| before == acted)).unwrap();
            let near = |one: f64, other: f64| (one - other).abs() < 2e-6 * (site.units[0].apparent + site.units[0].steepness());
            for key in ["active", "reactive"] {
                assert!(near(number(&point[key]), number(&one[key])), "{key}: curve has {point}\n{}", says());
            }
            assert_eq!(point["held-by"], one["held-by"], "{}", says());
            compared += 1;

            let page = served.get(&format!(
                "/at?of=drawn-{n}.yaml:inverter-0:as-left&v={}&f={}&p={}",
                one["voltage"],
                site.hertz,
                available / 1000.0
            ));
            let page = page.json();
            let answer = page["parts"]["a-answer"].as_str().unwrap_or_else(|| panic!("{page}"));
            let value = |of: &str| -> f64 {
                let (_, rest) = answer.split_once(&format!("data-of=\"{of}\" value=\"")).unwrap();
                rest.split('"').next().unwrap().parse().unwrap()
            };
            let fresh = &points[0];
            assert!(near(value("active"), number(&fresh["active"])) && near(value("reactive"), number(&fresh["reactive"])), "{answer}");
            let both = points.len() == 2;
            assert_eq!(page["parts"]["a-taken"].as_str().unwrap().contains("acted just before"), both, "{page}");

            // no trip lies between, as no stage is stated
            let rows = folder.path().join("log.csv");
            std::fs::write(&rows, log(number(&one["voltage"]), site.hertz, available / 1000.0)).unwrap();
            let events = json(&["events", path, rows.to_str().unwrap(), "--in-service", "yes", "--samples"]);
            let energy = &events["devices"][0]["given"];
            if let Some(given) = energy[0].as_f64().filter(|_| !acted) {
                // half an hour
                let power = given * 2_000.0;
                assert!((power - number(&one["active"]).max(0.0)).abs() < 0.01 * site.units[0].apparent, "{power} W: {energy}\n{}", says());
                played += 1;
            }
        }
    }
    println!("{compared} points compared, {played} of them played");
    assert!(compared > 20 && played > 10, "{compared} {played}");
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

/// A site of one inverter of 5 kVA behind 0.5 ohm, with these settings.
fn site(requirements: &str, phases: &str, settings: &str) -> String {
    format!(
        "kind: site\nsite: one-1\nrequirements: {requirements}\n\
         dates: {{ applied: 2026-03-04, approved: 2026-04-01, installed: 2026-05-13 }}\n\
         supply: {{ phases: 1, nominal: 230 V line-neutral }}\n\
         cables:\n  mains: {{ part: consumer-mains, impedance: {{ resistance: 0.25 ohm, reactance: 0.1 ohm }}, feeds: [inverter-1] }}\n\
         devices:\n  inverter-1:\n    {{ source: solar, nameplate: 5 kVA, rated-power: 5 kW, {phases}, \
         as-left: {{ date: 2026-05-13, role: licensed installer, known-by: display, settings: {{ {settings} }} }} }}\n"
    )
}

const AUSTRALIA: &str = "{ standard: as-nzs-4777.2/2020-amd2, region: australia-a }";

/// Each verb that shows what a device does, on this site.
fn every_verb(path: &str, log: &str) -> [(&'static str, Vec<String>); 5] {
    let words = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
    [
        ("curve", words(&["curve", path, "--of", "power", "--no-plot"])),
        ("rise", words(&["rise", path, "--no-plot"])),
        ("events", words(&["events", path, log, "--no-plot"])),
        ("scenario", words(&["scenario", path, "noon-creep", "--no-plot"])),
        ("trip-map", words(&["trip-map", path, "--no-plot"])),
    ]
}

/// Every verb names what it leaves out.
#[test]
fn what_is_not_played_is_told_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let log = write(folder.path(), "log.csv", &log(240.0, 50, 4.0));
    let settings = "volt-var: { state: enabled, points: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]], least-power-factor: 0.9, reference-follows: enabled }, volt-watt: { state: off }, phase-balance: { state: enabled, limit: 20 A }";
    let path = write(folder.path(), "left-out.yaml", &site(AUSTRALIA, "phases: 1", settings));
    for (verb, words) in every_verb(&path, &log) {
        let (_, says) = flowing(&words.iter().map(String::as_str).collect::<Vec<_>>());
        let says = says.to_lowercase();
        assert!(says.contains("phase balance of the device: not played"), "{verb}: {says}");
        if verb != "trip-map" {
            assert!(says.contains("volt-var: its least power factor is not played"), "{verb}: {says}");
            assert!(says.contains("volt-var: its reference follows the voltage; that is not played"), "{verb}: {says}");
        }
    }
    let served = Served::start(folder.path(), &["left-out.yaml"]);
    let page = served.get("/at?of=left-out.yaml:inverter-1:as-left").json();
    let taken = page["parts"]["a-taken"].as_str().unwrap();
    assert!(taken.contains("least power factor is not played") && taken.contains("Phase balance of the device: not played"), "{taken}");
}

/// A region, an edition or a standard that is not there is named, with what is near.
#[test]
fn a_misspelt_requirement_is_told_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let log = write(folder.path(), "log.csv", &log(240.0, 50, 4.0));
    for (wrong, near) in [
        (AUSTRALIA.replace("australia-a", "austrlia-a"), "australia-a"),
        (AUSTRALIA.replace("2020-amd2", "2020-amd3"), "2020-amd2"),
        (AUSTRALIA.replace("as-nzs-4777.2", "as-nzs-4777.3"), "as-nzs-4777.2"),
    ] {
        let path = write(folder.path(), "misspelt.yaml", &site(&wrong, "phases: 1", ""));
        for (verb, words) in every_verb(&path, &log) {
            let (exit, says) = flowing(&words.iter().map(String::as_str).collect::<Vec<_>>());
            assert_eq!(exit, Some(2), "{verb} {wrong}: {says}");
            assert!(says.contains(near), "{verb} {wrong}: {says}");
        }
        let served = Served::start(folder.path(), &["misspelt.yaml"]);
        let page = served.get("/at?of=misspelt.yaml:inverter-1:as-left").json();
        assert!(page["fault"].as_str().is_some_and(|fault| fault.contains(near)), "{page}");
    }
}

/// Plain arithmetic: under a limit of 2.5 kW nothing is lost to volt-watt until it asks for less than that; at
/// 5 kVA and 80 % over 7 V that is 4.375 V above its start, and 10 % of 2.5 kW are 0.4375 V more.
#[test]
fn a_loss_is_counted_from_what_an_export_limit_leaves() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "volt-watt: { state: enabled, points: [[253 V, 100 %], [260 V, 20 %]] }, volt-var: { state: off }, export-limit: { state: enabled, site-total: 2.5 kW }";
    let path = write(folder.path(), "limited.yaml", &site(AUSTRALIA, "phases: 1", settings));
    let rise = json(&["rise", &path]);
    let above = |percent: &str| number(&rise["inverters"][0][format!("loses-{percent}-percent-above")]);
    let begins = |lost: f64| {
        let (power, volts) = (2_500.0 * (1.0 - lost), 253.0 + 4.375 + 0.4375 * lost / 0.1);
        // 0.5 ohm and 0.2 ohm out and back
        ((volts - 0.5 * power / volts).powi(2) + (0.2 * power / volts).powi(2)).sqrt()
    };
    for (percent, lost) in [("1", 0.01), ("10", 0.1)] {
        assert!((above(percent) - begins(lost)).abs() < 0.011, "{percent} %: {} against {}", above(percent), begins(lost));
    }
}

/// A long thin line: 20 kW are too much for it, and a site that may let out 2 kW never asks for so much.
#[test]
fn a_limit_settles_where_full_output_cannot() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "volt-watt: { state: off }, volt-var: { state: off }, fixed-power-factor: { state: enabled, power-factor: 0.8, direction: absorbing }, export-limit: { state: enabled, site-total: 2 kW }";
    let one = site(AUSTRALIA, "phases: 1", settings).replace("5 kVA", "20 kVA").replace("5 kW", "20 kW").replace("0.1 ohm", "1.5 ohm");
    let device = one.split_once("  inverter-1:\n").unwrap().1.to_owned();
    let two = one.replace("feeds: [inverter-1]", "feeds: [inverter-1, inverter-2]") + "  inverter-2:\n" + &device;
    for text in [one, two] {
        let path = write(folder.path(), "long.yaml", &text);
        let rise = json(&["rise", &path, "--supply", "230V", "--output", "10,100"]);
        for row in rise["settled"].as_array().unwrap() {
            let all = row["inverters"].as_array().unwrap_or_else(|| panic!("{row}"));
            let total: f64 = all.iter().map(|one| number(&one["active"])).sum();
            assert!((total - 2_000.0).abs() < 0.01, "{row}");
        }
    }
}

/// What nobody stated is no "never".
#[test]
fn an_empty_device_may_lose_power() {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "empty.yaml", &site(AUSTRALIA, "phases: 1", ""));
    let (_, says) = flowing(&["rise", &path, "--no-plot"]);
    assert!(!says.contains("never") && says.contains("inverter-1 not known not known"), "{says}");
    assert!(says.contains("inverter-1: whether volt-watt acts is not stated"), "{says}");
    let rise = json(&["rise", &path]);
    let not_known = rise["inverters"][0]["not-known"].to_string();
    assert!(not_known.contains("loses-1-percent-above") && not_known.contains("loses-10-percent-above"), "{not_known}");
}

/// A cap below zero makes nothing draw that cannot store.
#[test]
fn a_solar_inverter_draws_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "volt-watt: { state: enabled, points: [[253 V, 100 %], [260 V, -20 %]] }, volt-var: { state: off }";
    for (source, least) in [("solar", 0.0), ("solar-and-storage", -1_000.0)] {
        let text = site(AUSTRALIA, "phases: 1", settings).replace("source: solar", &format!("source: {source}"));
        let path = write(folder.path(), "below.yaml", &text);
        let curve = json(&["curve", &path, "--of", "power", "--at", "262 V"]);
        assert_eq!(number(&curve["power"][0]["points"][0]["active"]), least);
        let is_told = curve["power"][0]["taken-as"].to_string().contains("its curve falls below zero");
        assert_eq!(is_told, source == "solar", "{curve}");
        let rise = json(&["rise", &path, "--supply", "275V", "--output", "100"]);
        assert!((number(&rise["settled"][0]["inverters"][0]["active"]) - least).abs() < 1e-6, "{rise}");
    }
}

/// By hand: 21.74 A through 0.2 ohm out and back are 4.35 V, 1.89 %; with 0.1 ohm of reactance each way the whole
/// impedance is 0.2236 ohm, 4.86 V and 2.11 %.
#[test]
fn reactance_that_decides_is_told_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let requirements = "{ standard: as-nzs-4777.2/2020-amd2, installation: as-nzs-4777.1/2024, region: australia-a }";
    let text = site(requirements, "phases: 1", "volt-var: { state: off }")
        .replace("resistance: 0.25 ohm, reactance: 0.1 ohm", "resistance: 0.1 ohm, reactance: 0.05 ohm");
    let path = write(folder.path(), "reactance.yaml", &text);
    let rise = json(&["rise", &path]);
    let figure = &rise["figures"][0];
    assert!((number(&figure["volts"]) - 4.861).abs() < 0.001 && figure["verdict"] == "does-not-comply", "{figure}");
    assert!((number(&figure["by-parts"]["volts"]) - 4.348).abs() < 0.001 && figure["by-parts"]["verdict"] == "complies", "{figure}");
    let (exit, says) = flowing(&["rise", &path, "--no-plot"]);
    assert_eq!(exit, Some(1));
    assert!(says.contains("|Z|") && says.contains("R cos φ + X sin φ, it is 4.35 V, 1.89 %, which would comply"), "{says}");
    // an inverter that absorbs at 0.9 is lowered by the reactance: 0.2 × 0.9 − 0.1 × 0.4359 = 0.1364 ohm
    let absorbing =
        text.replace("volt-var: { state: off }", "fixed-power-factor: { state: enabled, power-factor: 0.9, direction: absorbing }");
    let path = write(folder.path(), "absorbing.yaml", &absorbing);
    let figure = &json(&["rise", &path])["figures"][0];
    assert!((number(&figure["by-parts"]["volts"]) - 21.739 * 0.136_41).abs() < 0.001, "{figure}");
}

/// A limit that only one of two holds, and that the other passes by itself, is not kept.
#[test]
fn a_limit_that_is_not_kept_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "volt-watt: { state: off }, volt-var: { state: off }, export-limit: { state: enabled, site-total: 2 kW }";
    let one = site(AUSTRALIA, "phases: 1", settings);
    let device = one.split_once("  inverter-1:\n").unwrap().1.replace(", export-limit: { state: enabled, site-total: 2 kW }", "");
    let two = one.replace("feeds: [inverter-1]", "feeds: [inverter-1, inverter-2]") + "  inverter-2:\n" + &device;
    for (text, is_passed) in [(one, false), (two, true)] {
        let path = write(folder.path(), "passed.yaml", &text);
        let (_, says) = flowing(&["rise", &path, "--supply", "230V", "--no-plot"]);
        assert_eq!(says.contains("pass the site's limit by themselves"), is_passed, "{says}");
    }
}
