//! EREC G83, G98 and G99 as the shipped profiles have them. No number of the documents' own tables was
//! seen by anybody who wrote this: what is recalled is held against the collection it was recalled into, so
//! that no slip creeps in between, and has to say that it is from memory.

use settings_model::catalogue::SettingId;
use settings_model::claim::{Basis, Limit};
use settings_model::entry::Entry;
use settings_model::facts::{FactId, Facts};
use settings_model::library::{Library, Profile, Request};
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::source::Sources;
use std::path::Path;

const G83: (&str, &str) = ("erec-g83/2012", "great-britain");
const G98: (&str, &str) = ("erec-g98/2018-amd7", "great-britain");
const G99_FIRST: (&str, &str) = ("erec-g99/2018", "type-a-low-voltage");
const G99: (&str, &str) = ("erec-g99/2018-amd9", "type-a-low-voltage");

fn library() -> Library {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles");
    let mut library = Library::default();
    for standard in ["erec-g83", "erec-g98", "erec-g99"] {
        for path in std::fs::read_dir(root.join("standards").join(standard)).unwrap().map(|entry| entry.unwrap().path()) {
            let key = path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
            library.add(Profile { name: key.clone(), path: key, text: std::fs::read_to_string(&path).unwrap().into(), shipped: true });
        }
    }
    library
}

fn required((standard, region): (&str, &str)) -> (Requirement, Rulebook) {
    let request = Request { standard: Some(standard), region, ..Request::default() };
    let [inverter, ..] = library().rulebooks(request, &Facts::default(), &mut Sources::default()).unwrap();
    (inverter.resolve(&Facts::default()), inverter)
}

fn entry(requirement: &Requirement, name: &str) -> Option<Entry> {
    requirement.get(SettingId::named(name).unwrap()).map(|resolved| resolved.entry.clone())
}

fn basis(rulebook: &Rulebook, entry: &Entry) -> Basis {
    rulebook.whys.get(entry.comply[0].why).unwrap().citation.as_ref().unwrap().basis
}

/// Recalled, all of it; as volts at 230 V the thresholds come out as 184.0, 262.2 and 273.7 V (G98, G99),
/// which is arithmetic, and agrees with remarks that cannot be cited.
#[test]
fn what_is_recalled_is_carried_as_it_was_recalled_and_says_so() {
    let (g98, g99, g83) = ([G98].as_slice(), [G99_FIRST, G99].as_slice(), [G83].as_slice());
    let both = [G98, G99_FIRST, G99].as_slice();
    let all = [G83, G98, G99_FIRST, G99].as_slice();
    let with_rate = [G98, G99].as_slice();
    for (of, name, figure) in [
        (both, "undervoltage-1/threshold", "0.8 pu"),
        (all, "undervoltage-1/definite-delay", "2.5 s"),
        (all, "overvoltage-1/threshold", "1.14 pu"),
        (all, "overvoltage-1/definite-delay", "1 s"),
        (all, "overvoltage-2/threshold", "1.19 pu"),
        (all, "overvoltage-2/definite-delay", "0.5 s"),
        (all, "underfrequency-1/threshold", "47.5 Hz"),
        (all, "underfrequency-1/definite-delay", "20 s"),
        (all, "underfrequency-2/threshold", "47 Hz"),
        (all, "underfrequency-2/definite-delay", "0.5 s"),
        (both, "overfrequency-1/threshold", "52 Hz"),
        (both, "overfrequency-1/definite-delay", "0.5 s"),
        (with_rate, "rate-of-change-of-frequency/threshold", "1 Hz/s"),
        (with_rate, "rate-of-change-of-frequency/definite-delay", "0.5 s"),
        (all, "reconnection/observation-time", "20 s"),
        (both, "over-frequency-response/start", "50.4 Hz"),
        (both, "over-frequency-response/droop", "10 %"),
        (g98, "vector-shift/state", "off"),
        (g83, "undervoltage-1/threshold", "0.87 pu"),
        (g83, "undervoltage-2/threshold", "0.8 pu"),
        (g83, "undervoltage-2/definite-delay", "0.5 s"),
        (g83, "overfrequency-1/threshold", "51.5 Hz"),
        (g83, "overfrequency-1/definite-delay", "90 s"),
        (g83, "overfrequency-2/threshold", "52 Hz"),
        (g83, "overfrequency-2/definite-delay", "0.5 s"),
        (g83, "rate-of-change-of-frequency/threshold", "0.2 Hz/s"),
        (g83, "vector-shift/threshold", "12 deg"),
        (g99, "reconnection/upper-voltage", "1.14 pu"),
    ] {
        for standard in of {
            let (requirement, rulebook) = required(*standard);
            let setting = SettingId::named(name).unwrap();
            let entry = entry(&requirement, name).unwrap_or_else(|| panic!("{standard:?} {name}"));
            assert_eq!(entry.require.as_ref().unwrap().show(setting), figure, "{standard:?} {name}");
            assert_eq!(basis(&rulebook, &entry), Basis::Memory, "{standard:?} {name} was not seen by anybody");
        }
    }
}

/// What was found published: that G99 disallows vector shift since amendment 1 (its own list of amendments),
/// the bands of frequency (legislation.gov.uk, Regulation (EU) 2016/1388, annex I, Great Britain), and that
/// G98 ends at 16 A per phase (an index of UK publications). One source each.
#[test]
fn what_one_source_says_is_of_one_source() {
    let (requirement, rulebook) = required(G99);
    let entry = |name: &str| entry(&requirement, name).unwrap();
    assert_eq!(basis(&rulebook, &entry("vector-shift/state")), Basis::SingleSource);
    for (name, edge) in [("frequency-withstand/lower", "49 Hz"), ("frequency-withstand/upper", "51 Hz")] {
        assert_eq!(entry(name).require.unwrap().show(SettingId::named(name).unwrap()), edge);
        assert_eq!(basis(&rulebook, &entry(name)), Basis::Memory, "the annex that has the bands is of demand");
    }
    let minutes = |n: i64| 60 * n;
    for (name, hertz_and_seconds) in [
        ("frequency-withstand/low", [(47.0, 0), (47.0, 20), (47.5, 20), (47.5, minutes(90)), (49.0, minutes(90))]),
        ("frequency-withstand/high", [(51.0, minutes(90)), (51.5, minutes(90)), (51.5, minutes(15)), (52.0, minutes(15)), (52.0, 0)]),
    ] {
        let Limit::Above(line) = &entry(name).comply[0].limit else { panic!("{name} is nowhere below a line") };
        let found: Vec<(f64, i64)> =
            line.iter().map(|p| (p.x.number.to_string().parse().unwrap(), p.y.number.to_string().parse().unwrap())).collect();
        assert_eq!(found, hertz_and_seconds, "{name}");
    }
    // 16 A at 230 V, each phase
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, 230.into());
    let request = Request { standard: Some(G98.0), region: G98.1, ..Request::default() };
    let books = library().rulebooks(request, &facts, &mut Sources::default()).unwrap();
    let largest = books.iter().find_map(|book| self::entry(&book.resolve(&facts), "site-rating/largest-phase").map(|entry| (book, entry)));
    let (book, largest) = largest.unwrap();
    let Limit::AtMost(bound) = largest.comply[0].limit else { panic!("it is a most") };
    assert_eq!(bound.value.number, (16 * 230).into());
    assert_eq!(basis(book, &largest), Basis::SingleSource);
}

/// Amendment 1 of G99, 23 July 2018, is what tells the two editions apart: vector shift, and requirements
/// for the rate of change of frequency, whose earlier form was not seen.
#[test]
fn the_editions_of_g99_differ_by_amendment_1_and_nothing_else() {
    let ((old, _), (new, _)) = (required(G99_FIRST), required(G99));
    let limits = |requirement: &Requirement, setting: SettingId| {
        let entry = requirement.get(setting).map(|resolved| &resolved.entry);
        entry.map(|entry| (entry.require.clone(), entry.comply.iter().map(|claim| (claim.on, claim.limit.clone())).collect::<Vec<_>>()))
    };
    let differing: Vec<String> = SettingId::all().filter(|id| limits(&old, *id) != limits(&new, *id)).map(|id| id.to_string()).collect();
    assert_eq!(
        differing,
        [
            "rate-of-change-of-frequency/state",
            "rate-of-change-of-frequency/threshold",
            "rate-of-change-of-frequency/definite-delay",
            "vector-shift/state",
            "vector-shift/threshold",
        ]
    );
}

/// G98 and the low-voltage column of G99, Type A, are recalled to be the same.
#[test]
fn g98_and_g99_ask_the_same_of_an_inverter() {
    let ((micro, _), (larger, _)) = (required(G98), required(G99));
    for setting in SettingId::all() {
        let of = |requirement: &Requirement| {
            requirement.get(setting).map(|r| (r.entry.require.clone(), r.entry.comply.iter().map(|c| c.limit.clone()).collect::<Vec<_>>()))
        };
        assert_eq!(of(&micro), of(&larger), "{setting}");
    }
}

/// What G98 took the place of is found again, though it has another name; EREC G99 has a predecessor that is
/// not carried.
#[test]
fn what_a_standard_took_the_place_of_counts_among_its_editions() {
    let (mut library, mut sources) = (library(), Sources::default());
    assert_eq!(library.other_editions("erec-g98/2018-amd7", &mut sources), ["erec-g83/2012"]);
    assert_eq!(library.other_editions("erec-g99/2018", &mut sources), ["erec-g99/2018-amd9"]);
    assert_eq!(library.other_editions("erec-g83/2012", &mut sources), Vec::<String>::new());
}
