//! Two versions of a network drawn from a seed, on a drawn standard: written once as files, which are read
//! here, and once as cases for the solver, which nobody here lays or compares.

use super::common::*;
use super::versions::{self, Between};
use rules::compare::versions::changes;
use rules::exercise::chance::Chance;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::Condition;
use settings_model::claim::{Claim, ProvenanceId};
use settings_model::library::{Library, Profile};
use settings_model::requirement::Rulebook;
use settings_model::source::Sources;
use settings_model::ties::space;
use std::fmt::Write as _;

/// So many pairs of versions are drawn, and at least so many settings of them are spoken of.
const PAIRS: usize = 50;
pub const COUNT: usize = 350;
/// On so many standards.
const STANDARDS: usize = 5;
const SEED: u64 = 50549;

/// A number as files write it, and as the solver reads it.
type Number = (String, Json);

struct Slot {
    function: &'static str,
    parameter: &'static str,
    /// Whole numbers of the unit from here to there; words where there is no unit.
    grid: (i64, i64),
    unit: &'static str,
}

const fn slot(function: &'static str, parameter: &'static str, grid: (i64, i64), unit: &'static str) -> Slot {
    Slot { function, parameter, grid, unit }
}

const STATE: (i64, i64) = (0, 2);
const WORDS: [&str; 3] = ["absent", "off", "enabled"];

const SLOTS: [Slot; 9] = [
    slot("overvoltage-1", "state", STATE, ""),
    slot("overvoltage-1", "threshold", (258, 264), "V"),
    slot("overvoltage-1", "definite-delay", (1, 4), "s"),
    slot("undervoltage-1", "threshold", (178, 184), "V"),
    slot("sustained-overvoltage", "threshold", (250, 258), "V"),
    slot("reconnection", "upper-voltage", (248, 255), "V"),
    slot("over-frequency-response", "state", STATE, ""),
    slot("export-limit", "state", STATE, ""),
    slot("export-limit", "site-total", (5, 15), "kW"),
];

/// Ways to tell sites apart: conditions that exclude each other, as files write them.
const SPLITS: [&[&str]; 6] = [
    &["phases: 1", "phases: 3"],
    &["nameplate-total: at most 10 kVA", "nameplate-total: over 10 kVA to 30 kVA", "nameplate-total: over 30 kVA"],
    &["nameplate-total: under 15 kVA", "nameplate-total: 15 kVA to 40 kVA"],
    &["export-kind: none", "export-kind: fixed or dynamic"],
    &["applied: until 2026-06-30", "applied: from 2026-07-01"],
    &["phases: 1", "phases: 3, nameplate-total: at most 30 kVA", "phases: 3, nameplate-total: over 45 kVA"],
];

/// What a layer says of a setting: of the sites of each case, or of every site.
struct Statement {
    cases: Vec<(&'static str, Said)>,
    otherwise: Option<Said>,
}

/// One verb, as files write it and as the solver reads it.
struct Said {
    text: String,
    json: Json,
}

impl Slot {
    fn setting(&self) -> SettingId {
        setting(&format!("{}/{}", self.function, self.parameter))
    }

    /// A number of the grid, at times between two, of volts at times in per unit.
    fn number(&self, chance: &mut Chance) -> Number {
        let tenths = (self.grid.0 * 10) + chance.below((self.grid.1 - self.grid.0) as usize * 10) as i64;
        let tenths = if chance.below(3) == 0 { tenths } else { tenths / 10 * 10 };
        let text = if tenths % 10 == 0 { format!("{}", tenths / 10) } else { format!("{}.{}", tenths / 10, tenths % 10) };
        match (self.unit, chance.below(5)) {
            ("V", 0) => {
                let per_unit = if self.grid.0 > 230 { 108 + chance.below(7) } else { 78 + chance.below(3) };
                (
                    format!("{}.{:02} pu", per_unit / 100, per_unit % 100),
                    json!([format!("{}.{:02}", per_unit / 100, per_unit % 100), "nominal-voltage"]),
                )
            }
            ("kW", _) => (format!("{text} kW"), json!([(tenths * 100).to_string(), null])),
            (unit, _) => (format!("{text} {unit}"), json!([text, null])),
        }
    }

    /// A range with one end or two.
    fn range(&self, chance: &mut Chance) -> (String, Json) {
        let name = self.setting().to_string();
        let bound = |side: &str, number: &Number, open: bool| json!({ "on": [name], side: [number.1[0], number.1[1], open] });
        if self.unit.is_empty() {
            let words: Vec<usize> = loop {
                let words: Vec<usize> = (0..3).filter(|_| chance.below(3) > 0).collect();
                if !words.is_empty() {
                    break words;
                }
            };
            let text = words.iter().map(|word| WORDS[*word]).collect::<Vec<_>>().join(" or ");
            return (text, json!([{ "on": [name], "one-of": words }]));
        }
        let (low, high) = (self.number(chance), self.number(chance));
        let open = chance.below(2) == 0;
        match chance.below(4) {
            0 => (format!("{} {}", if open { "over" } else { "at least" }, low.0), json!([bound("at-least", &low, open)])),
            1 => (format!("{} {}", if open { "under" } else { "at most" }, high.0), json!([bound("at-most", &high, open)])),
            _ => {
                let (low, high) = in_order(low, high);
                let open = open && low.0 != high.0;
                let text = format!("{} to {}{}", low.0, if open { "under " } else { "" }, high.0);
                (text, json!([bound("at-least", &low, false), bound("at-most", &high, open)]))
            }
        }
    }

    fn said(&self, chance: &mut Chance) -> Said {
        let verbs = |comply: Json, also: Json| json!({ "unseen": false, "comply": comply, "also": also, "adjustable": null });
        match chance.below(6) {
            0 | 1 if self.unit.is_empty() => {
                let word = chance.below(3);
                let claim = json!([{ "on": [self.setting().to_string()], "one-of": [word] }]);
                Said { text: format!("require: {}", WORDS[word]), json: verbs(claim, json!([])) }
            }
            0 | 1 => {
                let number = self.number(chance);
                let claim = |side: &str| json!({ "on": [self.setting().to_string()], side: [number.1[0], number.1[1], false] });
                Said { text: format!("require: {}", number.0), json: verbs(json!([claim("at-least"), claim("at-most")]), json!([])) }
            }
            2 => {
                let (text, claims) = self.range(chance);
                Said { text: format!("also: {text}"), json: verbs(Json::Null, claims) }
            }
            _ => {
                let (text, claims) = self.range(chance);
                Said { text: format!("comply: {text}"), json: verbs(claims, json!([])) }
            }
        }
    }

    fn statement(&self, chance: &mut Chance) -> Statement {
        if chance.below(2) == 0 {
            return Statement { cases: Vec::new(), otherwise: Some(self.said(chance)) };
        }
        let split = SPLITS[chance.below(SPLITS.len())];
        // at times a hole, in which the layer below speaks
        let kept: Vec<&str> = split.iter().copied().filter(|_| chance.below(4) > 0).collect();
        let kept = if kept.is_empty() { vec![split[0]] } else { kept };
        let cases = kept.into_iter().map(|when| (when, self.said(chance))).collect();
        Statement { cases, otherwise: None }
    }
}

/// Two ends of a range; one that counts in per unit is told by its volts at 230 V.
fn in_order(one: Number, other: Number) -> (Number, Number) {
    let volts = |number: &Number| number.1[0].as_str().unwrap().parse::<f64>().unwrap() * if number.1[1].is_null() { 1.0 } else { 230.0 };
    if one.1[1] != other.1[1] {
        return (one.clone(), one);
    }
    if volts(&one) <= volts(&other) { (one, other) } else { (other, one) }
}

impl Statement {
    fn text(&self) -> String {
        let case = |(when, said): &(&str, Said)| format!("{{ when: {{ {when} }}, {}, source: guide }}", said.text);
        match (&self.cases[..], &self.otherwise) {
            ([], Some(said)) => format!("{{ {}, source: guide }}", said.text),
            (cases, _) => {
                let cases: Vec<String> = cases.iter().map(case).collect();
                format!("{{ cases: [{}, {{ otherwise: as the layer below }}] }}", cases.join(", "))
            }
        }
    }

    fn json(&self) -> Json {
        let cases = self.cases.iter().map(|(when, said)| json!({ "when": conditions(when), "says": said.json }));
        json!({ "cases": cases.collect::<Vec<_>>(), "otherwise": self.otherwise.as_ref().map(|said| said.json.clone()) })
    }
}

/// What a condition asks, worked out here from its words.
fn conditions(when: &str) -> Json {
    let edge = |at: &str, open: bool| json!([at, open]);
    let one = |text: &str| {
        let (fact, test) = text.split_once(": ").unwrap();
        let within = |low: Json, high: Json| json!({ "fact": fact, "low": low, "high": high });
        match test {
            "1" | "3" => within(edge(test, false), edge(test, false)),
            "at most 10 kVA" => within(Json::Null, edge("10000", false)),
            "over 10 kVA to 30 kVA" => within(edge("10000", true), edge("30000", false)),
            "over 30 kVA" => within(edge("30000", true), Json::Null),
            "under 15 kVA" => within(Json::Null, edge("15000", true)),
            "15 kVA to 40 kVA" => within(edge("15000", false), edge("40000", false)),
            "at most 30 kVA" => within(Json::Null, edge("30000", false)),
            "over 45 kVA" => within(edge("45000", true), Json::Null),
            "none" => json!({ "fact": fact, "one-of": [0] }),
            "fixed or dynamic" => json!({ "fact": fact, "one-of": [1, 2] }),
            // days since 1970
            "until 2026-06-30" => within(Json::Null, edge("20634", false)),
            "from 2026-07-01" => within(edge("20635", false), Json::Null),
            other => panic!("{other}"),
        }
    };
    when.split(", ").map(one).collect()
}

/// A layer's statements, in the order of [`SLOTS`].
type Layer = Vec<Option<Statement>>;

/// One that speaks of each setting with so many chances in ten, and of one at least.
fn layer(chance: &mut Chance, spoken: usize) -> Layer {
    let always = chance.below(SLOTS.len());
    SLOTS.iter().enumerate().map(|(n, slot)| (n == always || chance.below(10) < spoken).then(|| slot.statement(chance))).collect()
}

fn settings(layer: &Layer) -> String {
    let (mut text, mut function) = ("settings:\n".to_owned(), "");
    for (slot, said) in SLOTS.iter().zip(layer) {
        let Some(said) = said else { continue };
        if slot.function != function {
            let _ = writeln!(text, "  {}:", slot.function);
            function = slot.function;
        }
        let _ = writeln!(text, "    {}: {}", slot.parameter, said.text());
    }
    text
}

const SOURCES: &str = "sources:\n  guide: { document: Wending guide, basis: invented }\n";

pub fn between() -> Vec<Between> {
    let (mut library, mut sources) = (Library::default(), Sources::default());
    let mut all = Vec::new();
    let mut standards = Vec::new();
    for n in 0..STANDARDS {
        let standard = layer(&mut Chance::new(SEED, (PAIRS + n) as u64), 6);
        let head = format!(
            "kind: standard\nstandard: wending-code-{n}\ntitle: Wending Code (invented)\nedition: {{ year: 2021 }}\nnominal: 230 V line-neutral\n{SOURCES}"
        );
        let text = format!("{head}{}regions:\n  all: {{ title: All }}\n", settings(&standard));
        add(&mut library, format!("standards/wending-code-{n}/2021.yaml"), text);
        standards.push(standard);
    }
    for n in 0..PAIRS {
        let mut chance = Chance::new(SEED, n as u64);
        let versions = [layer(&mut chance, 5), layer(&mut chance, 5)];
        let books = [0, 1].map(|version| {
            let head = format!("kind: overlay\nnetwork: wending-{n}\ntitle: Wending Lines (invented)\nversion: {}.0.0\nissue: {{ name: Issue, published: 2021-01-01 }}\nextends: {{ standard: wending-code-{}/2021 }}\nin-force: [{{ applied: from 2021-02-01 }}]\n{SOURCES}", version + 1, n % STANDARDS);
            add(&mut library, format!("overlays/wending-{n}/{}.0.0.yaml", version + 1), format!("{head}{}", settings(&versions[version])));
            let number = semver::Version::new(version as u64 + 1, 0, 0);
            let books = library.rulebooks_of((&format!("wending-{n}"), &number), "all", &mut sources);
            books.unwrap_or_else(|refusal| panic!("{refusal:?}\n{}", settings(&versions[version])))[Equipment::Inverter as usize].clone()
        });
        all.extend(compared(&standards[n % STANDARDS], &versions, &books));
    }
    all
}

fn add(library: &mut Library, path: String, text: String) {
    library.add(Profile { name: path.clone(), path, text: text.into(), shipped: false });
}

fn compared(standard: &Layer, versions: &[Layer; 2], books: &[Rulebook; 2]) -> Vec<Between> {
    let found = changes(&books[0], &books[1], Equipment::Inverter);
    let mut all = Vec::new();
    for (at, slot) in SLOTS.iter().enumerate() {
        let setting = slot.setting();
        let layers = |at: usize, version: usize| -> Vec<Json> {
            [&standard[at], &versions[version][at]].into_iter().flatten().map(Statement::json).collect()
        };
        // the state of a limit on power is asked for by the limit as well
        if (layers(at, 0).is_empty() && layers(at, 1).is_empty()) || setting.limits_switched().next().is_some() {
            continue;
        }
        let state = SLOTS.iter().position(|other| Some(other.setting()) == setting.state() && other.setting() != setting);
        let side = |version| json!({ "state": state.map(|state| layers(state, version)), "own": layers(at, version) });
        let of_space: Vec<Claim> =
            space(Equipment::Inverter, ProvenanceId(0)).into_iter().filter(|claim| claim.on.subject().setting == setting).collect();
        let same_function = SettingId::all().filter(|other| other.same_function(setting));
        let conditions: Vec<Condition> = same_function
            .flat_map(|other| [0, 1].map(|book| books[book].conditions_on(other).copied().collect::<Vec<_>>()))
            .flatten()
            .collect();
        let kind = if slot.unit.is_empty() { json!(WORDS.len()) } else { json!("number") };
        let while_enabled = setting.state().filter(|state| *state != setting).map(|state| state.to_string());
        let variables = json!({ setting.to_string(): [kind, while_enabled] });
        let nominal = super::written::possible(settings_model::facts::FactId::NominalVoltage);
        let multiplied = [("nominal-voltage".to_owned(), nominal)].into_iter().filter(|_| slot.unit == "V").collect();
        let problem = versions::problem(setting, variables, multiplied, &of_space, [side(0), side(1)], &conditions);
        let changes = found.iter().filter(|change| change.setting == setting).cloned().collect();
        all.push(Between { setting, sites: versions::sites(&conditions), problem, changes });
    }
    all
}
