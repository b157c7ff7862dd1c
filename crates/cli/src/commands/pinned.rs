//! The profiles that a record names: by content, from the library, a folder, or the register that kept them.

use crate::args::Profiles;
use crate::commands::clock;
use crate::files;
use crate::files::register::{self, Register};
use record::{Pin, Record};
use settings_model::library::{Library, Profile};
use settings_model::source::SourceId;
use std::io;

/// All profiles at hand, with those that a record names among them; or those that are nowhere.
pub fn library(record: &Record, from: &Profiles, register: Option<&Register>) -> io::Result<Result<Library, Vec<String>>> {
    let mut library = files::library(from)?;
    let not_at_hand = fetched(record, &mut library, register)?;
    library.set_now(clock());
    Ok(if not_at_hand.is_empty() { Ok(library) } else { Err(not_at_hand) })
}

/// The profiles that a record names and no others: whatever is asked of these is answered as it was then.
pub fn alone(record: &Record, all: &Library) -> Library {
    let mut library = all.only(record.requirement.profiles.iter().map(|pin| pin.profile.as_str()));
    library.set_now(clock());
    library
}

/// Where profiles have to be signed: why what a record was judged against is not, as far as anybody can tell.
pub fn unsigned(record: &Record, library: &Library) -> Option<String> {
    let of = |Pin { profile, sha256 }: &Pin| match library.profile(profile).filter(|at_hand| at_hand.sha256() == *sha256) {
        Some(at_hand) => library.admit(at_hand, SourceId(0)).err().and_then(|findings| {
            let finding = findings.into_iter().next()?;
            Some(format!("{} {}; {}", at_hand.name, finding.headline, finding.hint.unwrap_or_default()))
        }),
        None => Some(format!(
            "{profile} with SHA-256 {sha256} is not at hand, so nobody can tell who signed it; give its folder as `--profiles`"
        )),
    };
    record.requirement.profiles.iter().filter(|_| library.has_gate()).find_map(of)
}

/// Puts the profiles that a record names into the library; those that are nowhere.
fn fetched(record: &Record, library: &mut Library, register: Option<&Register>) -> io::Result<Vec<String>> {
    let mut not_at_hand = Vec::new();
    for Pin { profile, sha256 } in &record.requirement.profiles {
        if library.profile(profile).is_some_and(|at_hand| at_hand.sha256() == *sha256) {
            continue;
        }
        let kept = register.map(|register| register::profile(register, sha256)).transpose()?.flatten();
        match kept {
            Some(text) => library.add(Profile {
                path: format!("{profile}.yaml"),
                name: format!("register:{profile}.yaml"),
                text: text.into(),
                shipped: false,
            }),
            None if library.profile(profile).is_some() => {
                not_at_hand.push(format!("{profile}: another text is at hand than the one of SHA-256 {sha256}"));
            }
            None => not_at_hand.push(format!("{profile}, SHA-256 {sha256}")),
        }
    }
    Ok(not_at_hand)
}
