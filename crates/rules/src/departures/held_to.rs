//! May this approval do that? Within the range that the requirement leaves, by the role that it entitles.

use super::Departure;
use crate::book::Book;
use crate::entitlement::beyond;
use crate::outcome::Note;
use crate::phrase::{adjustable, complies_within};
use settings_model::catalogue::Equipment;
use settings_model::entry::{Entry, Who};
use settings_model::facts::Facts;
use settings_model::finding::Outcome;

/// The departures that are laid over what the layers ask of one device; notes on those that may not do what
/// they do, each told once at a site.
pub fn of_device(all: &[Departure], (name, kind): (&str, Equipment), book: &Book, facts: &Facts, notes: &mut Vec<Note>) -> Vec<Departure> {
    let meant = all.iter().filter(|departure| departure.applies_to(name, kind));
    let held: Vec<Departure> = meant.filter_map(|departure| held_to(departure.clone(), book, facts, notes)).collect();
    for (n, later) in held.iter().enumerate() {
        let other = held[..n].iter().find(|earlier| earlier.setting == later.setting && !asks_the_same(earlier, later));
        other.into_iter().for_each(|earlier| tell(contradicting(earlier, later), notes));
    }
    held
}

/// Each is told once at a site.
fn tell(note: Note, notes: &mut Vec<Note>) {
    if !notes.iter().any(|told| told.name == note.name && told.path == note.path) {
        notes.push(note);
    }
}

fn asks_the_same(one: &Departure, other: &Departure) -> bool {
    let value = |departure: &Departure| departure.verbs.require.as_ref().map(|(value, _)| value.clone());
    value(one) == value(other) && one.verbs.comply == other.verbs.comply
}

/// Two papers that hold on one day ask for different things; which of them does is not said by their order.
fn contradicting(earlier: &Departure, later: &Departure) -> Note {
    let headline = format!(
        "site-specific approvals {} and {} both hold, and ask for different values of {}",
        earlier.reference,
        later.reference,
        later.setting.title()
    );
    let hint = "ask the network operator which of the two holds, and give the other one its last day, `until`";
    later.note(Outcome::NotProven, &["setting"], "approvals-contradict", headline, hint)
}

fn held_to(mut departure: Departure, book: &Book, facts: &Facts, notes: &mut Vec<Note>) -> Option<Departure> {
    let setting = departure.setting;
    let below = book.rulebook.entry(setting, facts).map_or_else(|| Entry::unstated(setting), |resolved| resolved.entry);
    if let Some(note) = by_whom(&departure, &below) {
        let is_left_out = departure.by.is_some();
        tell(note, notes);
        if is_left_out {
            return None;
        }
    }
    if beyond(&book.rulebook, facts, &below, &departure.verbs) {
        let note = outside(&mut departure, &below, facts);
        let is_left_out = !departure.is_excepted;
        tell(note, notes);
        if is_left_out {
            return None;
        }
    }
    Some(departure)
}

/// What is wrong with the role, if anything.
fn by_whom(departure: &Departure, below: &Entry) -> Option<Note> {
    // what is fixed, or asked by nobody yet, is the network operator's to depart from
    let entitled = if below.moved_by == Who::Installer { Who::Installer } else { Who::NetworkOperator };
    let Departure { reference, role, .. } = departure;
    match departure.by {
        None => {
            let headline = format!("site-specific approval {reference}: it is not clear for whom the role `{role}` speaks");
            let hint = "add `by: network operator` beside the role, if the paper is the network operator's";
            Some(departure.note(Outcome::NotProven, &["approval", "role"], "approval-role-unclear", headline, hint))
        }
        // an operator may decide whatever an installer may
        Some(by) if by != Who::Nobody && by <= entitled => None,
        Some(_) => {
            let headline = format!(
                "site-specific approval {reference} is by the {role}; only the {} may depart from this requirement; it is left out",
                entitled.word()
            );
            let hint = "have the network operator approve it in writing, or set what is required without it";
            Some(departure.note(Outcome::NotProven, &["approval", "role"], "approval-by-unentitled-role", headline, hint))
        }
    }
}

/// It reaches beyond what the requirement leaves.
fn outside(departure: &mut Departure, below: &Entry, facts: &Facts) -> Note {
    let range = match adjustable(below, facts) {
        Some(range) => format!("the adjustable range, {range}"),
        None => format!("what is fixed below, {}", complies_within(below, facts).unwrap_or_default()),
    };
    let key = if departure.verbs.require.is_some() { ["require"] } else { ["comply"] };
    let reference = &departure.reference;
    let name = "approval-outside-range";
    match &departure.exception {
        Some(exception) => {
            let (by, why) = (&exception.reference, &exception.reason);
            let headline = format!("site-specific approval {reference} reaches outside {range}; it stands by exception {by} ({why})");
            departure.is_excepted = true;
            departure.note(Outcome::Remark, &key, name, headline, "compare the exception with what the network operator wrote")
        }
        None => {
            let headline = format!("site-specific approval {reference} reaches outside {range}; it is left out");
            let hint = "compare it with the paper; if the operator did approve that, add `exception: { reference: …, reason: … }`";
            departure.note(Outcome::NotProven, &key, name, headline, hint)
        }
    }
}

/// For whom a role speaks, where its own words say so.
pub(super) fn speaks_for(role: &str) -> Option<Who> {
    const OPERATOR: [&str; 6] = ["network", "operator", "operator's", "distributor", "utility", "grid"];
    const INSTALLER: [&str; 4] = ["installer", "electrician", "contractor", "commissioning"];
    const NOBODY: [&str; 7] = ["owner", "customer", "apprentice", "manufacturer", "retailer", "designer", "trainer"];
    let role = role.to_lowercase();
    let says = |words: &[&str]| role.split(|c: char| !c.is_alphanumeric() && c != '\'').any(|word| words.contains(&word));
    match (says(&OPERATOR), says(&INSTALLER), says(&NOBODY)) {
        (true, false, false) => Some(Who::NetworkOperator),
        (false, true, false) => Some(Who::Installer),
        (false, false, true) => Some(Who::Nobody),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_role_speaks_for_somebody_only_where_its_words_say_so() {
        for (role, by) in [
            ("network protection engineer", Some(Who::NetworkOperator)),
            ("Operator, connections desk", Some(Who::NetworkOperator)),
            ("licensed installer", Some(Who::Installer)),
            ("apprentice", Some(Who::Nobody)),
            ("protection engineer", None),
            ("network operator's contractor", None),
        ] {
            assert_eq!(speaks_for(role), by, "{role}");
        }
    }
}
