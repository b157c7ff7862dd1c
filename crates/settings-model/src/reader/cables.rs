//! A site's cables: what feeds what, and figures that can be.

use crate::document::Node;
use crate::exact::Exact;
use crate::files::WAYS;
use crate::finding::{Finding, nearest};
use crate::quantity::Dimension;
use crate::slip::listed;

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let Some(cables) = root.get("cables").map(Node::entries) else { return };
    let names: Vec<&str> = cables.iter().map(|(name, _)| name.text()).collect();
    let devices: Vec<&str> = root.get("devices").map(Node::entries).unwrap_or_default().iter().map(|(name, _)| name.text()).collect();
    let mut fed: Vec<&str> = Vec::new();
    for (name, cable) in cables {
        findings.extend(upstream(name, cable, cables, &names));
        findings.extend(two_ways(cable));
        findings.extend(two_tables(cable));
        findings.extend(two_phases(cable));
        findings.extend(figures(cable).filter_map(too_small));
        for device in cable.get("feeds").map(Node::items).unwrap_or_default() {
            findings.extend(unknown("device", "unknown-device", device, &devices));
            if fed.contains(&device.text()) {
                let says = format!("`{}` is fed by two cables", device.text());
                findings.push(
                    Finding::unusable("fed-twice", device.place, says).hint("name it once, under the cable that ends at its terminals"),
                );
            }
            fed.push(device.text());
        }
    }
}

/// The cable upstream is one of the site's, and none lies behind itself.
fn upstream(name: &Node, cable: &Node, cables: &[(Node, Node)], names: &[&str]) -> Option<Finding> {
    let behind = cable.get("behind").filter(|behind| !behind.text().is_empty())?;
    if let Some(finding) = unknown("cable", "unknown-cable", behind, names) {
        return Some(finding);
    }
    let upstream = |name: &str| cables.iter().find(|(key, _)| key.text() == name).and_then(|(_, cable)| Some(cable.get("behind")?.text()));
    let mut at = Some(behind.text());
    for _ in names {
        match at {
            Some(at) if at == name.text() => {
                let says = format!("`{}` lies behind itself", name.text());
                return Some(
                    Finding::unusable("cables", behind.place, says)
                        .hint("name the cable nearer the point of supply; the first has no `behind`"),
                );
            }
            Some(next) => at = upstream(next),
            None => return None,
        }
    }
    None
}

fn unknown(what: &str, finding: &'static str, named: &Node, known: &[&str]) -> Option<Finding> {
    if known.contains(&named.text()) || named.text().is_empty() {
        return None;
    }
    let hint = match nearest(named.text(), known.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("its {what}s: {}", listed(known)),
    };
    Some(Finding::unusable(finding, named.place, format!("the site has no {what} `{}`", named.text())).hint(hint))
}

/// One way of stating the impedance is enough, and two may contradict each other.
fn two_ways(cable: &Node) -> Option<Finding> {
    let mut stated = WAYS.iter().filter_map(|way| cable.entry(way));
    let (first, second) = (stated.next()?, stated.next()?);
    let says = format!("`{}` beside `{}`: both state its impedance", second.0.text(), first.0.text());
    Some(Finding::unusable("cables", second.0.place, says).hint("keep the one that is surer; of the whole length, `impedance`"))
}

/// A table's figure is one of three phases or one of a single phase.
fn two_tables(cable: &Node) -> Option<Finding> {
    let figures = cable.get("voltage-drop")?.entries();
    let [_, (second, _)] = figures else { return None };
    let says = "a figure of three phases beside one of a single phase";
    Some(Finding::unusable("cables", second.place, says).hint("keep the one that the table gives; the other follows from it"))
}

fn two_phases(cable: &Node) -> Option<Finding> {
    let phases = cable.get("phases").filter(|phases| phases.text() == "2")?;
    let says = "a cable has 1 or 3 phases here";
    Some(Finding::unusable("cables", phases.place, says).hint("state a cable of two phases as one of three"))
}

/// Every figure of a cable, with what it measures.
fn figures(cable: &Node) -> impl Iterator<Item = (&Node, &Node, Dimension)> {
    let groups = [
        ("conductor", Dimension::Area),
        ("voltage-drop", Dimension::VoltageDrop),
        ("per-length", Dimension::ImpedancePerLength),
        ("impedance", Dimension::Resistance),
    ];
    let inside = groups.into_iter().filter_map(|(key, dimension)| Some((cable.get(key)?, dimension)));
    let inside = inside.flat_map(|(group, dimension)| group.entries().iter().map(move |(key, value)| (key, value, dimension)));
    cable.entry("length").map(|(key, length)| (key, length, Dimension::Length)).into_iter().chain(inside)
}

/// Reactance may be left out and may be nothing; all else is above zero.
fn too_small((key, figure, dimension): (&Node, &Node, Dimension)) -> Option<Finding> {
    // what is no quantity at all is told by the schema
    let number = dimension.parse(figure.text()).ok()?.number;
    let is_enough = number > Exact::ZERO || (number == Exact::ZERO && key.text() == "reactance");
    let says = format!("`{}` is not above zero", figure.text());
    let help = format!("write what was measured or read, such as `{}`", dimension.example());
    (!is_enough).then(|| Finding::unusable("cables", figure.place, says).hint(help))
}
