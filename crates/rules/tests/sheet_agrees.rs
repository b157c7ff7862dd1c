//! What the sheet says complies, complies, and what it says does not, does not: at both sides of every edge, for
//! every shipped standard, network and region, in every kind of site that their conditions tell apart.
//!
//! The sheet's own words are read back here by a reader of this file alone, and each value is judged as one that a
//! device holds.

use crate::common;

use rules::assess::{Assessor, Books};
use rules::judge::{DeviceSettings, MissingEvidence, UnmetClaim, UnmetKind, judge};
use rules::sheet::{Task, rows};
use settings_model::catalogue::{Equipment, SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Requirement;
use settings_model::settings::{Known, Settings};
use settings_model::value::Value;
use std::collections::BTreeSet;

/// An edge and whether it is left out.
type Edge = Option<(Exact, bool)>;

/// `at most 5 kW`, `1 s to under 2 s`, `265 V`; `None` where the sheet says more than two edges.
fn edges(text: &str, dimension: Dimension) -> Option<(Edge, Edge)> {
    let number = |text: &str| {
        let amount = dimension.parse(text.trim()).ok()?;
        amount.of.is_none().then_some(amount.number)
    };
    if text.contains(" and ") {
        return None;
    }
    if let Some((low, high)) = text.split_once(" to ") {
        let (low, low_open) = low.strip_prefix("over ").map_or((low, false), |low| (low, true));
        let (high, high_open) = high.strip_prefix("under ").map_or((high, false), |high| (high, true));
        return Some((Some((number(low)?, low_open)), Some((number(high)?, high_open))));
    }
    for (words, is_low, open) in [("at least ", true, false), ("over ", true, true), ("at most ", false, false), ("under ", false, true)] {
        if let Some(rest) = text.strip_prefix(words) {
            let edge = Some((number(rest)?, open));
            return Some(if is_low { (edge, None) } else { (None, edge) });
        }
    }
    let only = Some((number(text)?, false));
    Some((only, only))
}

fn is_inside(value: Exact, (low, high): (Edge, Edge)) -> bool {
    low.is_none_or(|(low, open)| value > low || (!open && value == low))
        && high.is_none_or(|(high, open)| value < high || (!open && value == high))
}

/// Whether a device that holds this, and nothing else, complies in it: what the value itself comes to, whatever is
/// missing beside it.
fn complies(setting: SettingId, value: Value, requirement: &Requirement, facts: &Facts) -> bool {
    let mut settings = Settings::default();
    settings.set(setting, Known { value, evidence: None, step: None });
    let held = DeviceSettings { settings: &settings, evidence: None, region_stands: false, asked: requirement };
    let mut faults: Vec<UnmetClaim> = Vec::new();
    judge(held, facts, &mut faults);
    let is_left = |fault: &&UnmetClaim| {
        !matches!(
            fault.kind,
            UnmetKind::SameResponse
                | UnmetKind::NotProven(MissingEvidence::Evidence | MissingEvidence::NotStated | MissingEvidence::LeftOpen)
        )
    };
    !faults.iter().filter(|fault| fault.setting == setting && fault.claim.on.subject().setting == setting).any(|fault| is_left(&fault))
}

#[derive(Debug, Default)]
struct Counts {
    kinds_of_site: usize,
    rows: usize,
    values: usize,
    words: usize,
    curves: usize,
    /// Rows of which the sheet says more than an interval.
    not_read: usize,
}

fn look(books: &Books, name: &str, counts: &mut Counts) {
    for kind in Equipment::ALL {
        let book = books.on(kind);
        let mut given = Facts::default();
        given.set_number(FactId::NominalVoltage, book.rulebook.nominal.unwrap_or(Exact::from(120)));
        let mut seen = BTreeSet::new();
        for mut facts in book.rulebook.examples_of_cells(&given).take(20_000) {
            if !seen.insert((book.rulebook.all_cases_met(&facts), facts.is_without_export())) {
                continue;
            }
            counts.kinds_of_site += 1;
            if facts.get(FactId::ApprovedExport).is_none() {
                let most = if facts.is_without_export() { Exact::ZERO } else { Exact::from(7000) };
                facts.set_number(FactId::ApprovedExport, most);
            }
            let counted = book.requirement(&facts, &[]);
            for row in rows(book, &counted.requirement, &facts, &[]).iter().filter(|row| row.task != Task::NotChecked) {
                counts.rows += 1;
                let (setting, says) = (row.setting, row.complies_within.as_str());
                let what = format!("{name}, {kind:?}, {setting}: {says}, {facts:?}");
                let held = |value| complies(setting, value, &counted.requirement, &facts);
                match setting.parameter().shape {
                    Shape::Choice(words) => {
                        let allowed: Vec<&str> = says.split(" or ").collect();
                        for (n, word) in words.iter().enumerate() {
                            counts.words += 1;
                            assert_eq!(held(Value::Word(n as u8)), allowed.contains(word), "{word}: {what}");
                        }
                    }
                    Shape::Quantity(dimension) => {
                        let Some((low, high)) = edges(says, dimension) else {
                            counts.not_read += 1;
                            continue;
                        };
                        let little = Exact::new(1, 4);
                        let at = [low, high].into_iter().flatten().flat_map(|(edge, _)| [edge, edge - little, edge + little]);
                        for value in at.chain([Exact::from(-1), Exact::from(1_000_000)]) {
                            counts.values += 1;
                            let complies = held(Value::Quantity(Amount::plain(value)));
                            assert_eq!(complies, is_inside(value, (low, high)), "{}: {what}", dimension.show(value));
                        }
                        if let Some(value) = &row.set {
                            assert!(held(value.clone()), "the value to set: {what}");
                        }
                    }
                    Shape::Curve { .. } => {
                        if let Some(value) = &row.set {
                            counts.curves += 1;
                            assert!(held(value.clone()), "the curve to set: {what}");
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn what_the_sheet_says_complies_complies_and_nothing_else_does() {
    let mut assessor = Assessor::new(common::shipped_library(), jiff::civil::date(2026, 11, 25));
    let mut counts = Counts::default();
    for standard in assessor.library.standards() {
        for rulebooks in assessor.library.rulebooks_in_every_region(&standard, &mut assessor.sources).unwrap() {
            look(&Books::of(rulebooks), &standard, &mut counts);
        }
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            for rulebooks in assessor.library.rulebooks_on_every_parent((&network, &version), &mut assessor.sources).unwrap() {
                look(&Books::of(rulebooks), &format!("{network}/{version}"), &mut counts);
            }
        }
    }
    println!("{counts:?}");
    assert!(counts.kinds_of_site > 100 && counts.values > 10_000 && counts.words > 2_000, "{counts:?}");
    assert!(counts.not_read * 20 < counts.rows, "{counts:?}");
}
