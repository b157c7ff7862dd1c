//! Photos: by hash, and tied to what they prove. One that is not there, or is another, proves nothing.

use super::{Photos, Work};
use crate::parts::{Found, Photo};
use settings_model::document::Node;
use settings_model::files::Photo as Listed;
use settings_model::finding::{Finding, Outcome};
use settings_model::source::Place;
use std::collections::BTreeMap;

/// The photos of a job, and what is to be said of them.
pub(super) fn photos(work: &Work<'_>, there: &Photos) -> (Vec<Photo>, Vec<Finding>) {
    let proofs = proofs(work.root);
    let (mut photos, mut findings) = (Vec::new(), Vec::new());
    let listed = work.file.into_iter().flat_map(|file| &file.photos.0);
    for (name, photo) in listed.clone() {
        let proves: Vec<String> = proofs.iter().filter(|proof| proof.photo == name.value).map(|proof| proof.path.clone()).collect();
        let one = listed_photo(&name.value, photo, proves, there);
        findings.extend(of_listed(&one, name.place, photo));
        photos.push(one);
    }
    for (name, place, paths) in not_listed(work, &proofs) {
        findings.push(
            Finding::new(Outcome::NotProven, "photo-not-listed", place, format!("photo {name} is named here, and no file is known for it"))
                .hint("list it under `photos` in the commissioning file, with the name of its file"),
        );
        photos.push(Photo { name, file: None, stated_sha256: None, sha256: None, found: Found::NotListed, proves: paths });
    }
    if let Photos::InFolder(files) = there {
        for (file, sha256) in
            files.iter().filter(|(file, _)| !photos.iter().any(|photo| photo.file.as_ref() == Some(file))).collect::<Vec<_>>()
        {
            findings.push(
                Finding::new(
                    Outcome::NotProven,
                    "photo-named-nowhere",
                    Place::NOWHERE,
                    format!("`{file}` lies among the photos, and nothing names it"),
                )
                .hint("list it under `photos` in the commissioning file, or take it out of the folder"),
            );
            photos.push(Photo {
                name: file.clone(),
                file: Some(file.clone()),
                stated_sha256: None,
                sha256: Some(sha256.clone()),
                found: Found::NotNamed,
                proves: Vec::new(),
            });
        }
    } else if !photos.iter().all(|photo| photo.found == Found::NotListed) {
        let place = work.tree.and_then(|tree| tree.entry("photos")).map_or(Place::NOWHERE, |(key, _)| key.place);
        findings.push(
            Finding::new(Outcome::NotProven, "photos-not-looked-for", place, "photos are listed, and nobody looked whether they are there")
                .hint("give the folder that they lie in as `--photos`"),
        );
    }
    findings.extend(unnamed(work, &proofs));
    (photos, findings)
}

/// The photos that a site's file names, each once.
pub(super) fn named(root: &Node) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for proof in proofs(root) {
        if !names.contains(&proof.photo) {
            names.push(proof.photo);
        }
    }
    names
}

/// The photos that a record was made with.
pub(super) fn those_of(photos: &[Photo]) -> Photos {
    if photos.iter().any(|photo| photo.found == Found::NotLookedFor) {
        return Photos::NotLookedFor;
    }
    let there = photos.iter().filter_map(|photo| Some((photo.file.clone()?, photo.sha256.clone()?)));
    Photos::InFolder(there.collect::<BTreeMap<_, _>>())
}

fn listed_photo(name: &str, photo: &Listed, proves: Vec<String>, there: &Photos) -> Photo {
    let stated = photo.sha256.as_ref().map(|hash| hash.value.clone());
    let (found, sha256) = match there {
        Photos::NotLookedFor => (Found::NotLookedFor, None),
        Photos::InFolder(files) => match files.get(&photo.file.value) {
            None => (Found::NotThere, None),
            Some(hash) if stated.as_ref().is_some_and(|stated| stated != hash) => (Found::AnotherHash, Some(hash.clone())),
            Some(hash) => (Found::There, Some(hash.clone())),
        },
    };
    let proves = proves.into_iter().chain(photo.shows.iter().cloned()).collect();
    Photo { name: name.to_owned(), file: Some(photo.file.value.clone()), stated_sha256: stated, sha256, found, proves }
}

fn of_listed(photo: &Photo, name: Place, listed: &Listed) -> Option<Finding> {
    let not_proven = |kind, place, says: String| Finding::new(Outcome::NotProven, kind, place, says);
    match photo.found {
        Found::NotThere => Some(
            not_proven(
                "photo-not-there",
                listed.file.place,
                format!("photo {}: `{}` is not among the photos", photo.name, listed.file.value),
            )
            .hint("put it there under that name, or take it again"),
        ),
        Found::AnotherHash => {
            let place = listed.sha256.as_ref().map_or(listed.file.place, |hash| hash.place);
            let says = format!("photo {}: `{}` is another file than the one this hash is of", photo.name, listed.file.value);
            let finding = not_proven("photo-another-hash", place, says);
            Some(finding.hint("find the file as it was taken: an edited or re-saved picture has another hash, and proves nothing"))
        }
        Found::There | Found::NotLookedFor if photo.proves.is_empty() => Some(
            Finding::new(
                Outcome::Remark,
                "photo-of-nothing",
                name,
                format!("photo {} proves no setting and is not said to show anything", photo.name),
            )
            .hint("name it at the setting that it shows, as `photo: …`, or say what it `shows`"),
        ),
        _ => None,
    }
}

/// A place of a site's file that names a photo.
struct Proof {
    photo: String,
    /// What it proves: `inverter-1/as-left/volt-var/points`.
    path: String,
    place: Place,
}

const MOMENTS: [&str; 2] = ["as-found", "as-left"];

/// Every photo that a site's file names, in its order.
fn proofs(root: &Node) -> Vec<Proof> {
    let mut proofs = Vec::new();
    for (device, moment, holding) in holdings(root) {
        let mut add = |node: &Node, what: &str| {
            let path = format!("{device}/{moment}/{what}");
            proofs.push(Proof { photo: node.text().to_owned(), path, place: node.place });
        };
        if let Some(photo) = holding.get("region-photo") {
            add(photo, "region-selected");
        }
        for (function, parameter, value) in values(holding) {
            if let Some(photo) = value.get("photo") {
                add(photo, &format!("{function}/{parameter}"));
            }
        }
    }
    proofs
}

fn holdings(root: &Node) -> impl Iterator<Item = (&str, &'static str, &Node)> {
    let devices = root.get("devices").map(Node::entries).unwrap_or_default();
    devices.iter().flat_map(|(name, device)| MOMENTS.iter().filter_map(move |moment| Some((name.text(), *moment, device.get(moment)?))))
}

fn values(holding: &Node) -> impl Iterator<Item = (&str, &str, &Node)> {
    let functions = holding.get("settings").map(Node::entries).unwrap_or_default();
    functions.iter().flat_map(|(function, parameters)| parameters.entries().iter().map(|(key, value)| (function.text(), key.text(), value)))
}

/// What is said beside a value: the `photo` that shows it, or where it was `read-from`.
pub(super) fn beside(root: &Node, [device, moment, setting]: [&str; 3], key: &str) -> Option<String> {
    let (function, parameter) = setting.split_once('/')?;
    let value = root.get("devices")?.get(device)?.get(moment)?.get("settings")?.get(function)?.get(parameter)?;
    value.get(key).map(|node| node.text().to_owned())
}

/// Photos that settings name and no list does: name, first place, what they would prove.
fn not_listed(work: &Work<'_>, proofs: &[Proof]) -> Vec<(String, Place, Vec<String>)> {
    let mut missing: Vec<(String, Place, Vec<String>)> = Vec::new();
    for proof in proofs.iter().filter(|proof| work.file.and_then(|file| file.photo(&proof.photo)).is_none()) {
        match missing.iter_mut().find(|(name, ..)| *name == proof.photo) {
            Some((.., paths)) => paths.push(proof.path.clone()),
            None => missing.push((proof.photo.clone(), proof.place, vec![proof.path.clone()])),
        }
    }
    missing
}

/// Values that are said to be known by a photo, and none is named.
fn unnamed(work: &Work<'_>, proofs: &[Proof]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (device, moment, holding) in holdings(work.root) {
        let of_block = holding.get("known-by").map(Node::text) == Some("photo");
        let is_by_photo = |value: &Node| value.get("known-by").map_or(of_block, |by| by.text() == "photo");
        let bare: Vec<(String, Place)> = values(holding)
            .filter(|(.., value)| is_by_photo(value))
            .map(|(function, parameter, value)| (format!("{function}/{parameter}"), value.place))
            .filter(|(setting, _)| !proofs.iter().any(|proof| proof.path == format!("{device}/{moment}/{setting}")))
            .collect();
        let Some((first, place)) = bare.first() else { continue };
        let says = match bare.len() {
            1 => format!("{device}, {moment}: {first} is known by a photo, and none is named"),
            many => format!("{device}, {moment}: {many} settings are known by a photo, and none is named for them"),
        };
        let mut finding = Finding::new(Outcome::NotProven, "photo-not-named", *place, says)
            .hint("write `{ value: …, known-by: photo, photo: 3 }`, or say how they are known in truth");
        if bare.len() > 1 {
            finding.folded = bare.iter().map(|(setting, _)| setting.clone().into()).collect();
        }
        findings.push(finding);
    }
    findings
}
