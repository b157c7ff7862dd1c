//! What the schema of a scenario cannot say: that each step takes time, and that it ends.

use crate::document::Node;
use crate::finding::Finding;

/// The most steps of a scenario, with all that is repeated.
const MOST_STEPS: usize = 10_000;

/// What a step changes.
const CHANGES: [&str; 7] = ["voltage", "voltage-l1", "voltage-l2", "voltage-l3", "frequency", "available", "own-use"];

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let Some(then) = root.get("then") else { return };
    if then.items().is_empty() {
        findings.push(Finding::unusable("no-steps", then.place, "nothing happens").hint("add a step, such as `- for: 30 s`"));
    }
    let steps: usize = then.items().iter().map(|step| check_step(step, findings)).fold(0, usize::saturating_add);
    if steps > MOST_STEPS {
        let says = format!("{steps} steps, with all that is repeated");
        findings.push(Finding::unusable("too-long", then.place, says).hint(format!("repeat less: a scenario has at most {MOST_STEPS}")));
    }
}

/// How many steps it comes to.
fn check_step(step: &Node, findings: &mut Vec<Finding>) -> usize {
    let changes = || CHANGES.iter().find_map(|key| step.entry(key));
    let inner: usize = step.get("then").map(Node::items).unwrap_or_default().iter().map(|step| check_step(step, findings)).sum();
    if let Some((repeat, times)) = step.entry("repeat") {
        let other = step.entries().iter().find(|(key, _)| !matches!(key.text(), "repeat" | "then" | "says"));
        if let Some((other, _)) = other {
            let says = format!("`{}` beside `repeat`", other.text());
            let finding =
                Finding::unusable("repeat-and-more", other.place, says).because(repeat.place, "what is repeated is listed under `then`");
            findings.push(finding.hint("make it a step of its own, under `then` or beside this one"));
        }
        if inner == 0 {
            let finding = Finding::unusable("repeats-nothing", repeat.place, "nothing is repeated");
            findings.push(finding.hint("add the steps under `then`"));
        }
        let times: usize = times.text().parse().unwrap_or(usize::MAX);
        return times.saturating_mul(inner);
    }
    if let Some((then, _)) = step.entry("then") {
        findings.push(
            Finding::unusable("then-without-repeat", then.place, "steps under a step that does not repeat")
                .hint("add `repeat: 2`, or move them out"),
        );
    }
    if step.entry("for").is_none() && step.entry("over").is_none() {
        let place = changes().map_or(step.place, |(key, _)| key.place);
        findings.push(
            Finding::unusable("no-time", place, "the step takes no time")
                .hint("add `for: 30 s`, or `over: 5 s` for a change in a straight line"),
        );
    }
    if let (Some((over, _)), None) = (step.entry("over"), changes()) {
        let says = "nothing changes over this time";
        findings.push(
            Finding::unusable("no-change", over.place, says).hint("add what it comes to, such as `voltage: 1.05 pu`, or write `for`"),
        );
    }
    inner + 1
}
