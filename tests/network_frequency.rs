//! Every verb reckons at the frequency of the site's own network. A device that was left with a response for 50 Hz gives
//! nothing on a network of 60 Hz; a verb that took the other frequency would show the opposite.

use crate::program;
use crate::served;

use program::{DAY, asleft};
use serde_json::Value;
use served::Served;

/// A site whose answer to high frequency begins here; invented.
fn site(requirements: &str, volts: u32, start: &str) -> String {
    format!(
        "kind: site\nsite: gannet-mill-4\nrequirements: {requirements}\n\
         dates: {{ applied: 2026-03-04, approved: 2026-04-01, installed: 2026-05-13 }}\n\
         supply: {{ phases: 1, nominal: {volts} V line-neutral }}\ncables:\n  \
         mains: {{ part: consumer-mains, impedance: {{ resistance: 0.05 ohm, reactance: 0.03 ohm }}, feeds: [inverter-1] }}\n\
         devices:\n  inverter-1:\n    {{ source: solar, nameplate: 2 kVA, rated-power: 2 kW, phases: 1, as-left: {{ date: 2026-05-13, \
         role: licensed installer, known-by: display, settings: {{ volt-watt: {{ state: off }}, volt-var: {{ state: off }}, \
         over-frequency-response: {{ state: enabled, start: {start}, droop: 5 % }} }} }} }}\n"
    )
}

const HERTZ_60: &str = "{ standard: ieee-1547/2018-amd1, region: b-ii }";
const HERTZ_50: &str = "{ standard: vde-ar-n-4105/2018, region: germany-inverters }";

#[test]
fn a_response_for_another_network_shows_in_every_verb() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = folder.path().join("calm.yaml");
    std::fs::write(
        &scenario,
        "kind: scenario\ntitle: Calm\nteaches: Nothing.\nsource: invented\nbegin: { available: 2 kW }\nthen:\n  - for: 1 h\n",
    )
    .unwrap();
    for (requirements, volts, start, given) in [
        (HERTZ_60, 120, "50.2 Hz", 0.0),
        (HERTZ_60, 120, "60.2 Hz", 2_000.0),
        (HERTZ_60, 277, "50.2 Hz", 0.0),
        (HERTZ_50, 230, "50.2 Hz", 2_000.0),
    ] {
        let path = folder.path().join("site.yaml");
        std::fs::write(&path, site(requirements, volts, start)).unwrap();
        let path = path.to_str().unwrap();
        let json = |arguments: &[&str]| -> Value {
            let output = asleft(&[arguments, &["--format", "json", "--as-of", DAY]].concat());
            serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{arguments:?}: {}", String::from_utf8_lossy(&output.stderr)))
        };
        let says = format!("{volts} V, {start}");
        let near = |value: &Value, watts: f64| (value.as_f64().unwrap_or_else(|| panic!("{says}: {value}")) - watts).abs() < 1.0;
        let at = format!("{volts} V");
        let rise = json(&["rise", path, "--supply", &at, "--output", "100"]);
        assert!(near(&rise["settled"][0]["inverters"][0]["active"], given), "rise, {says}: {}", rise["settled"]);
        // what gives nothing anyway is not told to lose nothing
        let not_known = rise["inverters"][0]["not-known"].to_string();
        assert_eq!(not_known.contains("loses-10-percent-above"), given == 0.0, "{says}: {not_known}");
        let curve = json(&["curve", path, "--of", "power", "--at", &at]);
        assert!(near(&curve["power"][0]["points"][0]["active"], given), "curve, {says}: {curve}");
        let played = json(&["scenario", path, scenario.to_str().unwrap()]);
        let kilowatt_hours = played["timeline"]["devices"][0]["given"][0].as_f64().unwrap();
        assert!((kilowatt_hours * 1000.0 - given).abs() < 1.0, "scenario, {says}: {kilowatt_hours}");
        let served = Served::start(folder.path(), &["site.yaml"]);
        let page = served.get("/at?of=site.yaml:inverter-1:as-left&p=2").json();
        let answer = page["parts"]["a-answer"].as_str().unwrap();
        let (_, rest) = answer.split_once("data-of=\"active\" value=\"").unwrap();
        let watts: f64 = rest.split('"').next().unwrap().parse().unwrap();
        assert!((watts - given).abs() < 1.0, "page, {says}: {watts}");
    }
}
