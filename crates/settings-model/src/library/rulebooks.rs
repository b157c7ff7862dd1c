//! From what is asked for to rulebooks: by a site's dates, by version, by what is pinned.

use super::chain::{Chain, name_of};
use super::compile::{admits, compile, region_of};
use super::{Library, Refusal, Request};
use crate::catalogue::Equipment;
use crate::facts::Facts;
use crate::requirement::Rulebook;
use crate::source::Sources;

/// One rulebook for each kind of equipment.
type Rulebooks = [Rulebook; Equipment::ALL.len()];

impl Library {
    /// What the layers of a site say, one rulebook for each kind of equipment.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Rulebooks, Refusal> {
        let chain = self.chain(request, facts, sources)?;
        self.in_place(chain, request, sources)
    }

    /// What a chain asks of a site, or of a device that stands under another edition in place of the chain's.
    fn in_place(&mut self, chain: Chain, request: Request<'_>, sources: &mut Sources) -> Result<Rulebooks, Refusal> {
        named_and_admitted(&chain, request.region)?;
        match request.in_place {
            Some(in_place) => on_every_kind(&chain.with(in_place, request.region, self, sources)?, in_place.region),
            None => on_every_kind(&chain, request.region),
        }
    }

    /// What one version of a network says, and the layers below it, whatever dates it is for; of the
    /// networks below, the highest version in range.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_of(
        &mut self,
        (network, version): (&str, &semver::Version),
        region: &str,
        sources: &mut Sources,
    ) -> Result<Rulebooks, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        named_and_admitted(&chain, region)?;
        on_every_kind(&chain, region)
    }

    /// What pinned profiles say, lowest layer first, whatever dates they are for.
    ///
    /// # Errors
    /// See [`Refusal`]; where the pins are not of the network and the standards that are asked for, too.
    pub fn rulebooks_pinned(&mut self, keys: &[&str], request: Request<'_>, sources: &mut Sources) -> Result<Rulebooks, Refusal> {
        let chain = self.chain_pinned(keys, request, sources)?;
        self.in_place(chain, request, sources)
    }

    /// What a standard asks, region by region; of one without regions, once.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_in_every_region(&mut self, standard: &str, sources: &mut Sources) -> Result<Vec<Rulebooks>, Refusal> {
        let chain = Chain { overlays: Vec::new(), standard: self.standard(standard, sources)?, installation: None };
        on_every_region(&chain)
    }

    /// What a version of a network asks, on every version of the networks below that is in range, and
    /// in every region that all of them take.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_on_every_parent(
        &mut self,
        (network, version): (&str, &semver::Version),
        sources: &mut Sources,
    ) -> Result<Vec<Rulebooks>, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let mut rulebooks = Vec::new();
        for overlays in self.towers(vec![top], sources)? {
            let chain = self.grounded(overlays, sources)?;
            rulebooks.extend(on_every_region(&chain)?);
        }
        Ok(rulebooks)
    }

    /// The base standard that a version of a network stands on: `as-nzs-4777.2/2020-amd2`.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn standard_below(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<String, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        Ok(name_of(&chain.standard.file))
    }

    /// The regions of the standard below a version of a network that its sites may stand under.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn regions_below(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<Vec<String>, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        let regions = chain.standard.file.regions.iter().map(|(key, _)| key.to_owned());
        Ok(regions.filter(|region| admits(&chain, region).is_ok()).collect())
    }
}

/// A region that the standard has, and that every network of the chain takes.
fn named_and_admitted(chain: &Chain, region: &str) -> Result<(), Refusal> {
    // a standard of installation has no regions, and is asked for without one
    if !(chain.standard.file.regions.0.is_empty() && region.is_empty()) {
        region_of(&chain.standard.file, region)?;
    }
    admits(chain, region)
}

/// One rulebook for each kind of equipment, in every region that all networks of a chain take.
fn on_every_region(chain: &Chain) -> Result<Vec<Rulebooks>, Refusal> {
    let mut regions: Vec<&str> = chain.standard.file.regions.iter().map(|(key, _)| key).collect();
    if regions.is_empty() {
        regions.push("");
    }
    let mut rulebooks = Vec::new();
    for region in regions {
        match admits(chain, region) {
            Ok(()) => rulebooks.push(on_every_kind(chain, region)?),
            Err(Refusal::Unusable(findings)) => return Err(findings.into()),
            Err(_) => {} // a region that some network does not take
        }
    }
    Ok(rulebooks)
}

fn on_every_kind(chain: &Chain, region: &str) -> Result<Rulebooks, Refusal> {
    let on = |kind| compile(chain, region, kind);
    Ok([on(Equipment::Inverter)?, on(Equipment::GridProtectionRelay)?, on(Equipment::Installation)?])
}
