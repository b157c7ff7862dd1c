//! Building claims by hand, and deciding by trying everything.
#![allow(dead_code, reason = "each test file uses its own part")]

use rules::assess::Assessor;
use rules::witness::{Witness, WitnessValue, keeps};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, ProvenanceId, Term, Var, Words};
use settings_model::document::Node;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::Kind;
use settings_model::library::{Library, Profile};
use settings_model::quantity::Amount;
use settings_model::reader;
use std::path::Path;

pub const ABSENT: u8 = 0;
pub const OFF: u8 = 1;
pub const ENABLED: u8 = 2;

pub fn exact(text: &str) -> Exact {
    Exact::parse(text).unwrap()
}

/// `253` or `1.10 pu`.
pub fn amount(text: &str) -> Amount {
    match text.strip_suffix(" pu") {
        Some(number) => Amount::times(exact(number), FactId::NominalVoltage),
        None => Amount::plain(exact(text)),
    }
}

pub fn setting(path: &str) -> SettingId {
    SettingId::named(path).unwrap_or_else(|| panic!("{path}"))
}

pub fn var(path: &str) -> Var {
    setting(path).into()
}

pub fn x(path: &str, n: u8) -> Var {
    Var { setting: setting(path), part: Part::X(n) }
}

fn claim(on: Term, limit: Limit) -> Claim {
    Claim { on, limit, why: ProvenanceId(0) }
}

pub fn at_least(var: Var, text: &str) -> Claim {
    claim(Term::Var(var), Limit::AtLeast(Bound::closed(amount(text))))
}
pub fn at_most(var: Var, text: &str) -> Claim {
    claim(Term::Var(var), Limit::AtMost(Bound::closed(amount(text))))
}
pub fn over(var: Var, text: &str) -> Claim {
    claim(Term::Var(var), Limit::AtLeast(Bound::open(amount(text))))
}
pub fn under(var: Var, text: &str) -> Claim {
    claim(Term::Var(var), Limit::AtMost(Bound::open(amount(text))))
}
/// `x` is at least this far above `y`.
pub fn above_by(x: Var, y: Var, text: &str) -> Claim {
    claim(Term::Gap(x, y), Limit::AtLeast(Bound::closed(amount(text))))
}
pub fn one_of(var: Var, words: &[u8]) -> Claim {
    claim(Term::Var(var), Limit::OneOf(set(words)))
}
pub fn known_by(var: Var, kinds: &[Evidence]) -> Claim {
    claim(Term::Var(var), Limit::Stated(set(&kinds.iter().map(|k| *k as u8).collect::<Vec<_>>())))
}
pub fn not_seen(var: Var) -> Claim {
    claim(Term::Var(var), Limit::NotSeen)
}
/// The same claim from another line.
pub fn line(claim: Claim, why: u32) -> Claim {
    Claim { why: ProvenanceId(why), ..claim }
}

pub fn set(words: &[u8]) -> Words {
    words.iter().fold(Words::default(), |all, word| all.or(Words::one(*word)))
}

/// What a trial may choose, in the order in which it does.
#[derive(Clone)]
pub enum Choice {
    Number(Var, Vec<Exact>),
    Word(Var, Vec<u8>),
    Evidence(Var, Vec<Evidence>),
    Fact(FactId, Vec<Exact>),
}

/// Tries every combination; `visit` sees each one that keeps all claims and returns whether to go on.
pub fn try_all(claims: &[Claim], facts: &Facts, choices: &[Choice], visit: &mut dyn FnMut(&Witness) -> bool) {
    let start = Witness { facts: facts.clone(), ..Witness::default() };
    descend(claims, choices, start, visit);
}

fn descend(claims: &[Claim], choices: &[Choice], witness: Witness, visit: &mut dyn FnMut(&Witness) -> bool) -> bool {
    // What is already broken stays broken whatever is chosen later; states are chosen first.
    if claims.iter().any(|claim| keeps(claim, &witness) == Some(false)) {
        return true;
    }
    let Some((choice, rest)) = choices.split_first() else {
        let all_known = claims.iter().all(|claim| keeps(claim, &witness) == Some(true));
        return !all_known || visit(&witness);
    };
    let mut options: Vec<Witness> = Vec::new();
    let mut option = |change: &dyn Fn(&mut Witness)| {
        let mut next = witness.clone();
        change(&mut next);
        options.push(next);
    };
    match choice {
        Choice::Number(var, numbers) => {
            for n in numbers {
                option(&|w| _ = w.settings.insert(*var, WitnessValue::Number(*n)));
            }
        }
        Choice::Word(var, words) => {
            for word in words {
                option(&|w| _ = w.settings.insert(*var, WitnessValue::Word(*word)));
            }
        }
        Choice::Evidence(var, kinds) => {
            for kind in kinds {
                option(&|w| _ = w.evidence.insert(*var, *kind));
            }
        }
        Choice::Fact(fact, numbers) => {
            for n in numbers {
                option(&|w| w.facts.set_number(*fact, *n));
            }
        }
    }
    options.into_iter().all(|next| descend(claims, rest, next, visit))
}

/// From zero up to `last`, in quarters.
pub fn quarters(last: i64) -> Vec<Exact> {
    (0..=4 * last).map(|n| Exact::new(25 * n, 2)).collect()
}

/// Every shipped profile.
pub fn shipped_library() -> Library {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles");
    let (mut library, mut folders) = (Library::default(), vec![root.clone()]);
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "yaml") {
                let key = path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
                let text = std::fs::read_to_string(&path).unwrap();
                library.add(Profile { path: key.clone(), name: key, text: text.into(), shipped: true });
            }
        }
    }
    library
}

/// A site's tree; `None` where it is no site's file: some of those shipped are not. What is drawn reads well.
pub fn read_site(text: &str, assessor: &mut Assessor) -> Option<Node> {
    let kept = assessor.sources.len();
    let source = assessor.sources.add("tried", text);
    let read = reader::read(source, text, Kind::Site).and_then(|root| assessor.displayed(root));
    assessor.sources.forget_after(kept);
    assert!(read.is_ok() || text.starts_with('#'), "{read:?}\n{text}");
    read.ok()
}
