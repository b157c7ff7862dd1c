//! Decimal commas within brackets, where YAML takes a comma for the end of a value: `[253,5 V, 100 %]`
//! has three values, and `{ threshold: 264,5 V }` a key `5 V`.

use crate::document::{Kind, Node};
use crate::finding::Finding;
use crate::source::Place;

/// Reports each decimal comma once, in place of what else was found in the two halves.
pub(super) fn report(text: &str, root: &Node, findings: &mut Vec<Finding>) {
    let mut commas = Vec::new();
    if !findings.is_empty() {
        find(text, root, &mut commas);
    }
    for Comma { written, within } in commas {
        let value = &text[written.start as usize..written.end as usize];
        let inside = |place: Place| written.start <= place.start && place.end <= written.end;
        findings.retain(|finding| !inside(finding.place) && finding.place != within);
        let finding = Finding::unusable("value", written, format!("`{value}` has a decimal comma"));
        findings.push(finding.hint(format!("write a point: `{}`", value.replace(',', "."))));
    }
}

struct Comma {
    /// Both halves.
    written: Place,
    /// The list or group that they stand in.
    within: Place,
}

fn find(text: &str, node: &Node, commas: &mut Vec<Comma>) {
    let mut look = |before: &Node, after: &Node| {
        if is_decimal_comma(text, before, after) {
            commas.push(Comma { written: Place { end: after.place.end, ..before.place }, within: node.place });
        }
    };
    match &node.kind {
        Kind::List(items) => {
            items.windows(2).for_each(|pair| look(&pair[0], &pair[1]));
            items.iter().for_each(|item| find(text, item, commas));
        }
        Kind::Map(entries) => {
            let halves = entries.windows(2).filter(|pair| matches!(pair[1].1.kind, Kind::Null));
            halves.for_each(|pair| look(&pair[0].1, &pair[1].0));
            entries.iter().for_each(|(_, value)| find(text, value, commas));
        }
        _ => {}
    }
}

/// A bare number, a comma, and at once digits with a unit.
fn is_decimal_comma(text: &str, before: &Node, after: &Node) -> bool {
    let between = text.get(before.place.end as usize..after.place.start as usize);
    let unquoted = text[after.place.start as usize..].starts_with(|c: char| c.is_ascii_digit());
    let with_unit = matches!(&after.kind, Kind::Text(text) if !text.ends_with(|c: char| c.is_ascii_digit()));
    between == Some(",") && matches!(before.kind, Kind::Number(_)) && unquoted && with_unit
}
