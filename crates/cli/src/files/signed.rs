//! Profiles that are only used when they are signed.

use super::keys;
use crate::args::Profiles;
use record::seal::{NotSigned, ProfileSeal, PublicKey};
use settings_model::library::{Gate, Profile};
use settings_model::slip::Slip;
use std::io;
use std::path::{Path, PathBuf};
use std::rc::Rc;

/// The file beside a profile that holds its signatures.
pub fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".sig");
    name.into()
}

/// What `--require-signed` asks of every profile that is used; `None` without it.
pub fn gate(profiles: &Profiles) -> io::Result<Option<Gate>> {
    if profiles.require_signed.is_empty() {
        return Ok(None);
    }
    let keys = profiles.require_signed.iter().map(|path| keys::public(path)).collect::<io::Result<Vec<_>>>()?;
    let trust_shipped = profiles.trust_shipped;
    Ok(Some(Gate(Rc::new(move |profile| match profile.shipped {
        true if trust_shipped => Ok(()),
        true => Err(Slip::new(
            "comes with the program, and nobody whose key is required signed it",
            "add `--trust-shipped` to use it as it is; or keep a copy of it in a folder that `--profiles` names, and sign that: `asleft show PROFILE` prints it, `asleft sign-profile PROFILE.yaml --key KEY` signs it",
        )),
        false => is_signed(profile, &keys),
    }))))
}

fn is_signed(profile: &Profile, keys: &[PublicKey]) -> Result<(), Slip> {
    let place = beside(Path::new(&profile.name));
    let of_owner = "ask its owner for a signed one: `asleft sign-profile PROFILE.yaml --key KEY` signs it";
    let unsigned = |says: String| Err(Slip::new(says, of_owner));
    let bytes = match super::whole(&place) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return unsigned(format!("is not signed: there is no `{}`", terminal::path(&place)));
        }
        Err(error) => return unsigned(format!("is not signed: {}: {error}", terminal::path(&place))),
    };
    let Some(seal) = ProfileSeal::read(&bytes) else {
        return unsigned(format!("is not signed: `{}` is not as `sign-profile` writes it", terminal::path(&place)));
    };
    match seal.is_by(keys, profile.text.as_bytes()) {
        Ok(_) => Ok(()),
        Err(NotSigned::Altered) => unsigned("was altered since it was signed: its SHA-256 is not the one that was signed".to_owned()),
        Err(NotSigned::Fault(fault)) => unsigned(format!("has a signature that does not hold: {fault}")),
        Err(NotSigned::ByOthers(by)) => {
            let wanted: Vec<String> = keys.iter().map(PublicKey::fingerprint).collect();
            let by = if by.is_empty() { "nobody".to_owned() } else { by.join(", ") };
            unsigned(format!("is signed by {by}, and not by {}", wanted.join(" or ")))
        }
    }
}
