//! The chain of exactly the profiles that a site pins. It has to be one that the site's own network and standard
//! can have: with a layer left out, or another network's in its place, the site would be judged by less than it is
//! asked, with nobody's word for it.

use super::chain::{Chain, name_of};
use super::{Library, Part, Refusal, Request, Typed};
use crate::files::{OverlayFile, StandardFile};
use crate::source::Sources;
use std::rc::Rc;

/// Pinned profiles by what they are.
#[derive(Default)]
struct Pinned {
    /// Standards with regions: the base, and what a device stands under in its place.
    bases: Vec<Rc<Typed<StandardFile>>>,
    installations: Vec<Rc<Typed<StandardFile>>>,
    /// Lowest first.
    overlays: Vec<Rc<Typed<OverlayFile>>>,
}

impl Library {
    pub(super) fn chain_pinned(&mut self, keys: &[&str], request: Request<'_>, sources: &mut Sources) -> Result<Chain, Refusal> {
        let pinned = self.pinned(keys, sources)?;
        stand_on_one_another(&pinned.overlays, request.network)?;
        let lowest = pinned.overlays.first().map(|overlay| &overlay.file.extends.value);
        let base = lowest.map_or(request.standard, |extends| extends.standard.as_deref().map(String::as_str));
        let besides = pinned.overlays.iter().rev().find_map(|overlay| overlay.file.extends.value.installation.as_deref());
        let besides = besides.map(String::as_str).or(request.installation.filter(|_| request.network.is_none()));
        let named = |standards: &[Rc<Typed<StandardFile>>], key: &str| standards.iter().find(|one| name_of(&one.file) == key).cloned();
        let standard = base.and_then(|key| named(&pinned.bases, key)).ok_or_else(|| match base {
            Some(key) => left_out(key),
            None => unfit("no standard with regions is pinned".to_owned()),
        })?;
        let installation = besides.map(|key| named(&pinned.installations, key).ok_or_else(|| left_out(key))).transpose()?;
        Ok(Chain { overlays: pinned.overlays, standard, installation })
    }

    fn pinned(&mut self, keys: &[&str], sources: &mut Sources) -> Result<Pinned, Refusal> {
        let mut pinned = Pinned::default();
        for key in keys {
            match key.split('/').collect::<Vec<_>>()[..] {
                ["standards", name, edition] => {
                    let standard = self.standard(&format!("{name}/{edition}"), sources)?;
                    let place = if standard.file.regions.0.is_empty() { &mut pinned.installations } else { &mut pinned.bases };
                    place.push(standard);
                }
                ["overlays", network, version] => {
                    let version = semver::Version::parse(version).ok().filter(|version| self.versions(network).contains(version));
                    let missing = || Refusal::unknown(Part::Network, format!("no profile `{key}`"), network, &self.networks());
                    let version = version.ok_or_else(missing)?;
                    pinned.overlays.push(self.overlay(network, &version, sources)?);
                }
                _ => return Err(Refusal::unknown(Part::Standard, format!("no profile `{key}`"), key, &self.standards())),
            }
        }
        Ok(pinned)
    }
}

/// Overlays from the standard up to the site's network, each on the one below.
fn stand_on_one_another(overlays: &[Rc<Typed<OverlayFile>>], network: Option<&str>) -> Result<(), Refusal> {
    let top = overlays.last().map(|overlay| overlay.file.network.value.as_str());
    match (network, top) {
        (Some(network), None) => return Err(left_out(network)),
        (network, Some(top)) if network != Some(top) => return Err(unfit(format!("`{top}`, which is pinned, is not the site's network"))),
        _ => {}
    }
    for (n, overlay) in overlays.iter().enumerate() {
        let extends = &overlay.file.extends.value;
        let below = n.checked_sub(1).map(|n| &overlays[n].file);
        let is_below = |network: &str| {
            below.is_some_and(|below| {
                below.network.value == network && extends.version.as_ref().is_none_or(|range| range.holds(&below.version.value))
            })
        };
        let fits = match (&extends.network, below) {
            (Some(network), _) => is_below(network),
            (None, below) => below.is_none(),
        };
        if !fits {
            let stands_on = extends.network.as_ref().or(extends.standard.as_ref()).map_or("nothing", |name| name.as_str());
            return Err(unfit(format!("`{}` extends `{stands_on}`, and something else is pinned below it", overlay.file.network.value)));
        }
    }
    Ok(())
}

fn left_out(name: &str) -> Refusal {
    unfit(format!("`{name}`, which the site has to meet, is not pinned"))
}

fn unfit(says: String) -> Refusal {
    let hint = "restore the pins as `pin` wrote them; or judge the site anew, and pin that: `asleft pin SITE --write`".to_owned();
    Refusal::Unknown { part: Part::Pinned, says, hint: Some(hint) }
}
