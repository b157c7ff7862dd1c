//! What the page shows is what the command line prints, to the printed digit.

use crate::Open;
use crate::served::asleft;
use serde_json::{Value, json};
use std::time::Instant;

/// What the page is asked to show, and how the command line names the same.
struct Case {
    choice: &'static str,
    word: &'static str,
    /// Of requirements: rating in kVA, nominal voltage in V.
    held_by: Option<(&'static str, &'static str)>,
    nominal: f64,
    hertz: f64,
    /// The least and the most kilowatts that are tried.
    power: [f64; 2],
}

const fn of_site(choice: &'static str, word: &'static str, nominal: f64, hertz: f64, power: [f64; 2]) -> Case {
    Case { choice, word, held_by: None, nominal, hertz, power }
}

const fn of_standard(word: &'static str, rating: &'static str, volts: &'static str, nominal: f64, hertz: f64, most: f64) -> Case {
    Case { choice: word, word, held_by: Some((rating, volts)), nominal, hertz, power: [0.0, most] }
}

const CASES: [Case; 12] = [
    of_site("larkspur-row-3.yaml:inverter-1:as-left", "tests/sites/larkspur-row-3.yaml:inverter-1", 230.0, 50.0, [0.0, 7.2]),
    of_site("kiln-row-19.yaml:inverter-1:as-left", "tests/sites/kiln-row-19.yaml:inverter-1:as-left", 230.0, 50.0, [0.0, 7.2]),
    of_site("kiln-row-19.yaml:inverter-1:as-found", "tests/sites/kiln-row-19.yaml:inverter-1:as-found", 230.0, 50.0, [0.0, 7.2]),
    of_site("cooper-street-8.yaml:inverter-1:as-left", "tests/sites/cooper-street-8.yaml", 230.0, 50.0, [0.0, 6.0]),
    of_site("plumtree-rise-6.yaml:battery-1:as-left", "tests/sites/plumtree-rise-6.yaml:battery-1", 230.0, 50.0, [-6.0, 6.0]),
    of_site("gorse-landing-4.yaml:inverter-1:as-left", "tests/sites/gorse-landing-4.yaml", 120.0, 60.0, [0.0, 9.0]),
    of_site("brimstone-hall-2.yaml:inverter-1:as-left", "tests/sites/brimstone-hall-2.yaml", 277.0, 60.0, [0.0, 60.0]),
    of_standard("as-nzs-4777.2/2020-amd2/australia-a", "5", "230", 230.0, 50.0, 6.0),
    of_standard("as-nzs-4777.2/2020-amd2/new-zealand", "8.2", "230", 230.0, 50.0, 9.0),
    of_standard("as-nzs-4777.2/2015/australia", "5", "230", 230.0, 50.0, 6.0),
    of_standard("ieee-1547/2018-amd1/b-iii", "10", "240", 240.0, 60.0, 12.0),
    of_standard("ieee-1547/2018/a-i", "25", "120", 120.0, 60.0, 30.0),
];

/// Numbers that come the same every time: a linear congruential generator (D. Knuth, MMIX).
struct Chance(u64);

impl Chance {
    /// From one number to another, in steps.
    fn between(&mut self, low: f64, high: f64, step: f64) -> String {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let share = (self.0 >> 11) as f64 / (1u64 << 53) as f64;
        let number = ((low + share * (high - low)) / step).round() * step;
        let text = format!("{number:.3}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0".to_owned() } else { text.to_owned() }
    }
}

fn seed() -> u64 {
    std::env::var("ASLEFT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(20_261_125)
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn numbers_are_those_of_the_command_line() {
    let open = Open::with(&[]);
    let mut chance = Chance(seed());
    println!("seed {}; ASLEFT_SEED tries another", seed());
    let mut compared = 0;
    for case in &CASES {
        let (rating, nominal) = case.held_by.unwrap_or(("5", ""));
        open.show(&[("of", case.choice), ("rated", rating), ("nominal", nominal)]);
        compared += agrees(&open, case);
        // just at, just past and well past what the curves and stages name
        let volts = case.nominal / 230.0;
        let hertz = case.hertz / 50.0;
        let named = [
            (253.0 * volts, 50.0 * hertz, 1.0),
            (256.5 * volts, 50.0 * hertz, 1.0),
            (265.0 * volts, 52.0 * hertz, 1.0),
            (265.1 * volts, 52.01 * hertz, 0.4),
            (180.0 * volts, 47.0 * hertz, 0.0),
            (60.0 * volts, 46.9 * hertz, 0.6),
        ];
        for (n, (v, f, share)) in named.into_iter().enumerate() {
            let text = |number: f64| format!("{number:.2}").trim_end_matches('0').trim_end_matches('.').to_owned();
            let [least, most] = case.power;
            open.move_to("v-number", &text(v));
            open.move_to("f-number", &text(f));
            open.move_to("p-number", &text(if n == 0 { least } else { most * share }));
            compared += agrees(&open, case);
        }
        for n in 0..4 {
            let kind = if n % 2 == 0 { "slider" } else { "number" };
            let [least, most] = case.power;
            let spread = if n % 2 == 0 { 0.15 } else { 0.6 };
            open.move_to(&format!("v-{kind}"), &chance.between(case.nominal * (1.0 - spread), case.nominal * (1.0 + spread / 3.0), 0.1));
            open.move_to(&format!("f-{kind}"), &chance.between(case.hertz - 2.5, case.hertz + 2.2, 0.01));
            open.move_to(&format!("p-{kind}"), &chance.between(least, most, 0.05));
            compared += agrees(&open, case);
        }
    }
    println!("{compared} numbers compared");
    assert!(compared > 1000, "{compared}");
    open.nothing_amiss();
}

/// Compares everything that the first panel shows with the command line; how much that was.
fn agrees(open: &Open, case: &Case) -> usize {
    let field = |name: &str| {
        let value = open.browser.run("return document.getElementById(arguments[0]).value", json!([format!("{name}-number")]));
        value.as_str().unwrap().to_owned()
    };
    let [v, f, p] = ["v", "f", "p"].map(field);
    let at = format!("{} at {v} V, {f} Hz, {p} kW", case.word);
    let device: Vec<String> =
        case.held_by.map_or_else(Vec::new, |(rating, nominal)| vec![format!("--rated={rating} kVA"), format!("--nominal={nominal} V")]);
    let nominal: Vec<String> = device.iter().filter(|option| option.starts_with("--nominal")).cloned().collect();

    let asked = [
        vec![
            "curve".to_owned(),
            case.word.to_owned(),
            "--of=power".to_owned(),
            format!("--at={v} V"),
            format!("--frequency={f} Hz"),
            format!("--available={p} kW"),
            "--no-plot".to_owned(),
        ],
        device,
    ]
    .concat();
    let power = &printed_json(&asked)["power"][0];
    let point = &power["points"][0];
    let text = printed(&asked);
    let mut compared = 0;
    for of in ["active", "reactive", "apparent"] {
        let selector = format!("#a-answer data[data-of={of}]");
        assert_eq!(open.value(&selector).parse::<f64>().unwrap(), point[of].as_f64().unwrap(), "{of}, {at}");
        let shown = open.text(&selector);
        assert!(text.contains(&format!(" {shown} ")), "{of} {shown}, {at}:\n{text}");
        compared += 2;
    }
    assert_eq!(open.text("#a-answer dd[data-of=held-by]"), point["held-by"].as_str().unwrap(), "{at}");
    let taken: Vec<String> =
        power["taken-as"].as_array().unwrap().iter().map(|says| format!("{}.", says.as_str().unwrap()).to_lowercase()).collect();
    let shown = open.browser.run("return [...document.querySelectorAll('#a-taken li')].map((item) => item.textContent)", json!([]));
    let shown: Vec<String> =
        shown.as_array().unwrap().iter().map(|says| says.as_str().unwrap().replace('\u{a0}', " ").to_lowercase()).collect();
    assert_eq!(shown, taken, "{at}");
    compared += 1 + taken.len();

    let asked = [vec!["trip-map".to_owned(), case.word.to_owned(), "--no-plot".to_owned()], nominal.clone()].concat();
    let maps = printed_json(&asked);
    let text = printed(&asked);
    for (measured, value, nominal) in [("voltage", &v, case.nominal), ("frequency", &f, case.hertz)] {
        let Some(map) = maps["maps"].as_array().unwrap().iter().find(|map| map["measured"] == measured) else { continue };
        let slice = slice_at(&map["slices"], value.parse().unwrap(), nominal);
        let row = format!("#a-stays tr[data-of={measured}]");
        let seconds = |of: &Value| of.as_f64().map_or("none".to_owned(), |seconds| seconds.to_string());
        assert_eq!(open.value(&format!("{row} data[data-of=stays]")), seconds(&slice["stays"][0]), "{measured}, {at}");
        assert_eq!(open.value(&format!("{row} data[data-of=off]")), seconds(&slice["off-by"]), "{measured}, {at}");
        let [place, stays, off] = ["td:nth-child(2)", "td:nth-child(3)", "td:nth-child(5)"].map(|cell| open.text(&format!("{row} {cell}")));
        let line = text.lines().find(|line| line.trim_start().starts_with(&place)).unwrap_or_else(|| panic!("no {place} in\n{text}"));
        assert!(line.contains(&stays) && line.contains(&off), "{place}, {stays}, {off}, {at}: {line}");
        compared += 5;
    }
    compared + responses_agree(open, case, &v, &nominal, &at)
}

/// The slice of a value; at an edge, the one nearer to nominal, since stages act past it.
fn slice_at(slices: &Value, value: f64, nominal: f64) -> Value {
    let edge = |of: &Value, otherwise: f64| of.as_f64().unwrap_or(otherwise);
    let holds = |slice: &&Value| {
        let (from, to) = (edge(&slice["from"], f64::NEG_INFINITY), edge(&slice["to"], f64::INFINITY));
        if value < nominal { from <= value && value < to } else { from < value && value <= to }
    };
    slices.as_array().unwrap().iter().find(holds).unwrap().clone()
}

/// The line below each response to voltage.
fn responses_agree(open: &Open, case: &Case, v: &str, nominal: &[String], at: &str) -> usize {
    let asked = [vec!["curve".to_owned(), case.word.to_owned(), format!("--at={v} V"), "--no-plot".to_owned()], nominal.to_vec()].concat();
    let mut compared = 0;
    for response in printed_json(&asked)["responses"].as_array().unwrap() {
        let function = response["response"].as_str().unwrap();
        let says = open.text(&format!("#a-now-{function}"));
        for curve in response["curves"].as_array().unwrap() {
            let word = match curve["kind"].as_str().unwrap() {
                "required" => "required",
                "held" => "device",
                _ => continue,
            };
            let level = curve["y"][0].as_f64().unwrap();
            let (_, shown) = says.split_once(&format!("{word} ")).unwrap_or_else(|| panic!("{function}: no {word} in {says}"));
            let shown: f64 = shown.split(' ').next().unwrap().parse().unwrap_or_else(|_| panic!("{says}"));
            assert!((shown - level).abs() <= 0.000_500_1, "{function}, {word}: {says}, {level}, {at}");
            compared += 1;
        }
    }
    compared
}

fn printed(arguments: &[String]) -> String {
    let mut arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    arguments.extend(["--as-of", "2026-11-25"]);
    // wide, so that no cell is folded
    let output = asleft(&arguments).env("COLUMNS", "160").output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn printed_json(arguments: &[String]) -> Value {
    serde_json::from_str(&printed(&[arguments, &["--format=json".to_owned()]].concat())).unwrap()
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn two_are_compared_at_one_position() {
    let open = Open::with(&["tests/sites/kiln-row-19.yaml"]);
    open.show(&[
        ("of", "tests/sites/kiln-row-19.yaml:inverter-1:as-left"),
        ("with", "as-nzs-4777.2/2020-amd2/australia-a"),
        ("rated", "6"),
    ]);
    for v in ["230", "257", "262.5", "268", "100"] {
        open.move_to("v-slider", v);
        let number = |panel: &str, of: &str| {
            open.text(&format!("#{panel}-answer data[data-of={of}]")).split(' ').next().unwrap().parse::<f64>().unwrap()
        };
        for (row, of) in ["active", "reactive", "apparent"].into_iter().enumerate() {
            let cell = |column: usize| open.text(&format!("#difference tbody tr:nth-child({}) td:nth-child({column})", row + 1));
            let apart: f64 = cell(4).split(' ').next().unwrap().parse().unwrap();
            assert!((apart - (number("b", of) - number("a", of))).abs() < 1e-9, "{of} at {v} V: {apart}");
            assert_eq!(cell(2), open.text(&format!("#a-answer data[data-of={of}]")));
            assert_eq!(cell(3), open.text(&format!("#b-answer data[data-of={of}]")));
        }
    }
    // volt-watt was switched off on the device, and is asked for by the standard
    open.move_to("v-number", "259");
    let says = open.text("#difference .sentence");
    assert!(says.starts_with("In the second, active power is ") && says.contains("lower"), "{says}");
    open.show(&[("of", "tests/sites/kiln-row-19.yaml:inverter-1:as-left"), ("with", "tests/sites/kiln-row-19.yaml:inverter-1:as-left")]);
    assert_eq!(open.text("#difference .sentence"), "Here the two do the same.");
    open.nothing_amiss();
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn a_scenario_is_played_as_on_the_command_line() {
    let open = Open::with(&[]);
    let standard = ("as-nzs-4777.2/2020-amd2/australia-a", "as-nzs-4777.2/2020-amd2/australia-a");
    let site = ("kiln-row-19.yaml:inverter-1:as-left", "tests/sites/kiln-row-19.yaml:inverter-1:as-left");
    for ((choice, word), other, scenario) in [
        (standard, None, "175-v-for-10.5-s"),
        (site, None, "noon-creep"),
        (site, Some(standard), "reclose-twice"),
        (standard, None, "loose-neutral"),
        (("ieee-1547/2018-amd1/b-iii", "ieee-1547/2018-amd1/b-iii"), None, "dip-that-must-trip"),
    ] {
        open.show(&[
            ("of", choice),
            ("with", other.map_or("", |(choice, _)| choice)),
            ("rated", "8"),
            ("nominal", if choice.starts_with("ieee") { "120" } else { "" }),
        ]);
        open.browser.run(
            "document.getElementById('play').value = arguments[0]; document.querySelector('#playing button').click()",
            json!([scenario]),
        );
        open.browser.wait("return document.querySelector('#played .timeline svg')", json!([]));
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("timeline.svg");
        let mut arguments = vec![
            "scenario".to_owned(),
            word.to_owned(),
            scenario.to_owned(),
            "--rated=8 kVA".to_owned(),
            format!("--svg={}", file.display()),
        ];
        arguments.extend(other.map(|(_, word)| format!("--with={word}")));
        arguments.extend(choice.starts_with("ieee").then(|| "--nominal=120 V".to_owned()));
        let told = printed_json(&arguments);
        assert_eq!(open.text("#played-title"), told["scenario"]["title"].as_str().unwrap());
        let devices = told["timeline"]["devices"].as_array().unwrap();
        assert_eq!(devices.len(), 1 + usize::from(other.is_some()), "{scenario}");
        for (n, device) in devices.iter().enumerate() {
            let says = format!("{} {}", device["in-short"].as_str().unwrap(), device["first-cause"].as_str().unwrap_or_default());
            let shown = open.browser.run("return document.querySelectorAll('#played .says-so')[arguments[0]].textContent", json!([n]));
            assert_eq!(shown.as_str().unwrap().replace('\u{a0}', " ").trim(), says.trim(), "{scenario}");
        }
        // the very picture, but for its inks and the names inside
        let drawn = std::fs::read_to_string(&file).unwrap();
        let (before, rest) = drawn.split_once("<style>").unwrap();
        let drawn = format!("{before}{}", rest.split_once("</style>\n").unwrap().1).replace("timeline-", "played-");
        let shown = open.source();
        assert!(shown.contains(drawn.trim_end()), "{scenario}: the pictures differ");
    }
    open.nothing_amiss();
}

/// From a slider's move to the new numbers, in the page itself. Measured, and never asserted.
#[test]
#[ignore = "needs chromium and chromium-driver"]
fn how_long_a_move_takes() {
    let open = Open::with(&[]);
    let build = if cfg!(debug_assertions) { "debug" } else { "release" };
    for (what, query) in [
        ("one site", &[("of", "larkspur-row-3.yaml:inverter-1:as-left")][..]),
        ("two compared", &[("of", "kiln-row-19.yaml:inverter-1:as-left"), ("with", "as-nzs-4777.2/2020-amd2/australia-a")]),
    ] {
        open.show(query);
        let since = Instant::now();
        let mut took: Vec<f64> = Vec::new();
        for n in 0..60 {
            let (input, value) = match n % 3 {
                0 => ("v-slider", format!("{}", 200 + n)),
                1 => ("f-slider", format!("{}", 49.0 + f64::from(n) / 30.0)),
                _ => ("p-slider", format!("{}", 0.1 * f64::from(n))),
            };
            open.move_to(input, &value);
            took.push(open.browser.run("return Number(document.getElementById('answers').dataset.took)", json!([])).as_f64().unwrap());
        }
        took.sort_by(f64::total_cmp);
        println!(
            "{what}, {build} build: a move takes {:.1} ms in the middle, {:.1} ms at 95 %, {:.1} ms at most (target 50 ms); {} moves in {:.1} s",
            took[took.len() / 2],
            took[took.len() * 95 / 100],
            took[took.len() - 1],
            took.len(),
            since.elapsed().as_secs_f64()
        );
    }
}
