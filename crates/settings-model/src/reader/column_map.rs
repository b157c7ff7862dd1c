//! What the schema of a column map cannot say: that each column of a sheet is one thing.

use crate::document::Node;
use crate::filled::{Columns, same_column};
use crate::finding::Finding;

/// Adds every name that stands for two columns: what was left would be read from what was found, and nobody would see it.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let Some(columns) = root.get("columns") else { return };
    let named: Vec<&(Node, Node)> = columns.entries().iter().filter(|(_, name)| !name.text().is_empty()).collect();
    let twice = named.iter().enumerate().filter_map(|(n, (_, name))| {
        let (key, first) = named[..n].iter().find(|(_, earlier)| same_column(earlier.text(), name.text()))?;
        let says = format!("`{}` is the column of `{}` already", name.text(), key.text());
        Some(Finding::unusable("column-of-two", name.place, says).because(first.place, "here first"))
    });
    findings.extend(twice.map(|finding| finding.hint("name another column, or leave one of the two out")));
    let usual = Columns::default();
    let taken = usual.needed().into_iter().filter(|(key, _)| columns.get(key).is_none()).filter_map(|(key, usual)| {
        let (_, name) = named.iter().find(|(_, name)| same_column(name.text(), usual))?;
        let says = format!("`{}` is what `{key}` is called, where a map does not name that one", name.text());
        Some(Finding::unusable("column-of-two", name.place, says))
    });
    findings.extend(taken.map(|finding| finding.hint("name the other column too, or another one here")));
}
