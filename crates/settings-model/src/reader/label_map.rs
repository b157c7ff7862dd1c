//! What the schema of a label map cannot say: what its labels are, and how they fit together.

use crate::document::Node;
use crate::files::LabelText;
use crate::finding::Finding;
use crate::labels;
use serde::Deserialize;

/// Adds what does not fit together. A label whose shape is at fault is reported by the schema.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let labels = root.get("labels").map(Node::items).unwrap_or_default();
    let texts: Vec<LabelText> = labels.iter().filter_map(|label| LabelText::deserialize(label).ok()).collect();
    let mut faults = labels::faults(&texts.iter().collect::<Vec<_>>());
    if texts.len() < labels.len() {
        // the label that could not be read may be the part that seems to be missing
        faults.retain(|fault| fault.name != "curve-incomplete");
    }
    findings.extend(faults);
    let models = root.get("models").map(Node::items).unwrap_or_default();
    for (n, model) in models.iter().enumerate() {
        if let Some(first) = models[..n].iter().find(|other| other.text().eq_ignore_ascii_case(model.text())) {
            let finding = Finding::unusable("model-twice", model.place, format!("`{}` is named twice", model.text()));
            findings.push(finding.because(first.place, "here first").hint("leave one of the two out"));
        }
    }
}
