//! The algebra against an SMT solver: what z3 says of 2,000 drawn lists of claims, of drawn pairs of versions
//! with their cases, and of every shipped pair, kept as data in `tests/outside/algebra.json` (its README names
//! the version of the library).
//!
//! Of claims: whether they contradict each other, what is left of each variable, and whether each of some
//! other claims follows. Of versions: at each of many sites, and over all, whether a value that complied may
//! comply no longer, and whether one may comply that did not. The solver answers these before it sees what is
//! answered here; then it says whether the contradictions and examples that are shown here are such.
//!
//! Problems are made of a seed and of the shipped profiles, so only answers are kept, each under the
//! fingerprint of its problem. `ASLEFT_PROBLEMS=FILE cargo test -p rules outside_solver` writes the
//! problems; `algebra.py` makes answers of them.

use crate::common;
#[path = "outside_solver/drafts.rs"]
mod drafts;
#[path = "outside_solver/drawn.rs"]
mod drawn;
use crate::histories;
#[path = "outside_solver/problem.rs"]
mod problem;
#[path = "outside_solver/shipped.rs"]
mod shipped;
#[path = "outside_solver/versions.rs"]
mod versions;
#[path = "outside_solver/written.rs"]
mod written;

use problem::{Count, Problem};
use serde_json::{Map, Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};
use versions::Between;
use written::fingerprint;

/// Profiles that ship move on, and with them their problems; drawn ones never do.
const SHIPPED_ANSWERED_AT_LEAST: usize = 90;

/// How many problems were compared, and what of each kind.
#[derive(Default)]
struct Tally {
    seen: BTreeSet<String>,
    drawn: usize,
    shipped: usize,
    unanswered: usize,
    counts: BTreeMap<&'static str, usize>,
}

impl Tally {
    /// Compares one problem; each only once.
    fn take(&mut self, problem: &Json, is_drawn: bool, answers: &Map<String, Json>, compare: impl FnOnce(&Json) -> Vec<Count>) {
        let key = fingerprint(&problem.to_string());
        if !self.seen.insert(key.clone()) {
            return;
        }
        *(if is_drawn { &mut self.drawn } else { &mut self.shipped }) += 1;
        let Some(answer) = answers.get(&key) else {
            assert!(!is_drawn, "a drawn problem has no answer: {problem}");
            self.unanswered += 1;
            return;
        };
        for (kind, count) in compare(answer) {
            *self.counts.entry(kind).or_default() += count;
        }
    }

    fn is_whole(&self, drawn: usize, kinds: &[&str]) {
        println!("{} drawn, {} shipped, {} of these without an answer: {:?}", self.drawn, self.shipped, self.unanswered, self.counts);
        let answered = (self.shipped - self.unanswered) * 100;
        assert!(answered >= self.shipped * SHIPPED_ANSWERED_AT_LEAST, "{} of {}: write `algebra.json` anew", self.unanswered, self.shipped);
        assert!(self.drawn >= drawn, "{}", self.drawn); // few are drawn twice
        for kind in kinds {
            assert!(self.counts.get(kind).is_some_and(|count| *count >= 100), "{kind}: {:?}", self.counts);
        }
    }
}

fn answers(of: &str) -> Map<String, Json> {
    let fixture: Json = serde_json::from_str(include_str!("../../../tests/outside/algebra.json")).unwrap();
    fixture[of].as_object().unwrap().clone()
}

#[test]
fn claims_are_judged_as_the_solver_judges_them() {
    let answers = answers("claims");
    let mut tally = Tally::default();
    for problem in drawn::problems() {
        tally.take(&problem.json(), true, &answers, |answer| problem.compare(answer));
    }
    for problem in shipped::problems(&shipped::pairs()) {
        tally.take(&problem.json(), false, &answers, |answer| problem.compare(answer));
    }
    let kinds = ["contradictions", "no contradiction", "edges", "open edges", "unbounded", "waits for a fact", "follows", "examples"];
    tally.is_whole(drawn::COUNT - 10, &kinds);
}

#[test]
fn versions_differ_as_the_solver_says() {
    let answers = answers("versions");
    let mut tally = Tally::default();
    for between in drafts::between() {
        tally.take(&between.problem, true, &answers, |answer| between.compare(answer));
    }
    for between in shipped::between(&shipped::pairs()) {
        tally.take(&between.problem, false, &answers, |answer| between.compare(answer));
    }
    tally.is_whole(drafts::COUNT, &["same", "narrower", "wider", "moved", "added", "removed", "of all sites"]);
}

/// Writes the problems, and apart from them what is shown here, for the solver to look into.
#[test]
fn problems_are_written_for_the_solver() {
    let Ok(path) = std::env::var("ASLEFT_PROBLEMS") else { return };
    let pairs = shipped::pairs();
    let (mut claims, mut shown, mut versions) = (Map::new(), Map::new(), Map::new());
    let mut write = |problem: &Problem| {
        let json = problem.json();
        let key = fingerprint(&json.to_string());
        if !claims.contains_key(&key) {
            shown.insert(key.clone(), problem.shown());
            claims.insert(key, json);
        }
    };
    drawn::problems().iter().for_each(&mut write);
    shipped::problems(&pairs).for_each(|problem| write(&problem));
    let all: Vec<Between> = drafts::between().into_iter().chain(shipped::between(&pairs)).collect();
    versions.extend(all.into_iter().map(|between| (fingerprint(&between.problem.to_string()), between.problem)));
    let file = std::fs::File::create(path).unwrap();
    let kinds = settings_model::claim::Evidence::ALL.len();
    let all = json!({ "kinds-of-evidence": kinds, "claims": claims, "versions": versions, "shown": shown });
    serde_json::to_writer(std::io::BufWriter::new(file), &all).unwrap();
}
