//! A response place by place: what is required, what is held, and how far inside it lies.

use super::series::{Shown, level, levels, power, slack};
use super::subjects::{HeldCurve, Subject};
use response::characteristic::{Base, Points};
use rules::phrase::capitalised;
use settings_model::curve::{Reading, value_at};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// `A`, `B`, … where there are several.
pub fn letters(shown: &Shown) -> Vec<String> {
    let letter = |n: usize| char::from_u32('A' as u32 + n as u32).map_or_else(|| format!("{}", n + 1), |letter| letter.to_string());
    (0..shown.subjects.len()).map(|n| if shown.subjects.len() == 1 { String::new() } else { letter(n) }).collect()
}

/// What a reader has to know besides the numbers.
pub fn remarks(subject: &Subject) -> String {
    let mut remarks = Vec::new();
    remarks.extend(subject.rating.as_ref().map(|rating| format!("100 % is its {}", rating.shown())));
    match &subject.held {
        HeldCurve::Idle(state) => remarks.push(format!("the device has it {state}")),
        HeldCurve::NotStated => remarks.push("the device's own curve is not stated".to_owned()),
        HeldCurve::ByRegion => remarks.push("not stated; the region selected on the device stands for it".to_owned()),
        HeldCurve::NoDevice | HeldCurve::Points(_) => {}
    }
    if subject.must_be_idle {
        remarks.push("required to be off or absent".to_owned());
    }
    if remarks.is_empty() { String::new() } else { format!(": {}", remarks.join("; ")) }
}

/// A column: its heading, and its cell at a place.
pub type Column<'s> = (String, Box<dyn Fn(Exact) -> String + 's>);

/// Every column of one subject that is shown by itself.
pub fn of_one(shown: &Shown) -> Vec<Column<'_>> {
    let (lead, groups) = columns(shown);
    lead.into_iter().chain(groups.into_iter().flatten()).collect()
}

/// The columns that begin every table, and those of each subject.
pub fn columns(shown: &Shown) -> (Vec<Column<'_>>, Vec<Vec<Column<'_>>>) {
    let [measured, follows] = shown.response.axes.map(|axis| axis.dimension);
    let mut lead: Vec<Column<'_>> = Vec::new();
    if !shown.is_per_unit_only() {
        lead.push((capitalised(shown.response.axes[0].title), Box::new(move |x| measured.show(x))));
    }
    if let (Dimension::Voltage, Some(nominal)) = (measured, shown.nominal) {
        let per_unit = move |x: Exact| x.divided_roughly(nominal, 4).map_or_else(String::new, |pu| format!("{pu} pu"));
        lead.push(("Per unit".to_owned(), Box::new(per_unit)));
    }
    let alike = shown.is_asked_alike();
    if alike {
        let first = &shown.subjects[0];
        lead.extend(asked(shown, first, follows, str::to_owned, matches!(first.held, HeldCurve::NoDevice)));
    }
    let mut groups = Vec::new();
    for (subject, letter) in shown.subjects.iter().zip(letters(shown)) {
        let named = |heading: &str| if letter.is_empty() { heading.to_owned() } else { format!("{heading} {letter}") };
        let mut group = if alike { Vec::new() } else { asked(shown, subject, follows, named, matches!(subject.held, HeldCurve::NoDevice)) };
        group.extend(held(shown, subject, follows, named));
        groups.push(group);
    }
    (lead, groups)
}

/// What is required and what complies.
fn asked<'s>(
    shown: &'s Shown,
    subject: &'s Subject,
    follows: Dimension,
    named: impl Fn(&str) -> String,
    with_power: bool,
) -> Vec<Column<'s>> {
    let mut columns: Vec<Column<'s>> = Vec::new();
    if let Some(points) = &subject.required {
        columns.push((named("Required"), Box::new(move |x| reading(points, x, follows))));
        if with_power {
            columns.extend(in_power(shown, subject, points, &named));
        }
    }
    let is_band = shown.places.iter().any(|x| matches!(levels(&subject.complies, *x), [low, high] if low != high));
    if is_band {
        columns.push((named("Complies within"), Box::new(move |x| band(levels(&subject.complies, x), follows))));
    }
    columns
}

/// What a device holds, and how far inside what complies it lies.
fn held<'s>(shown: &'s Shown, subject: &'s Subject, follows: Dimension, named: impl Fn(&str) -> String) -> Vec<Column<'s>> {
    let HeldCurve::Points(points) = &subject.held else { return Vec::new() };
    let mut columns: Vec<Column<'s>> = vec![(named("Device"), Box::new(move |x| reading(points, x, follows)))];
    if subject.complies.is_some() {
        let slack = move |x: Exact| level(points, x).and_then(|level| slack(level, levels(&subject.complies, x)));
        columns.push((named("Slack"), Box::new(move |x| slack(x).map_or_else(|| "-".to_owned(), |slack| follows.show(slack.rounded(3))))));
    } else if let Some(required) = &subject.required {
        let off = move |x: Exact| Some(level(points, x)? - level(required, x)?);
        columns.push((named("Off by"), Box::new(move |x| off(x).map_or_else(|| "-".to_owned(), |off| follows.show(off.rounded(3))))));
    }
    columns.extend(in_power(shown, subject, points, &named));
    columns
}

/// The same in kilowatts or kilovars, where the rating is known.
fn in_power<'s>(shown: &Shown, subject: &'s Subject, points: &'s Points, named: &impl Fn(&str) -> String) -> Option<Column<'s>> {
    let unit = match shown.response.base {
        Base::Active => "kW",
        Base::Reactive => "kvar",
        Base::Nothing => return None,
    };
    subject.rating.as_ref()?;
    let cell = move |x: Exact| {
        let power = level(points, x).and_then(|level| power(subject, level));
        power.map_or_else(String::new, |power| format!("{} {unit}", (power * Exact::new(1, 3)).rounded(3)))
    };
    Some((named(unit), Box::new(cell)))
}

/// A level, both at a step.
fn reading(points: &Points, x: Exact, follows: Dimension) -> String {
    match value_at(points, x) {
        Some(Reading::Level(level)) => follows.show(level.rounded(3)),
        Some(Reading::Step { before, after }) => format!("{} then {}", follows.show(before.rounded(3)), follows.show(after.rounded(3))),
        None => "-".to_owned(),
    }
}

fn band([low, high]: [Option<Exact>; 2], follows: Dimension) -> String {
    let show = |level: Exact| follows.show(level.rounded(3));
    match (low, high) {
        (Some(low), Some(high)) if low == high => show(low),
        (Some(low), Some(high)) => format!("{} to {}", show(low), show(high)),
        (Some(low), None) => format!("at least {}", show(low)),
        (None, Some(high)) => format!("at most {}", show(high)),
        (None, None) => "any".to_owned(),
    }
}
