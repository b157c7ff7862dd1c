//! Label maps: the shipped ones are sound, and what they show reads back as what was meant.

use proptest::prelude::*;
use settings_model::catalogue::SettingId;
use settings_model::claim::{Evidence, Part, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, LabelMapFile, PercentOf, PowerBase, SiteFile};
use settings_model::filled::Columns;
use settings_model::finding::Finding;
use settings_model::labels::{LabelMap, Site, Takes, displayed};
use settings_model::library::{Library, Profile};
use settings_model::places::Places;
use settings_model::quantity::Amount;
use settings_model::reader;
use settings_model::source::Sources;
use settings_model::value::{Point, Value};
use std::path::Path;

const SHIPPED: [&str; 3] = ["fernhill-k/2.0", "tidewell-p/1.0", "tidewell-p/2.0"];

fn text_of(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles").join(path)).unwrap()
}

fn map_of(text: &str) -> Result<LabelMap, Vec<Finding>> {
    let mut sources = Sources::default();
    let source = sources.add("map.yaml", text);
    let root = reader::read(source, text, Kind::LabelMap)?;
    let file: LabelMapFile = reader::typed(&root)?;
    LabelMap::of(source, &file)
}

fn shipped(key: &str) -> LabelMap {
    map_of(&text_of(&format!("labels/{key}.yaml"))).unwrap_or_else(|findings| panic!("{key}: {findings:#?}"))
}

/// A library with the standards that the sites below stand under and one label map, shipped or not.
fn library(map: &str) -> Library {
    let mut library = Library::default();
    let mut add =
        |path: &str, text: String| library.add(Profile { path: path.to_owned(), name: path.to_owned(), text: text.into(), shipped: false });
    for path in ["standards/as-nzs-4777.2/2020-amd2.yaml", "standards/ieee-1547/2018-amd1.yaml"] {
        add(path, text_of(path));
    }
    for key in SHIPPED {
        add(&format!("labels/{key}.yaml"), text_of(&format!("labels/{key}.yaml")));
    }
    if !map.is_empty() {
        add("labels/sample/1.yaml", map.to_owned());
    }
    library
}

fn facts() -> Facts {
    let mut facts = Facts::default();
    for (fact, number) in [(FactId::NominalVoltage, 230), (FactId::Nameplate, 6000), (FactId::RatedPower, 5000)] {
        facts.set_number(fact, Exact::from(number));
    }
    facts
}

const OF_APPARENT: PercentOf =
    PercentOf { active: PowerBase::RatedApparentPower, reactive: PowerBase::RatedApparentPower, frequency_response: None };

/// A site whose inverter displays some lines, read through its label map.
fn read(device: &str, lines: &str, map: &str) -> (Result<SiteFile<'static>, Vec<Finding>>, String) {
    let text = format!(
        "kind: site\nsite: sample\nrequirements: {{ standard: as-nzs-4777.2/2020-amd2, region: australia-a }}\nsupply: {{ phases: 1, nominal: 230 V line-neutral }}\ndevices:\n  inverter-1:\n    {device}\n    nameplate: 6 kVA\n    rated-power: 5 kW\n    as-left:\n      known-by: display\n{lines}\n"
    );
    let mut sources = Sources::default();
    let source = sources.add("site.yaml", text.as_str());
    let root = reader::read(source, &text, Kind::Site).unwrap_or_else(|findings| panic!("{text}\n{findings:#?}"));
    let day = "2026-11-25".parse().unwrap();
    let read = displayed(root, &mut library(map), day, &mut sources).map(|root| {
        let root: &'static _ = Box::leak(Box::new(root));
        reader::typed::<SiteFile<'static>>(root).unwrap()
    });
    (read, text)
}

const FERNHILL: &str = "model: Fernhill K6\n    firmware: 2.4.1";

fn id(name: &str) -> SettingId {
    SettingId::named(name).unwrap()
}

#[test]
fn the_shipped_maps_are_sound_and_say_that_they_are_invented() {
    for key in SHIPPED {
        let map = shipped(key);
        assert!(map.invented && map.title.ends_with("(invented)") && map.labels.len() > 20, "{key}");
    }
}

/// A label and every setting behind it are found again by what is displayed.
#[test]
fn every_label_is_found_by_its_path() {
    for map in SHIPPED.map(shipped) {
        for label in map.labels.iter().filter(|label| label.is_shown()) {
            assert_eq!(map.find(&label.path()).map(|found| found.place), Ok(label.place), "{}", label.path());
            assert_eq!(map.find(&label.path().to_uppercase()).map(|found| found.place), Ok(label.place));
        }
    }
}

/// A value whose one part is this amount; of a curve, all of it.
fn value_of(of: Var, amount: Amount) -> Value {
    match of.part {
        Part::Whole => Value::Quantity(amount),
        _ => Value::Curve(vec![Point { x: amount, y: amount }; 8]),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// What is shown, read and shown again is the same, sign and base included, for every label of every
    /// shipped map and every value that its display can show.
    #[test]
    fn what_is_shown_reads_back(steps in 1i64..3000, negative: bool) {
        let facts = facts();
        for map in SHIPPED.map(shipped) {
            for label in map.labels.iter().filter(|label| label.is_shown()) {
                let Takes::Number { of, number, .. } = &label.takes else { continue };
                let Some(resolution) = number.resolution else { continue };
                let is_level = matches!(of.part, Part::Y(_)) && of.setting.function().key == "volt-var";
                let is_factor = of.setting.parameter().key == "power-factor";
                let steps = if is_factor { steps % 100 + 1 } else { steps };
                let sign = if negative && (is_level || is_factor) { -1 } else { 1 };
                let shown = Exact::from(sign * steps) * resolution;
                let text = number.show(shown);
                let site = Site { facts: &facts, percent_of: Some(Some(OF_APPARENT)) };
                let (amount, _) = label.amount(&text, site).unwrap_or_else(|| panic!("{} does not read {text}", label.path()));
                let value = value_of(*of, amount);
                let direction = of.setting.sibling("direction");
                let is_absorbed = shown < Exact::ZERO;
                let fits = |setting: SettingId, word: u8| Some(setting) != direction || (word == 0) == is_absorbed;
                let enter = label.enter(*of, &value, site, &fits).unwrap();
                prop_assert_eq!(enter.text, text.clone(), "{} of {}", label.path(), map.title);
            }
        }
    }
}

/// Volts between lines against 3 × the square, in whole numbers: nothing is taken for equal that is not,
/// and the interval always holds the true value.
#[test]
fn volts_between_lines_are_an_interval_that_holds_the_true_value() {
    let map = shipped("tidewell-p/2.0");
    let label = map.find("Rise over ten").unwrap();
    let facts = facts();
    let site = Site { facts: &facts, percent_of: Some(Some(OF_APPARENT)) };
    for half_volts in 200i64..1200 {
        let shown = Exact::new(half_volts * 5, 1);
        let (amount, step) = label.amount(&format!("{shown} V"), site).unwrap();
        let step = step.unwrap();
        assert!(!step.exact, "an irrational number is never taken for exact");
        let half = step.size.half();
        let (low, high) = (amount.number - half, amount.number + half);
        let quarter = Exact::new(25, 2);
        let three = Exact::from(3);
        // (low · √3)² ≤ (shown ± half a step of the display)² ≤ (high · √3)²
        assert!(low * low * three <= (shown - quarter) * (shown - quarter), "{shown}");
        assert!(high * high * three >= (shown + quarter) * (shown + quarter), "{shown}");
        assert!(step.size <= Exact::new(2_886_800, 7), "not much wider than half a volt / √3: {}", step.size);
    }
}

#[test]
fn displayed_words_become_settings_at_their_own_places() {
    let lines = "      displayed:\n        Supply area: Area 1\n        Ceiling 1: 265\n        Ceiling 1 wait: 1.5 s\n        Reactive duty: Follows volts\n        Answers > Volts to var > V1: 207\n        V2: { value: 220, known-by: photo, photo: 4 }\n        V3: 240 V\n        V4: 258 V\n        Q1: −44 %\n        Q4: 60";
    let lines = lines.replace("        V2:", "        Volts to var > V2:");
    let lines = lines.replace("        V3:", "        Volts to var > V3:").replace("        V4:", "        Volts to var > V4:");
    let (site, text) = read(FERNHILL, &lines, "");
    let site = site.unwrap_or_else(|findings| panic!("{text}\n{findings:#?}"));
    let left = site.devices.get("inverter-1").unwrap().as_left.as_ref().unwrap();
    assert_eq!(left.region_selected.as_deref(), Some("australia-a"));
    let shown = |name: &str| left.settings.get(id(name)).map(|known| known.value.show(id(name)));
    assert_eq!(shown("overvoltage-1/threshold").as_deref(), Some("265 V"));
    assert_eq!(shown("overvoltage-1/definite-delay").as_deref(), Some("1.5 s"));
    assert_eq!(shown("volt-var/state").as_deref(), Some("enabled"));
    assert_eq!(shown("fixed-power-factor/state").as_deref(), Some("off"));
    assert_eq!(shown("volt-var/points").as_deref(), Some("44 % at 207 V, 0 % at 220 V, 0 % at 240 V, -60 % at 258 V"));
    let step = left.settings.get(id("overvoltage-1/definite-delay")).unwrap().step.as_deref().copied().unwrap();
    assert!(step.exact && step.size == Exact::new(1, 1));
}

/// A curve is known no better than its worst known part.
#[test]
fn a_curve_is_known_as_its_least_known_part() {
    let curve = |first: &str, second: &str, level: &str| {
        let lines = format!("      displayed: {{ Volts to watt > V1: {first}, Volts to watt > V2: {second}, P2: {level} }}");
        let (site, text) = read(FERNHILL, &lines, "");
        let site = site.unwrap_or_else(|findings| panic!("{text}\n{findings:#?}"));
        let left = site.devices.get("inverter-1").unwrap().as_left.as_ref().unwrap();
        left.settings.get(id("volt-watt/points")).unwrap().evidence
    };
    let photo = |value: &str| format!("{{ value: {value}, known-by: photo, photo: 1 }}");
    assert_eq!(curve(&photo("253"), &photo("260"), &photo("20")), Some(Evidence::Photo));
    assert_eq!(curve(&photo("253"), "260", &photo("20")), None, "as the whole holding: from the display");
    assert_eq!(curve(&photo("253"), "{ value: 260, known-by: statement }", "20"), Some(Evidence::Statement));
}

/// Where a finding points: at the displayed line.
#[test]
fn places_are_those_of_what_is_displayed() {
    let text = "kind: site\nsite: sample\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-a }\ndevices:\n  inverter-1:\n    model: Fernhill K6\n    firmware: 2.4.1\n    as-left:\n      displayed:\n        Ceiling 1: 266\n";
    let mut sources = Sources::default();
    let source = sources.add("site.yaml", text);
    let root = reader::read(source, text, Kind::Site).unwrap();
    let root = displayed(root, &mut library(""), "2026-11-25".parse().unwrap(), &mut sources).unwrap();
    let place = root.place(&["devices", "inverter-1", "as-left", "settings", "overvoltage-1", "threshold", "value"]);
    assert_eq!(sources.locate(place).unwrap().to_string(), "site.yaml:10:20");
    assert_eq!(sources.written(place), "266");
}

fn faults(device: &str, lines: &str, map: &str) -> Vec<(&'static str, String, String)> {
    let (read, text) = read(device, lines, map);
    match read {
        Ok(_) => panic!("nothing is wrong with\n{text}"),
        Err(findings) => {
            assert!(findings.iter().all(|finding| finding.place.is_known()), "{findings:#?}");
            findings.into_iter().map(|finding| (finding.name, finding.headline, finding.hint.unwrap_or_default())).collect()
        }
    }
}

/// Each one alone, with what it has to say.
#[test]
fn what_cannot_be_read_is_said_and_never_dropped() {
    let other = "labels: tidewell-p, firmware: 2.1.0";
    for (device, lines, name, says, help) in [
        (FERNHILL, "Cieling 1: 265", "unknown-label", "has no label `Cieling 1`", "did you mean `Ceiling 1`?"),
        (FERNHILL, "Top: 265", "unknown-label", "has no label `Top`", "`asleft sheet SITE`"),
        (FERNHILL, "Floor: 47", "unknown-label", "`Floor` stands in 3 menus", "`Guard > Hertz > Floor`"),
        (FERNHILL, "Ceiling 1: 265 Hz", "displayed-value", "does not fit what this display shows here: V line-neutral", "13.5 V"),
        (FERNHILL, "Ceiling 1: 264.5", "displayed-value", "goes in steps of 1 V", "read the value again"),
        (FERNHILL, "Ceiling 1 wait: \"1,5 s\"", "displayed-value", "decimal comma", "write `1.5 s`"),
        (FERNHILL, "Volts to watt: On", "displayed-value", "`On` is none of the words", "`In use` or `At rest`"),
        (FERNHILL, "Reactive duty: Follow volts", "displayed-value", "`Follow volts` is none", "did you mean `Follows volts`?"),
        (
            FERNHILL,
            "Volts to var > V1: 207",
            "curve-incomplete",
            "of the curve of volt-var not everything was read",
            "`Answers > Volts to var > Q1`",
        ),
        (
            FERNHILL,
            "{ Ceiling 1: 265, Guard > Volts > Ceiling 1: 266 }",
            "stated-twice",
            "two things of overvoltage-1/threshold",
            "read both again",
        ),
        (other, "Rise B gone by: 7.25 cycles", "displayed-value", "goes in steps of 0.5 cycles", "read the value again"),
        (
            "labels: tidewell-q, firmware: 2.1.0",
            "Rise A: 440",
            "label-map",
            "no label map of a family `tidewell-q`",
            "did you mean `tidewell-p`?",
        ),
        ("labels: fernhill-k", "Ceiling 1: 265", "label-map", "firmware is not stated", "state it as `firmware: …`"),
        (
            "model: Fernhill K6, firmware: 3.0.0",
            "Ceiling 1: 265",
            "label-map",
            "no label map was confirmed for firmware `3.0.0`",
            "keep a map of its own",
        ),
        ("model: Fernhill K6, firmware: spring", "Ceiling 1: 265", "label-map", "cannot be compared", "numbers with dots"),
        (
            "labels: fernhill-k, model: Fernhill Z, firmware: 2.1.0",
            "Ceiling 1: 265",
            "label-map",
            "are not for `Fernhill Z`",
            "they are for Fernhill K5",
        ),
        ("model: Plain 1, firmware: 2.1.0", "Ceiling 1: 265", "label-map", "no label map knows", "`asleft list labels`"),
    ] {
        let device = device.replace(", ", "\n    ");
        let block = if lines.starts_with('{') { format!("      displayed: {lines}") } else { format!("      displayed:\n        {lines}") };
        let found = faults(&device, &block, "");
        assert_eq!(found.len(), 1, "{lines}: {found:#?}");
        let (found_name, headline, hint) = &found[0];
        assert_eq!(*found_name, name, "{lines}: {headline}");
        assert!(headline.contains(says) && hint.contains(help), "{lines}: {headline} / {hint}");
    }
}

#[test]
fn a_value_stated_in_both_ways_is_a_finding() {
    let lines = "      settings: { overvoltage-1: { threshold: 265 V } }\n      displayed: { Ceiling 1: 265 }";
    let found = faults(FERNHILL, lines, "");
    assert_eq!(found[0].0, "stated-twice");
    assert!(found[0].1.contains("under `settings` too"));
}

/// Which way a curve runs by its words is no matter of the map alone: points that descend are reported
/// where they are displayed.
#[test]
fn points_that_descend_are_reported_where_they_are_displayed() {
    let lines = "      displayed: { Volts to watt > V1: 260, Volts to watt > V2: 253, P2: 20 }";
    let found = faults(FERNHILL, lines, "");
    assert!(found[0].1.contains("points must ascend"), "{found:#?}");
}

const OWN_TIME: &str = "kind: label-map
family: sample
title: Sample (invented)
invented: true
models: [Sample 1]
firmware: at least 1.0
own-time: 60 ms
confirmed: { by: an office, on: 2026-01-01, how: from the manual }
labels:
  - { display: Gone in, setting: overvoltage-1/clearing-time, unit: s, resolution: 0.01 s }
  - { display: Counts to, setting: overvoltage-2/definite-delay, unit: cycles of 60 Hz, resolution: 1 cycle }
";

/// With the device's own time stated, the one time gives the other, exactly.
#[test]
fn the_devices_own_time_gives_the_other_time() {
    let (site, _) = read("model: Sample 1\n    firmware: 1.0.3", "      displayed: { Gone in: 1.06 s, Counts to: 6 cycles }", OWN_TIME);
    let site = site.unwrap();
    let left = site.devices.get("inverter-1").unwrap().as_left.as_ref().unwrap();
    let shown = |name: &str| left.settings.get(id(name)).map(|known| known.value.show(id(name))).unwrap_or_default();
    let times =
        ["overvoltage-1/clearing-time", "overvoltage-1/definite-delay", "overvoltage-2/definite-delay", "overvoltage-2/clearing-time"];
    assert_eq!(times.map(shown), ["1.06 s", "1 s", "0.1 s", "0.16 s"]);
}

/// Without it nothing is worked out.
#[test]
fn without_the_own_time_neither_gives_the_other() {
    let map = OWN_TIME.replace("own-time: 60 ms\n", "");
    let (site, _) = read("model: Sample 1\n    firmware: 1.0.3", "      displayed: { Gone in: 1.06 s }", &map);
    let site = site.unwrap();
    let left = site.devices.get("inverter-1").unwrap().as_left.as_ref().unwrap();
    assert!(left.settings.states(id("overvoltage-1/clearing-time")) && !left.settings.states(id("overvoltage-1/definite-delay")));
    let map = map_of(&map).unwrap();
    let facts = facts();
    let site = Site { facts: &facts, percent_of: None };
    let value = Value::Quantity(settings_model::quantity::Amount::plain(Exact::ONE));
    let on = map.on_display(id("overvoltage-1/definite-delay"), Some(&value), site, &|_, _| true);
    assert_eq!((on[0].other_time, on[0].enter.as_ref()), (Some(id("overvoltage-1/clearing-time")), None));
}

#[test]
fn percentages_of_another_rating_are_converted() {
    let map = shipped("tidewell-p/2.0");
    let facts = facts();
    let level = Var { setting: id("volt-var/points"), part: Part::Y(3) };
    let label = map.label_of(level).unwrap();
    let read = |of: PercentOf| {
        let site = Site { facts: &facts, percent_of: Some(Some(of)) };
        label.amount("-60 %", site).map(|(amount, _)| amount.number)
    };
    assert_eq!(read(OF_APPARENT), Some(Exact::from(-50)), "60 % of 5 kW is 50 % of 6 kVA");
    let of_active = PercentOf { active: PowerBase::RatedActivePower, reactive: PowerBase::RatedActivePower, frequency_response: None };
    assert_eq!(read(of_active), Some(Exact::from(-60)));
}

/// A filled sheet may name its rows as the display does: they are read in the map's terms, at their cells.
#[test]
fn a_filled_sheet_may_speak_in_the_words_of_the_display() {
    let text = "kind: site\nsite: sample\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-a }\ndevices:\n  inverter-1: { model: Fernhill K6, firmware: 2.4.1 }\n";
    let fill = |rows: &str| {
        let mut sources = Sources::default();
        let (source, sheet) = (sources.add("site.yaml", text), format!("device,setting,as found,as left,photo\n{rows}"));
        let site = reader::read(source, text, Kind::Site).unwrap();
        let map = std::rc::Rc::new(shipped("fernhill-k/2.0"));
        let source = sources.add("sheet.csv", sheet.as_str());
        let laid = settings_model::filled::laid_over(&site, source, &sheet, &Columns::default(), &|_| Ok(Some(map.clone())))?;
        let read = displayed(laid, &mut library(""), "2026-11-25".parse().unwrap(), &mut sources)?;
        let place = read.place(&["devices", "inverter-1", "as-left", "settings", "overvoltage-1", "definite-delay", "value"]);
        let at = sources.locate(place).unwrap().to_string();
        Ok::<_, Vec<Finding>>((read, at))
    };
    let (read, at) = fill(
        "inverter-1,Ceiling 1 wait,1.2 s,1.5 s,7\ninverter-1,overvoltage-1/threshold,,265 V,\ninverter-1,region-selected,,australia-a,\n",
    )
    .unwrap();
    assert_eq!(at, "sheet.csv:2:33");
    let site: SiteFile<'_> = reader::typed(&read).unwrap();
    let device = site.devices.get("inverter-1").unwrap();
    let delay = |holding: &Option<settings_model::files::Holding<'_>>| {
        holding.as_ref().unwrap().settings.get(id("overvoltage-1/definite-delay")).cloned().unwrap()
    };
    assert_eq!(delay(&device.as_found).value.show(id("overvoltage-1/definite-delay")), "1.2 s");
    let left = delay(&device.as_left);
    assert_eq!((left.value.show(id("overvoltage-1/definite-delay")), left.evidence), ("1.5 s".to_owned(), Some(Evidence::Photo)));
    assert!(device.as_left.as_ref().unwrap().settings.states(id("overvoltage-1/threshold")));

    let says = |rows: &str| {
        fill(rows)
            .unwrap_err()
            .into_iter()
            .map(|f| format!("{}: {} / {}", f.name, f.headline, f.hint.unwrap_or_default()))
            .collect::<Vec<_>>()
    };
    assert!(says("inverter-1,Cieling 1 wait,,1.5 s,\n")[0].contains("did you mean `Ceiling 1 wait`?"));
    assert!(says("inverter-1,Floor,,47,\n")[0].contains("`Floor` stands in several menus"));
    assert!(says("inverter-1,Ceiling 1,,265 Hz,\n")[0].contains("does not fit what this display shows here"));
    assert!(says("inverter-1,Ceiling 1,,265,\ninverter-1,Guard > Volts > Ceiling 1,,266,\n")[0].starts_with("row-twice"));
    assert!(says("inverter-1,Ceiling 1,,265,\ninverter-1,overvoltage-1/threshold,,265 V,\n")[0].starts_with("stated-twice"));
}

/// A map that may not be used says so, and the row is not dropped.
#[test]
fn a_filled_sheet_is_not_read_by_a_map_for_another_firmware() {
    let text = "kind: site\nsite: sample\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-a }\ndevices:\n  inverter-1: { model: Fernhill K6, firmware: 3.1.0 }\n";
    let mut sources = Sources::default();
    let source = sources.add("site.yaml", text);
    let root = reader::read(source, text, Kind::Site).unwrap();
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let sheet = "device,setting,as found,as left\ninverter-1,Ceiling 1,,265\n";
    let source = sources.add("sheet.csv", sheet);
    let library = std::cell::RefCell::new(library(""));
    let of = |name: &str| library.borrow_mut().labels_of(site.devices.get(name).unwrap(), &mut Sources::default());
    let findings = settings_model::filled::laid_over(&root, source, sheet, &Columns::default(), &of).unwrap_err();
    assert!(findings[0].headline.contains("no label map was confirmed for firmware `3.1.0`"), "{findings:#?}");
    assert_eq!(sources.written(findings[0].place), "Ceiling 1");
}
