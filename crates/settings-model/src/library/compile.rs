//! From the files of a chain to one rulebook: layers, lowest first.

use super::chain::Chain;
use super::{Part, Refusal};
use crate::attested::Reads;
use crate::catalogue::Equipment;
use crate::claim::{Citation, LayerId, LayerKind, Provenances};
use crate::entry::Stated;
use crate::files::{CitationText, OverlayFile, PercentOfSaid, Region, StandardFile};
use crate::finding::{Finding, nearest};
use crate::layer::{Head, LayerReader};
use crate::located::At;
use crate::requirement::Rulebook;
use crate::slip::one_of;
use std::sync::Arc;

/// What the layers of a chain say, in one region, of one kind of equipment.
pub(super) fn compile(chain: &Chain, region: &str, kind: Equipment) -> Result<Rulebook, Refusal> {
    let standard = &chain.standard.file;
    // a standard of installation has no regions, and is asked for without
    let title = match region.is_empty() && standard.regions.0.is_empty() {
        true => "",
        false => region_of(standard, region)?.title.as_str(),
    };
    let mut layers = Layers::default();
    let reads = chain.standard.reads(region);
    let mut percent_lines = Vec::new();
    let mut head = standard_head(standard, title);
    head.notes.extend(standard.regions.get(region).into_iter().flat_map(|region| region.notes.iter().cloned()));
    layers.add(head, &standard.sources.0, reads, |reader| {
        percent_lines = reader.percentages(standard);
        reader.standard(standard, kind, Some(region))
    });
    if let Some(installation) = &chain.installation {
        let file = &installation.file;
        let head = Head { kind: LayerKind::InstallationStandard, ..standard_head(file, "") };
        layers.add(head, &file.sources.0, installation.reads(""), |reader| reader.standard(file, kind, None));
    }
    for overlay in &chain.overlays {
        let file = &overlay.file;
        layers.add(overlay_head(file), &file.sources.0, overlay.reads(""), |reader| reader.overlay(file, kind));
    }
    if !layers.findings.is_empty() {
        return Err(layers.findings.into());
    }
    let brought_by = if standard.certified.is_empty() { vec![standard.edition.value] } else { standard.certified.clone() };
    let key = (standard.standard.value.clone(), brought_by);
    let mut rulebook = Rulebook::new(layers.heads, layers.stated, layers.whys, key);
    rulebook.nominal = standard.nominal.map(|n| n.0);
    rulebook.nominal_frequency = standard.nominal_frequency.map(|n| n.number);
    rulebook.percent_of = standard.percent_of.as_ref().map(PercentOfSaid::bases);
    rulebook.percent_lines = percent_lines;
    rulebook.response_tolerance = standard.response_tolerance.as_ref().and_then(|said| {
        let source = standard.sources.get(&said.source.value)?;
        Some((said.of_rating.number, Arc::new(Citation::from(source))))
    });
    region.clone_into(&mut rulebook.region);
    title.clone_into(&mut rulebook.region_title);
    rulebook.region_notes = standard.regions.get(region).map(|region| region.notes.clone()).unwrap_or_default();
    Ok(rulebook)
}

/// A region of a standard.
pub(super) fn region_of<'f>(standard: &'f StandardFile, region: &str) -> Result<&'f Region, Refusal> {
    standard.regions.get(region).ok_or_else(|| {
        let known: Vec<String> = standard.regions.iter().map(|(name, _)| name.to_owned()).collect();
        Refusal::unknown(Part::Region, format!("{} has no region `{region}`", standard.title), region, &known)
    })
}

/// Whether every network of a chain takes sites of a region.
pub(super) fn admits(chain: &Chain, region: &str) -> Result<(), Refusal> {
    let standard = &chain.standard.file;
    for overlay in &chain.overlays {
        let file = &overlay.file;
        let unknown = file.regions.iter().filter(|named| standard.regions.get(&named.value).is_none());
        let unknown: Vec<Finding> = unknown.map(|named| no_such_region(standard, named)).collect();
        if !unknown.is_empty() {
            return Err(unknown.into());
        }
        if !file.regions.is_empty() && file.regions.iter().all(|named| *named.value != *region) {
            let title = |key: &str| standard.regions.get(key).map_or_else(String::new, |region| format!(" ({})", region.title));
            let asked: Vec<String> = file.regions.iter().map(|named| format!("`{}`{}", named.value, title(&named.value))).collect();
            return Err(Refusal::Unknown {
                part: Part::Region,
                says: format!("`{region}`{} is not a region that {}, {} allows", title(region), file.title, file.issue.name),
                hint: Some(format!("it allows {}: state that, if the devices have it, or ask the network operator", one_of(&asked))),
            });
        }
    }
    Ok(())
}

fn no_such_region(standard: &StandardFile, named: &At<String>) -> Finding {
    let known: Vec<&str> = standard.regions.iter().map(|(key, _)| key).collect();
    let finding = Finding::unusable("region", named.place, format!("{} has no region `{}`", standard.title, named.value));
    finding.hint(match nearest(&named.value, known.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("known: {}", known.join(", ")),
    })
}

/// Layers as they are put on one another, lowest first.
#[derive(Default)]
struct Layers {
    heads: Vec<Head>,
    stated: Vec<(LayerId, Stated)>,
    whys: Provenances,
    findings: Vec<Finding>,
}

impl Layers {
    fn add(
        &mut self,
        head: Head,
        sources: &[(String, CitationText)],
        reads: Reads,
        read: impl FnOnce(&mut LayerReader<'_>) -> Vec<Stated>,
    ) {
        let layer = LayerId(self.heads.len() as u8);
        self.heads.push(head);
        let mut reader = LayerReader::new(layer, sources, &mut self.whys).with_reads(reads);
        self.stated.extend(read(&mut reader).into_iter().map(|said| (layer, said)));
        self.findings.append(&mut reader.findings);
    }
}

fn standard_head(file: &StandardFile, region: &str) -> Head {
    Head {
        kind: LayerKind::Standard,
        title: if region.is_empty() { file.title.clone() } else { format!("{}, {region}", file.title) },
        key: file.standard.value.clone(),
        version: file.edition.key(),
        notes: file.notes.clone(),
    }
}

fn overlay_head(file: &OverlayFile) -> Head {
    Head {
        kind: LayerKind::Overlay,
        title: format!("{}, {}", file.title, file.issue.name),
        key: file.network.value.clone(),
        version: file.version.value.to_string(),
        notes: file.notes.clone(),
    }
}
