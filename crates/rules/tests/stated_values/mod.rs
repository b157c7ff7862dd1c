//! Values that a device may state of any setting, and the sites to add them to.
#![allow(dead_code, reason = "each test file uses its own part")]

use settings_model::catalogue::{SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::quantity::{Amount, Dimension};
use settings_model::value::{Point, Value};
use std::path::Path;

#[path = "../../../../tests/spelt/chance.rs"]
mod chance;

pub use chance::{Chance, drawn};

fn quantity(number: Exact) -> Value {
    Value::Quantity(Amount::plain(number))
}

/// From nothing to far too much, in base units.
const NUMBERS: [(i64, u32); 9] = [(0, 0), (1, 3), (5, 1), (2, 0), (50, 0), (230, 0), (999, 0), (40_000, 0), (999_999, 0)];

/// Any value of a setting's shape.
pub fn any_value(setting: SettingId, chance: &mut Chance) -> Value {
    match setting.parameter().shape {
        Shape::Choice(words) => Value::Word(chance.below(words.len()) as u8),
        Shape::Quantity(_) => {
            let (mantissa, decimals) = *chance.of_these(&NUMBERS);
            quantity(Exact::new(mantissa, decimals))
        }
        Shape::Curve { x, .. } => {
            let step = if x == Dimension::Voltage { 20 } else { 2 };
            let first = if x == Dimension::Voltage { 200 } else { 46 };
            let point = |n: i64, y: i64| Point { x: Amount::plain(Exact::from(first + n * step)), y: Amount::plain(Exact::from(y)) };
            let levels: Vec<i64> = (0..3).map(|_| chance.below(100) as i64).collect();
            Value::Curve(levels.iter().zip(0..).map(|(y, n)| point(n, *y)).collect())
        }
    }
}

/// The same as a file writes it; of curves nothing.
pub fn written(setting: SettingId, chance: &mut Chance) -> Option<String> {
    let shape = setting.parameter().shape;
    matches!(shape, Shape::Choice(_) | Shape::Quantity(_)).then(|| any_value(setting, chance).show(setting))
}

/// Other values in place of one, some near, some far off on either side.
pub fn others(setting: SettingId, value: &Value) -> Vec<Value> {
    match (value, setting.parameter().shape) {
        (Value::Word(held), Shape::Choice(words)) => (0..words.len() as u8).filter(|word| word != held).map(Value::Word).collect(),
        (held, Shape::Quantity(_)) => {
            let far = NUMBERS.into_iter().map(|(mantissa, decimals)| quantity(Exact::new(mantissa, decimals)));
            far.filter(|other| other != held).collect()
        }
        (Value::Curve(points), _) => {
            let moved = |right: i64, up: i64| {
                let by = |amount: Amount, by: i64| Amount { number: amount.number + Exact::from(by), ..amount };
                Value::Curve(points.iter().map(|point| Point { x: by(point.x, right), y: by(point.y, up) }).collect())
            };
            vec![moved(0, 70), moved(0, -70), moved(200, 0)]
        }
        _ => Vec::new(),
    }
}

/// Every shipped site, those of the cases of `check` too, by its path from the tests.
pub fn shipped_sites() -> Vec<(String, String)> {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests");
    let mut found = Vec::new();
    ["sites", "cases/check"].iter().for_each(|folder| sites_below(&tests.join(folder), &tests, &mut found));
    found
}

fn sites_below(folder: &Path, tests: &Path, found: &mut Vec<(String, String)>) {
    let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sites_below(&path, tests, found);
        } else if path.extension().is_some_and(|extension| extension == "yaml")
            && let Ok(text) = std::fs::read_to_string(&path)
            && text.lines().any(|line| line == "kind: site")
        {
            found.push((path.strip_prefix(tests).unwrap().display().to_string(), text));
        }
    }
}
