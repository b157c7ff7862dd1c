//! Points whose edges are counted from a neighbour or a reference: it has to be there.

use crate::catalogue::{SettingId, Shape};
use crate::claim::ProvenanceId;
use crate::document::Node;
use crate::finding::Finding;
use crate::notation::{Coordinate, point_edges};

/// Edges of a set of points that are counted from something that is not there. What is wrong with a
/// text alone is reported by the schema.
pub(super) fn missing(setting: SettingId, points: &Node) -> Vec<Finding> {
    let Shape::Curve { x, y } = setting.parameter().shape else { return Vec::new() };
    let points = points.items();
    let mut findings = Vec::new();
    for (point, coordinates) in points.iter().map(Node::items).enumerate() {
        for (axis, (text, dimension)) in coordinates.iter().zip([x, y]).enumerate() {
            let Ok(edges) = point_edges(dimension, text.text()) else { continue };
            let coordinate = Coordinate { setting, point, of: points.len(), axis };
            let slip = coordinate.claims(edges, ProvenanceId::SITE_APPROVAL).err();
            findings.extend(slip.map(|slip| Finding::unusable("no-such-anchor", text.place, slip.says).hint(slip.help)));
        }
    }
    findings
}
