//! The end of the paper: what to mind, places to sign, and how it can be checked.

use paper::{Block, Part, Run, Text, plain};
use record::seal::Sealed;
use record::{Envelope, Record};

/// What to mind.
pub fn cautions(record: &Record) -> Part {
    super::part("Before you rely on it", vec![Block::List(record.cautions.iter().map(plain).collect())])
}

/// Places to sign.
pub fn to_sign() -> Part {
    let places = [
        "Done by, with licence number",
        "Date and signature",
        "Handed over to, for the owner",
        "Date and signature",
        "Looked over in the office by",
        "Date and signature",
    ];
    super::part("To sign", vec![Block::ToSign(places.map(str::to_owned).to_vec())])
}

/// Places to sign where an installation is handed over.
pub fn to_hand_over() -> Part {
    let places = ["Handed over by, with licence number", "Date and signature", "Received by, for the owner", "Date and signature"];
    super::part("To sign", vec![Block::ToSign(places.map(str::to_owned).to_vec())])
}

/// By what the paper can be held against the record.
pub fn part(record: &Record, envelope: &Envelope) -> Part {
    let code = |text: &str| vec![Run::Code(text.to_owned())];
    let mut facts: Vec<(String, Text)> = vec![("SHA-256 of the record".to_owned(), code(envelope.sha256()))];
    facts.push(("Made by".to_owned(), plain(format!("{} {}, for {}", record.made.tool, record.made.version, record.made.as_of))));
    for profile in &record.requirement.profiles {
        facts.push((profile.profile.clone(), code(&profile.sha256)));
    }
    for given in record.given.texts() {
        facts.push((given.name.clone(), code(&given.sha256)));
    }
    let keys = envelope.signatures.iter().filter_map(|signature| signature.holds(Sealed::Record, &envelope.hash()).ok());
    let keys: Vec<String> = keys.map(|key| key.fingerprint()).collect();
    let sealed = match keys.is_empty() {
        true => "not signed; whoever can change the file can change its hash with it".to_owned(),
        false => format!("signed by {}", keys.join(", ")),
    };
    facts.push(("Seal".to_owned(), plain(sealed)));
    let says = "This paper shows a record; the record is the proof. Whoever has its file can hold it against the number at the foot of every page, and have it judged again against the same requirements: asleft verify RECORD.";
    super::part("How it can be checked", vec![Block::Words(plain(says)), Block::Facts(facts)])
}
