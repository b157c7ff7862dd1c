//! What offices read of the profiles at hand: `attestations/standards/<standard>/<edition>/<office>.yaml`
//! and `attestations/overlays/<network>/<version>/<office>.yaml`.

use super::{Library, Refusal, misfiled, none};
use crate::attested::{Attestation, Reader, Stating, faults};
use crate::files::{AttestationFile, Kind};
use crate::finding::Finding;
use crate::reader;
use crate::source::{Place, Sources};
use jiff::civil::Date;
use std::rc::Rc;
use std::sync::Arc;

/// The days that an attestation is held against. Without them, every day is past.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Days {
    /// The day by the clock: nobody has read anything after it.
    now: Option<Date>,
    /// The day that is asked about: what was read later was not known then.
    asked: Option<Date>,
}

impl Library {
    /// Sets the day by the clock.
    pub fn set_now(&mut self, now: Date) {
        self.days.now = Some(now);
    }

    /// Sets the day that is asked about.
    pub fn set_asked(&mut self, asked: Date) {
        self.days.asked = Some(asked);
    }

    /// The paths of all attestations at hand.
    #[must_use]
    pub fn attestations(&self) -> Vec<String> {
        self.profiles.keys().filter(|path| attested_key(path).is_some()).cloned().collect()
    }

    /// The profile that an attestation is of, with all attestations of that profile, this one among
    /// them: its key, its values, and them.
    ///
    /// # Errors
    /// Every fault of the profile or of one of its attestations.
    pub fn attested(&mut self, path: &str, sources: &mut Sources) -> Result<Attested, Refusal> {
        let key = attested_key(path).unwrap_or_default().to_owned();
        let (profile, attestations): (Rc<dyn Stating>, _) = match key.split('/').collect::<Vec<_>>()[..] {
            ["standards", name, edition] if self.profile(&key).is_some() => {
                let typed = self.standard(&format!("{name}/{edition}"), sources)?;
                (Rc::new(typed.file.clone()), typed.attestations.clone())
            }
            ["overlays", network, version] if self.profile(&key).is_some() => {
                let version = semver::Version::parse(version).map_err(|_| nothing_to_attest(Place::NOWHERE, &key, self))?;
                let typed = self.overlay(network, &version, sources)?;
                (Rc::new(typed.file.clone()), typed.attestations.clone())
            }
            _ => {
                let (file, _) = self.attestation(path, sources)?;
                let place = file.standard.as_ref().or(file.network.as_ref()).map_or(Place::NOWHERE, |named| named.place);
                return Err(nothing_to_attest(place, &key, self));
            }
        };
        Ok(Attested { key, profile, attestations })
    }

    /// What offices read of one profile.
    pub(super) fn attestations_of(
        &self,
        key: &str,
        profile: &dyn Stating,
        title: &str,
        sources: &mut Sources,
    ) -> Result<Vec<Rc<Attestation>>, Vec<Finding>> {
        let folder = format!("attestations/{key}/");
        let (mut read, mut findings) = (Vec::new(), Vec::new());
        for path in self.profiles.keys().filter(|path| path.starts_with(&folder)) {
            let one = self.attestation(path, sources).and_then(|(file, source)| {
                none(faults(&file, profile, title))?;
                let by = Arc::new(Reader::of(&file));
                let counts = self.days.asked.is_none_or(|asked| by.read_on <= asked);
                Ok(Attestation { source, file, by, counts })
            });
            match one {
                Ok(attestation) => read.push(Rc::new(attestation)),
                Err(faults) => findings.extend(faults),
            }
        }
        if findings.is_empty() { Ok(read) } else { Err(findings) }
    }

    /// An attestation by itself, before it is held against its profile.
    fn attestation(&self, path: &str, sources: &mut Sources) -> Result<(AttestationFile, crate::source::SourceId), Vec<Finding>> {
        let profile = &self.profiles[path];
        let source = sources.add(profile.name.clone(), profile.text.clone());
        self.admit(profile, source)?;
        let root = reader::read(source, &profile.text, Kind::Attestation)?;
        let file: AttestationFile = reader::typed(&root)?;
        let mut faults: Vec<Finding> = misfiled_attestation(&file, path);
        if self.days.now.is_some_and(|now| now < file.read_on.value.0) {
            let says = format!("read on {}, which is still to come", file.read_on.value.0);
            let finding = Finding::unusable("read-in-future", file.read_on.place, says);
            faults.push(finding.hint("write the day on which it was read"));
        }
        none(faults)?;
        Ok((file, source))
    }
}

/// A profile, and what offices read of it.
pub struct Attested {
    /// The profile's key: `standards/as-nzs-4777.2/2020-amd2`.
    pub key: String,
    /// What the profile states.
    pub profile: Rc<dyn Stating>,
    /// What offices read of it.
    pub attestations: Vec<Rc<Attestation>>,
}

/// The key of the profile that the file at a path attests to; `None` for the path of anything else.
#[must_use]
pub fn attested_key(path: &str) -> Option<&str> {
    let (key, _) = path.strip_prefix("attestations/")?.strip_suffix(".yaml")?.rsplit_once('/')?;
    let is_key = key.split('/').count() == 3 && ["standards/", "overlays/"].iter().any(|folder| key.starts_with(folder));
    is_key.then_some(key)
}

fn misfiled_attestation(file: &AttestationFile, path: &str) -> Vec<Finding> {
    let key = attested_key(path).unwrap_or_default();
    let office = path.rsplit('/').next().unwrap_or_default();
    let [folder, kept_name, kept_version] = key.split('/').collect::<Vec<_>>()[..] else { return Vec::new() };
    let (name, version) = match (&file.standard, &file.edition, &file.network, &file.version) {
        (Some(name), Some(edition), ..) => (("standards", name), ("edition", edition.value.key(), edition.place)),
        (_, _, Some(name), Some(version)) => (("overlays", name), ("version", version.value.to_string(), version.place)),
        _ => return Vec::new(),
    };
    let ((belongs_in, name), (word, version, place)) = (name, version);
    let paths = [path, &format!("attestations/{belongs_in}/{}/{version}/{office}", name.value)];
    let key_word = if belongs_in == "standards" { "standard" } else { "network" };
    if folder != belongs_in {
        let says = format!("{key_word} `{}`, in a file that is kept as `{path}`", name.value);
        return vec![Finding::unusable("misfiled", name.place, says).hint(format!("keep the file as `{}`", paths[1]))];
    }
    let name = misfiled(name.place, key_word, [&name.value, kept_name], paths);
    let version = misfiled(place, word, [&version, kept_version], paths);
    name.into_iter().chain(version).collect()
}

fn nothing_to_attest(place: Place, key: &str, library: &Library) -> Refusal {
    let finding = Finding::unusable("no-such-profile", place, format!("no profile `{key}` is at hand, so there is nothing to confirm"));
    let name = key.split('/').nth(1).unwrap_or_default();
    let of_name: Vec<&str> = library
        .profiles()
        .map(|profile| profile.path.trim_end_matches(".yaml"))
        .filter(|known| !known.starts_with("attestations/") && known.split('/').nth(1) == Some(name))
        .collect();
    let hint = match of_name.is_empty() {
        true => "`asleft list` names the profiles; give the folder that has it as `--profiles`".to_owned(),
        false => format!("at hand: {}; another edition needs an attestation of its own", of_name.join(", ")),
    };
    Refusal::Unusable(vec![finding.hint(hint)])
}
