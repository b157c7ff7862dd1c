//! Which site it is and what it stands under.

use crate::parts::{Answerable, Approval, Dates, Exemption, Export, Layer, Pin, Requirement, Site, Supply};
use rules::assess::Assessment;
use settings_model::claim::LayerKind;
use settings_model::document::Node;
use settings_model::files::{Day, SiteFile, Text};
use settings_model::quantity::Dimension;
use settings_model::source::Sources;

pub(super) fn site(site: &SiteFile<'_>) -> Site {
    let text = |text: &Option<Text<'_>>| text.as_ref().map(ToString::to_string);
    let answers = site.answerable.as_ref();
    Site {
        name: site.site.to_string(),
        network: text(&site.network),
        answerable: Answerable {
            company: answers.and_then(|one| text(&one.company)),
            branch: answers.and_then(|one| text(&one.branch)),
            crew: answers.and_then(|one| text(&one.crew)),
        },
        dates: Dates {
            applied: day(site.dates.applied),
            approved: day(site.dates.approved),
            approved_until: day(site.dates.approved_until),
            installed: day(site.dates.installed),
            altered: day(site.dates.altered),
        },
        work: site.work.as_ref().and_then(|work| work.kind).map(|kind| kind.word().to_owned()),
        exemption: site
            .work
            .as_ref()
            .and_then(|work| work.exemption.as_ref())
            .map(|exemption| Exemption { reference: exemption.reference.to_string(), reason: exemption.reason.to_string() }),
        supply: Supply {
            connection_point: text(&site.supply.connection_point),
            phases: site.supply.phases,
            nominal: site.supply.nominal.map(|nominal| format!("{} line-neutral", Dimension::Voltage.show(nominal.0))),
        },
        export: site.export.as_ref().map(|export| Export {
            kind: export.kind.word().to_owned(),
            approved: export.approved.map(|power| Dimension::ActivePower.show(power.number)),
            reference: text(&export.reference),
        }),
    }
}

fn day(day: Option<Day>) -> Option<String> {
    day.map(|day| day.0.to_string())
}

pub(super) fn requirement(assessment: &Assessment<'_>, profiles: Vec<Pin>) -> Requirement {
    let book = assessment.book.as_ref();
    let layers = book.iter().flat_map(|book| &book.rulebook.layers).filter(|layer| layer.kind != LayerKind::Catalogue);
    Requirement {
        region: book.map(|book| book.rulebook.region.clone()).unwrap_or_default(),
        under: assessment.under(),
        layers: layers.map(|l| Layer { title: l.title.clone(), key: l.key.clone(), version: l.version.clone() }).collect(),
        profiles,
    }
}

/// What an approval may ask instead.
const VERBS: [&str; 3] = ["require", "comply", "also"];

pub(super) fn approvals(root: &Node, site: &SiteFile<'_>, sources: &Sources) -> Vec<Approval> {
    let nodes = root.get("site-specific-approvals").map(Node::items).unwrap_or_default();
    let each = nodes.iter().zip(&site.site_specific_approvals);
    each.map(|(node, approval)| Approval {
        setting: node.get("setting").map(Node::text).unwrap_or_default().to_owned(),
        asks: asks(node, sources),
        reference: approval.approval.reference.to_string(),
        role: approval.approval.role.to_string(),
        granted: approval.approval.granted.0.to_string(),
        until: day(approval.approval.until),
    })
    .collect()
}

/// `require 257 V`, as the site's file says it.
fn asks(node: &Node, sources: &Sources) -> String {
    let said = node.entries().iter().filter(|(key, _)| VERBS.contains(&key.text()));
    let said = said.map(|(key, value)| {
        let words: Vec<&str> = sources.written(value.place).split_whitespace().collect();
        format!("{} {}", key.text(), words.join(" "))
    });
    said.collect::<Vec<_>>().join(", ")
}
