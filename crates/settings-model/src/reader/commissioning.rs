//! What the schema of a commissioning file cannot say: that each test says something, and one thing.

use crate::document::Node;
use crate::finding::{Finding, nearest};
use crate::slip::listed;

/// What is measured in a test.
const MEASURED: [&str; 7] = ["time", "waited", "ramp", "export", "pick-up", "drop-off", "saw"];

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let instruments: Vec<&str> = names(root.get("instruments"));
    for (_, instrument) in root.get("instruments").map(Node::entries).unwrap_or_default() {
        findings.extend(instrument.get("accuracy").and_then(|accuracy| accuracy.get("power")).and_then(below_zero));
    }
    for (name, test) in root.get("tests").map(Node::entries).unwrap_or_default() {
        check_test(name, test, findings);
        findings.extend(test.get("instrument").and_then(|named| unknown_instrument(named, &instruments)));
    }
}

/// How far a reading may lie off is a size, whichever way it is off; a power that is measured may have a sign.
fn below_zero(off: &Node) -> Option<Finding> {
    let text = off.text().trim();
    text.starts_with('-').then(|| {
        Finding::unusable("value", off.place, format!("an accuracy is how far a reading may lie off, either way, and not `{text}`"))
            .hint(format!("write it without its sign: `{}`", text.trim_start_matches('-')))
    })
}

fn names(map: Option<&Node>) -> Vec<&str> {
    map.map(Node::entries).unwrap_or_default().iter().map(|(name, _)| name.text()).collect()
}

/// A test was done, and something was measured or seen; or it was not, for a reason, and is to be done.
fn check_test(name: &Node, test: &Node, findings: &mut Vec<Finding>) {
    let measured = MEASURED.iter().find_map(|key| test.entry(key));
    match (test.entry("not-done"), measured) {
        (Some((not_done, _)), Some((key, _))) => findings.push(
            Finding::unusable("done-and-not-done", key.place, "something was measured in a test that was not done")
                .because(not_done.place, "not done")
                .hint("keep one of the two"),
        ),
        (Some((not_done, _)), None) if test.entry("retry-by").is_none() => findings.push(
            Finding::unusable("no-retry", not_done.place, "a test that was not done, and no day by when to do it")
                .hint("add `retry-by: …` with the last day on which it is to be done"),
        ),
        (None, None) => findings.push(
            Finding::unusable("says-nothing", name.place, "the test says neither what was measured nor why it was not done")
                .hint("add what the test sheet asks for, such as `time: 1.2 s`, or `not-done` and `retry-by`"),
        ),
        _ => {}
    }
    if let (None, Some((retry, _))) = (test.entry("not-done"), test.entry("retry-by")) {
        findings.push(
            Finding::unusable("retry-of-done", retry.place, "a day by when to try again, and nothing was left undone")
                .hint("leave it out, or say under `not-done` why it was not done"),
        );
    }
    if let (Some((ramp, _)), None) = (test.entry("ramp"), test.entry("watched-for")) {
        findings.push(
            Finding::unusable("no-watch", ramp.place, "a ramp without the time over which it was watched")
                .hint("add `watched-for: 5 min`: over a short time the accuracy of the device counts for more"),
        );
    }
}

fn unknown_instrument(named: &Node, known: &[&str]) -> Option<Finding> {
    if named.text().is_empty() || known.contains(&named.text()) {
        return None;
    }
    let finding = Finding::unusable("unknown-instrument", named.place, format!("no instrument `{}` is listed", named.text()));
    Some(match nearest(named.text(), known.iter().copied()) {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None if known.is_empty() => finding.hint("list it under `instruments`, with the date of its calibration"),
        None => finding.hint(format!("listed: {}", listed(known))),
    })
}
