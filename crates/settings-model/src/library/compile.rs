//! From the files of a chain to one rulebook: layers, lowest first.

use super::{Chain, Part, Refusal};
use crate::catalogue::Equipment;
use crate::claim::{LayerId, LayerKind, Whys};
use crate::entry::Stated;
use crate::files::{CitationText, OverlayFile, StandardFile};
use crate::finding::Finding;
use crate::layer::{Head, LayerReader};
use crate::requirement::Rulebook;

/// What the layers of a chain say, in one region, of one kind of equipment.
pub(super) fn compile(chain: &Chain, region: &str, kind: Equipment) -> Result<Rulebook, Refusal> {
    let standard = &chain.standard.file;
    let title = match standard.regions.get(region) {
        Some(named) => named.title.as_str(),
        // a standard of installation has none, and is asked for without
        None if region.is_empty() && standard.regions.0.is_empty() => "",
        None => {
            let known: Vec<String> = standard.regions.iter().map(|(name, _)| name.to_owned()).collect();
            return Err(Refusal::unknown(Part::Region, format!("{} has no region `{region}`", standard.title), region, &known));
        }
    };
    let mut layers = Layers::default();
    layers.add(standard_head(standard, title), &standard.sources.0, |reader| reader.standard(standard, kind, Some(region)));
    if let Some(installation) = &chain.installation {
        let file = &installation.file;
        let head = Head { kind: LayerKind::InstallationStandard, ..standard_head(file, "") };
        layers.add(head, &file.sources.0, |reader| reader.standard(file, kind, None));
    }
    for overlay in &chain.overlays {
        let file = &overlay.file;
        layers.add(overlay_head(file), &file.sources.0, |reader| reader.overlay(file, kind));
    }
    if !layers.findings.is_empty() {
        return Err(layers.findings.into());
    }
    let brought_by = if standard.certified.is_empty() { vec![standard.edition.value] } else { standard.certified.clone() };
    let key = (standard.standard.value.clone(), brought_by);
    let mut rulebook = Rulebook::new(layers.heads, layers.stated, layers.whys, key);
    rulebook.nominal = standard.nominal.map(|n| n.0);
    region.clone_into(&mut rulebook.region);
    title.clone_into(&mut rulebook.region_title);
    Ok(rulebook)
}

/// Layers as they are put on one another, lowest first.
#[derive(Default)]
struct Layers {
    heads: Vec<Head>,
    stated: Vec<(LayerId, Stated)>,
    whys: Whys,
    findings: Vec<Finding>,
}

impl Layers {
    fn add(&mut self, head: Head, sources: &[(String, CitationText)], read: impl FnOnce(&mut LayerReader<'_>) -> Vec<Stated>) {
        let layer = LayerId(self.heads.len() as u8);
        self.heads.push(head);
        let mut reader = LayerReader::new(layer, sources, &mut self.whys);
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
