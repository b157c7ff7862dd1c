//! What stands on what: overlays upon overlays, down to the standard.

use super::{InPlace, Library, Part, Refusal, Request, Typed};
use crate::facts::Facts;
use crate::files::{Extends, OverlayFile, StandardFile, VersionRange};
use crate::finding::Finding;
use crate::source::{Place, Sources};
use std::rc::Rc;

/// One overlay version of a chain and the standard below it.
pub(super) struct Chain {
    pub(super) overlays: Vec<Rc<Typed<OverlayFile>>>,
    pub(super) standard: Rc<Typed<StandardFile>>,
    pub(super) installation: Option<Rc<Typed<StandardFile>>>,
}

impl Chain {
    /// The chain with another edition in place of its standard, for a device that stands under that.
    ///
    /// It has to be an edition of the chain's own standard, and no later one; or one that this standard took the
    /// place of, or that an overlay of the chain accepts by name. Its region has to be the site's, where that
    /// edition has it; and is none that the site's own edition knows as another. Anything else would be a way out
    /// of what the site is asked, with nobody's word for it.
    pub(super) fn with(self, in_place: InPlace<'_>, region: &str, library: &mut Library, sources: &mut Sources) -> Result<Self, Refusal> {
        let key = in_place.standard;
        let standard = library.standard(key, sources)?;
        let own = &self.standard.file;
        let is_earlier = standard.file.standard.value == own.standard.value && standard.file.edition.value <= own.edition.value;
        let accepted = || self.overlays.iter().flat_map(|overlay| &overlay.file.extends.value.accepts);
        let is_named = own.supersedes.iter().chain(accepted()).any(|named| named.value == key);
        let refusal = |says: String, hint: String| Err(Refusal::Unknown { part: Part::InPlace, says, hint: Some(hint) });
        if !(is_earlier || is_named) {
            let says = format!("`{key}` is no earlier edition of `{}`, and no requirement of this site accepts it", name_of(own));
            let hint =
                "leave `stands-under` out; or ask the network operator, whose overlay can accept it by name (`extends: { accepts: … }`)";
            return refusal(says, hint.to_owned());
        }
        let has_the_sites = standard.file.regions.get(region).is_some();
        if in_place.region != region && (has_the_sites || own.regions.get(in_place.region).is_some()) {
            let says = format!("the region of this device, `{}`, is not the site's, `{region}`", in_place.region);
            let hint = match has_the_sites {
                true => format!("write `region: {region}`, or leave `stands-under` out"),
                false => format!("name the region of `{key}` in which the site lies, or leave `stands-under` out"),
            };
            return refusal(says, hint);
        }
        Ok(Self { standard, ..self })
    }
}

impl Library {
    pub(super) fn chain(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Chain, Refusal> {
        match (request.network, request.standard) {
            (Some(network), _) => {
                let range = match request.overlay.map(VersionRange::parse).transpose() {
                    Ok(range) => range,
                    Err(slip) => return Err(Refusal::Unknown { part: Part::Overlay, says: slip.says, hint: Some(slip.help) }),
                };
                let top = self.governing(network, range.as_ref(), facts, sources)?;
                self.chain_below(top, Some(facts), sources)
            }
            (None, _) if request.overlay.is_some() => Err(Refusal::Unknown {
                part: Part::Overlay,
                says: "a range of overlay versions, but no network".to_owned(),
                hint: Some("add `network: …`, or leave the range out".to_owned()),
            }),
            (None, Some(standard)) => {
                let installation =
                    request.installation.map(|key| self.standard(key, sources)).transpose().map_err(Refusal::of_installation)?;
                Ok(Chain { overlays: Vec::new(), standard: self.standard(standard, sources)?, installation })
            }
            (None, None) => Err(Refusal::Unknown {
                part: Part::Network,
                says: "neither a network nor a standard is named".to_owned(),
                hint: Some("add `network: …`, or `standard: …` under `requirements`".to_owned()),
            }),
        }
    }

    pub(super) fn chain_below(
        &mut self,
        top: Rc<Typed<OverlayFile>>,
        facts: Option<&Facts>,
        sources: &mut Sources,
    ) -> Result<Chain, Refusal> {
        let mut overlays = vec![top];
        // the layer nearest to the site says under which standard of installation it stands
        let mut installation = None;
        loop {
            let last = overlays.last().expect("starts with one");
            let Extends { standard, network, version, installation: besides, accepts: _ } = &last.file.extends.value;
            if let (None, Some(key)) = (&installation, besides) {
                installation = Some(self.standard(key, sources).map_err(|refusal| refusal.at(key.place))?);
            }
            match (standard, network) {
                (Some(standard), None) => {
                    let standard = self.standard(standard, sources).map_err(|refusal| refusal.at(standard.place))?;
                    overlays.reverse();
                    return Ok(Chain { overlays, standard, installation });
                }
                (None, Some(parent)) => {
                    if overlays.len() > MOST_LAYERS || overlays.iter().any(|o| o.file.network.value == parent.value) {
                        return Err(vec![stands_on_itself(parent.place)].into());
                    }
                    let network = parent.value.clone();
                    let next = match facts {
                        Some(facts) => self.governing(&network, version.as_ref(), facts, sources),
                        None => self.highest(&network, version.as_ref(), sources),
                    };
                    let next = next.map_err(|refusal| refusal.at(parent.place))?;
                    overlays.push(next);
                }
                _ => {
                    let says = "an overlay extends either a `standard` or a `network`";
                    return Err(vec![Finding::unusable("extends", last.file.extends.place, says)].into());
                }
            }
        }
    }

    /// Every way to stand on versions in range, from the top down.
    pub(super) fn towers(
        &mut self,
        above: Vec<Rc<Typed<OverlayFile>>>,
        sources: &mut Sources,
    ) -> Result<Vec<Vec<Rc<Typed<OverlayFile>>>>, Refusal> {
        let last = above.last().expect("begins with one").clone();
        let Extends { network, version, .. } = &last.file.extends.value;
        let Some(parent) = network else { return Ok(vec![above]) };
        if above.len() > MOST_LAYERS || above.iter().any(|overlay| overlay.file.network.value == parent.value) {
            return Err(vec![stands_on_itself(parent.place)].into());
        }
        let versions = self.versions(parent);
        let is_in_range = |one: &semver::Version| version.as_ref().is_none_or(|range| range.holds(one));
        let in_range: Vec<semver::Version> = versions.iter().filter(|one| is_in_range(one)).cloned().collect();
        if in_range.is_empty() {
            return Err(Refusal::out_of_range(parent, &versions, &self.networks()).at(parent.place));
        }
        let mut towers = Vec::new();
        for version in in_range {
            let mut with = above.clone();
            with.push(self.overlay(parent, &version, sources)?);
            towers.extend(self.towers(with, sources)?);
        }
        Ok(towers)
    }

    /// A tower of overlays on its standards.
    pub(super) fn grounded(&mut self, mut overlays: Vec<Rc<Typed<OverlayFile>>>, sources: &mut Sources) -> Result<Chain, Refusal> {
        let installation = overlays.iter().find_map(|overlay| overlay.file.extends.installation.clone());
        let installation = match installation {
            Some(key) => Some(self.standard(&key, sources).map_err(|refusal| refusal.at(key.place))?),
            None => None,
        };
        let lowest = overlays.last().expect("begins with one").clone();
        let Some(standard) = &lowest.file.extends.standard else {
            let says = "an overlay extends either a `standard` or a `network`";
            return Err(vec![Finding::unusable("extends", lowest.file.extends.place, says)].into());
        };
        let standard = self.standard(standard, sources).map_err(|refusal| refusal.at(standard.place))?;
        overlays.reverse();
        Ok(Chain { overlays, standard, installation })
    }
}

/// A standard as it is named: `as-nzs-4777.2/2020-amd2`.
pub(super) fn name_of(standard: &StandardFile) -> String {
    format!("{}/{}", standard.standard.value, standard.edition.key())
}

/// Overlays upon overlays: more than anybody keeps in mind.
const MOST_LAYERS: usize = 8;

fn stands_on_itself(place: Place) -> Finding {
    let finding = Finding::unusable("extends", place, "the overlay extends its own network, directly or through others");
    finding.hint("name the standard, or the network, that is below it")
}
