//! What the schema of an export map cannot say: that each column says one thing, and of what its rows are.

use crate::catalogue::SettingId;
use crate::document::Node;
use crate::files::ExportField;
use crate::finding::{Finding, nearest};

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let of_devices = root.get("rows").is_some_and(|rows| rows.text() == "device");
    for column in root.get("columns").map(Node::items).unwrap_or_default() {
        let said: Vec<&(Node, Node)> = ["is", "setting", "always"].iter().filter_map(|key| column.entry(key)).collect();
        match said[..] {
            [_] => {}
            [] => {
                let finding = Finding::unusable("says-nothing", column.place, "a column that says nothing");
                findings.push(finding.hint("add `is: …`, `setting: …` or `always: …`"));
            }
            [_, (second, _), ..] => {
                let says = format!("a column says one thing, and `{}` is another", second.text());
                findings.push(Finding::unusable("says-two-things", second.place, says).hint("keep one of the two"));
            }
        }
        let is_of_device = column.get("is").filter(|is| ExportField::of_device(is.text()));
        let setting = column.get("setting").filter(|setting| !setting.text().is_empty());
        if let Some(node) = is_of_device.or(setting).filter(|_| !of_devices) {
            let finding = Finding::unusable("of-a-device", node.place, format!("`{}` is of a device, and a row is of a site", node.text()));
            findings.push(finding.hint("write `rows: device` for a row of each device"));
        }
        findings.extend(setting.and_then(unknown_setting));
    }
}

fn unknown_setting(node: &Node) -> Option<Finding> {
    let named = node.text();
    if SettingId::named(named).is_some() {
        return None;
    }
    let known: Vec<String> = SettingId::all().map(|setting| setting.to_string()).collect();
    let finding = Finding::unusable("unknown-setting", node.place, format!("no setting `{named}`"));
    Some(match nearest(named, known.iter().map(String::as_str)) {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None => finding.hint("`asleft list settings` names them all"),
    })
}
