//! The register: nothing that was acknowledged is lost, and nothing that was altered passes.
#![cfg(feature = "register")]

use crate::made;

use record::register::sum::Rest;
use record::register::{Added, ChainError, Filter, Header, NewEntry, Register, RegisterError, sum};
use record::seal::PrivateKey;
use record::{Envelope, Record, canonical};
use rules::provenance::{Figures, Verdict};
use rusqlite::Connection;
use std::path::Path;

fn add_record(register: &mut Register, record: &Record, key: Option<&PrivateKey>) -> Added {
    let mut envelope = Envelope::around(record);
    key.map(|key| envelope.seal(key));
    let header = Header::of(record, vec![canonical::hex(&canonical::sha256(made::PROFILE.as_bytes()))], "2026-11-25T09:00:00Z".to_owned());
    let site_line = format!("{{\"kind\":\"site\",\"site\":\"{}\"}}", record.site.name);
    register.add(&[NewEntry { envelope: &envelope, header, site_line, profiles: vec![made::PROFILE.to_owned()] }]).unwrap().remove(0)
}

fn filled(path: &Path, records: usize) {
    let (mut register, is_new) = Register::open_or_make(path).unwrap();
    assert!(is_new);
    let key = PrivateKey::new().unwrap();
    for n in 0..records {
        add_record(&mut register, &made::record(n), n.is_multiple_of(3).then_some(&key));
    }
    assert!(register.settle().unwrap());
}

fn found(register: &Register, filter: &Filter) -> Vec<(u64, String)> {
    let mut found = Vec::new();
    register
        .each(filter, &mut |entry, _| {
            found.push((entry.number, entry.header.site));
            Ok(())
        })
        .unwrap();
    found
}

fn verify(path: &Path) -> Result<record::register::Verified, ChainError> {
    Register::open(path).map_err(ChainError::from)?.verify(None, &mut |_| {})
}

#[test]
fn what_was_added_is_there_and_the_same_again_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    let (one, key) = (made::record(1), PrivateKey::new().unwrap());
    assert!(matches!(add_record(&mut register, &one, None), Added::Entry { number: 1, .. }));
    assert_eq!(add_record(&mut register, &one, None), Added::Known { number: 1 });
    // sealed since: another file, and another entry
    assert!(matches!(add_record(&mut register, &one, Some(&key)), Added::Entry { number: 2, .. }));
    assert_eq!(add_record(&mut register, &one, None), Added::Known { number: 1 });
    assert_eq!(register.file(1).unwrap().unwrap(), Envelope::around(&one).bytes());
    assert!(Envelope::read(&register.file(2).unwrap().unwrap()).is_ok_and(|envelope| envelope.signatures.len() == 1));
    assert!(register.settle().unwrap());
    let verified = verify(&path).unwrap();
    assert_eq!((verified.entries, verified.profiles, verified.signatures, verified.rest), (2, 1, 1, Rest::AsLeft));
    let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names.len(), 2, "the register and its sum: {names:?}");
}

#[test]
fn the_newest_state_is_that_of_the_latest_day() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    let dated = |n: usize, as_of: &str, outcome| {
        let mut record = made::record(n);
        record.made.as_of = as_of.to_owned();
        record.verdict.outcome = outcome;
        record
    };
    add_record(&mut register, &dated(1, "2026-03-01", Verdict::DoesNotComply), None);
    add_record(&mut register, &dated(1, "2026-05-01", Verdict::Complies), None);
    // found in a drawer, and older than what is there
    add_record(&mut register, &dated(1, "2026-04-01", Verdict::DoesNotComply), None);
    add_record(&mut register, &dated(2, "2026-01-01", Verdict::NotProven), None);
    let site = |n: usize| format!("made-{n:06}");
    assert_eq!(found(&register, &Filter::default()), [(2, site(1)), (4, site(2))]);
    // what a site once was is not what it is
    assert_eq!(found(&register, &Filter { verdict: Some(Verdict::DoesNotComply), ..Filter::default() }), []);
    assert_eq!(
        found(&register, &Filter { all: true, sites: vec![site(1)], ..Filter::default() }),
        [(1, site(1)), (2, site(1)), (3, site(1))]
    );
    assert_eq!(found(&register, &Filter { since: Some("2026-02-01".to_owned()), ..Filter::default() }), [(2, site(1))]);
    assert_eq!(found(&register, &Filter { crew: Some("crew 2".to_owned()), ..Filter::default() }), [(4, site(2))]);
    assert_eq!(found(&register, &Filter { company: made::record(1).site.answerable.company, ..Filter::default() }), [(2, site(1))]);
}

/// Which sites agree with unverified figures is a matter of their figures, not of the words of a headline; an entry
/// of before, whose header has no figures, is told by its record.
#[test]
fn figures_decide_what_is_unverified() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    let of = |n: usize, figures: Figures, headline: &str| {
        let mut record = made::record(n);
        record.verdict.outcome = Verdict::Complies;
        record.verdict.settings = Verdict::Complies;
        record.verdict.figures = figures;
        record.verdict.headline = headline.to_owned();
        record
    };
    let memory = Figures { memory: 3, ..Figures::default() };
    let disputed = Figures { disputed: 1, ..memory };
    add_record(&mut register, &of(1, memory, "complies"), None);
    add_record(&mut register, &of(2, Figures { published: 3, ..Figures::default() }, "agrees in other words"), None);
    let record = of(3, disputed, "complies");
    let (envelope, profiles) = (Envelope::around(&record), vec![made::PROFILE.to_owned()]);
    let mut header =
        Header::of(&record, vec![canonical::hex(&canonical::sha256(made::PROFILE.as_bytes()))], "2026-11-25T09:00:00Z".to_owned());
    header.figures = None;
    register.add(&[NewEntry { envelope: &envelope, header, site_line: "{}".to_owned(), profiles }]).unwrap();
    let mut told = Vec::new();
    let mut take = |entry: record::register::Entry, _: &str| {
        let judgement = entry.header.judgement();
        told.push((judgement.is_unverified(), judgement.is_disputed()));
        Ok(())
    };
    register.each(&Filter::default(), &mut take).unwrap();
    assert_eq!(told, [(true, false), (false, false), (true, true)]);
}

#[test]
fn it_only_grows() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    filled(&path, 4);
    let db = Connection::open(&path).unwrap();
    for statement in [
        "DELETE FROM entry WHERE number = 4",
        "UPDATE entry SET header = header",
        "INSERT OR REPLACE INTO entry SELECT number, header, link, record_sha256, signatures, site_line, record FROM entry WHERE number = 2",
        "INSERT INTO entry SELECT 9, header, link, record_sha256, signatures, site_line, record FROM entry WHERE number = 2",
        "UPDATE profile SET text = ''",
        "DELETE FROM profile",
    ] {
        let refused = db.execute_batch(statement).unwrap_err().to_string();
        assert!(refused.contains("only grows") || refused.contains("follows the last"), "{statement}: {refused}");
    }
    db.execute_batch("INSERT OR REPLACE INTO profile SELECT sha256, 'another' FROM profile").unwrap();
    drop(db);
    assert_eq!(verify(&path).unwrap().entries, 4);
}

/// Somebody who takes the triggers away and puts them back after it.
fn altered(from: &Path, to: &Path, statement: &str) -> ChainError {
    std::fs::copy(from, to).unwrap();
    std::fs::copy(sum::beside(from), sum::beside(to)).unwrap();
    let db = Connection::open(to).unwrap();
    let triggers: Vec<(String, String)> = db
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    triggers.iter().for_each(|(name, _)| db.execute_batch(&format!("DROP TRIGGER {name}")).unwrap());
    db.execute_batch(statement).unwrap();
    triggers.iter().for_each(|(_, sql)| db.execute_batch(sql).unwrap());
    drop(db);
    verify(to).unwrap_err()
}

#[test]
fn whatever_is_altered_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    filled(&path, 6);
    let first = verify(&path).unwrap();
    for (n, (statement, says)) in [
        ("UPDATE entry SET header = replace(header, 'does-not-comply', 'complies') WHERE number = 1", "the link of entry 1 does not fit"),
        ("UPDATE entry SET site_line = '{}' WHERE number = 3", "the link of entry 3 does not fit"),
        ("UPDATE entry SET signatures = '[]' WHERE number = 4", "the link of entry 4 does not fit"),
        ("UPDATE entry SET link = zeroblob(32) WHERE number = 2", "the link of entry 2 does not fit"),
        (
            "UPDATE entry SET record = CAST(replace(CAST(record AS TEXT), '251 V', '261 V') AS BLOB) WHERE number = 5",
            "the record of entry 5 was altered",
        ),
        ("DELETE FROM entry WHERE number = 2", "entry 2 is missing: entry 3 stands in its place"),
        ("DELETE FROM entry WHERE number = 3; UPDATE entry SET number = number - 1 WHERE number > 3", "the link of entry 3 does not fit"),
        ("UPDATE profile SET text = 'kind: overlay # other'", "a kept profile was altered"),
        ("DELETE FROM profile", "which entry 1 was judged against, is gone"),
        ("DELETE FROM entry WHERE number = 6", "bytes of the file were altered"),
    ]
    .into_iter()
    .enumerate()
    {
        let fault = altered(&path, &folder.path().join(format!("altered-{n}.db")), statement).to_string();
        assert!(fault.contains(says), "{statement}: {fault}");
    }
    // cut short with its sum written anew: who noted the last link notices
    let cut = folder.path().join("cut.db");
    altered(&path, &cut, "DELETE FROM entry WHERE number = 6");
    std::fs::remove_file(sum::beside(&cut)).unwrap();
    let (register, head) = (Register::open(&cut).unwrap(), canonical::hex(&first.head));
    assert_eq!(register.verify(None, &mut |_| {}).unwrap().entries, 5);
    assert!(matches!(register.verify(Some(&head), &mut |_| {}), Err(ChainError::HeadGone(_))));
    assert!(Register::open(&path).unwrap().verify(Some(&head), &mut |_| {}).is_ok());
}

/// A thousand flipped bits in the file, and each is noticed: where entries are, by hash, and where the
/// file holds nothing, by its sum.
#[test]
fn every_flipped_byte_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    filled(&path, 40);
    let bytes = std::fs::read(&path).unwrap();
    let (copy, sums) = (folder.path().join("copy/register.db"), std::fs::read(sum::beside(&path)).unwrap());
    std::fs::create_dir(folder.path().join("copy")).unwrap();
    let (mut seed, mut by_entries) = (7u64, 0);
    for _ in 0..1_000 {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let (place, bit) = ((seed >> 20) as usize % bytes.len(), (seed >> 60) as u8 % 8);
        let mut flipped = bytes.clone();
        flipped[place] ^= 1 << bit;
        std::fs::write(&copy, &flipped).unwrap();
        std::fs::write(sum::beside(&copy), &sums).unwrap();
        match verify(&copy) {
            Ok(_) => panic!("bit {bit} of byte {place} of {} was not noticed", bytes.len()),
            Err(fault) => by_entries += usize::from(!matches!(fault, ChainError::Sum)),
        }
        for left in ["register.db-wal", "register.db-shm"] {
            let _ = std::fs::remove_file(folder.path().join("copy").join(left));
        }
    }
    println!("{by_entries} of 1000 by what entries hold, the rest by the sum of the file");
    assert!(by_entries > 700, "{by_entries}");
    // and of the sum itself
    std::fs::write(&copy, &bytes).unwrap();
    for place in 0..sums.len() {
        let mut flipped = sums.clone();
        flipped[place] ^= 1;
        std::fs::write(sum::beside(&copy), &flipped).unwrap();
        assert!(matches!(verify(&copy), Err(ChainError::Sum)), "byte {place} of the sum");
    }
}

/// A writer that is stopped leaves its log. Flipped bits in it, up to the last commit, are noticed by
/// whoever verifies, and by the next writer, which would write over what stands behind them.
#[test]
fn every_flipped_byte_of_a_log_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let (path, copy) = (folder.path().join("register.db"), folder.path().join("copy.db"));
    let beside = |path: &Path, end: &str| std::path::PathBuf::from(format!("{}{end}", path.display()));
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    for n in 0..12 {
        add_record(&mut register, &made::record(n), None);
    }
    let before_last = std::fs::metadata(beside(&path, "-wal")).unwrap().len() as usize;
    add_record(&mut register, &made::record(12), None);
    let log = std::fs::read(beside(&path, "-wal")).unwrap();
    let stopped = |log: &[u8]| {
        std::fs::copy(&path, &copy).unwrap();
        std::fs::write(beside(&copy, "-wal"), log).unwrap();
        let _ = std::fs::remove_file(beside(&copy, "-shm"));
    };
    stopped(&log);
    assert_eq!(verify(&copy).unwrap().entries, 13);
    let mut seed = 11u64;
    for _ in 0..100 {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let mut flipped = log.clone();
        let (place, bit) = ((seed >> 20) as usize % before_last, (seed >> 60) as u8 % 8);
        flipped[place] ^= 1 << bit;
        stopped(&flipped);
        assert!(verify(&copy).is_err(), "bit {bit} of byte {place}");
        assert!(Register::open_or_make(&copy).is_err(), "bit {bit} of byte {place}");
    }
    // a writer that was stopped in the middle of a commit is no damage
    for cut in [0, 20, 32, 40, 5_000, before_last + 100, log.len() - 1] {
        stopped(&log[..cut]);
        assert!(Register::open(&copy).is_err() || verify(&copy).is_ok(), "cut to {cut}");
    }
}

#[test]
fn a_backup_verifies_by_itself_and_can_be_written_to() {
    let folder = tempfile::tempdir().unwrap();
    let (path, copy) = (folder.path().join("register.db"), folder.path().join("copy.db"));
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    for n in 0..5 {
        add_record(&mut register, &made::record(n), None);
    }
    // while a writer has it open, its log not yet in the file
    Register::open(&path).unwrap().backup(&copy).unwrap();
    add_record(&mut register, &made::record(5), None);
    let verified = verify(&copy).unwrap();
    assert_eq!((verified.entries, verified.rest), (5, Rest::AsLeft));
    assert!(matches!(Register::open(&path).unwrap().backup(&copy), Err(RegisterError::File(_))));
    assert!(register.settle().unwrap());
    let (mut again, is_new) = Register::open_or_make(&copy).unwrap();
    assert!(!is_new);
    add_record(&mut again, &made::record(5), None);
    assert!(again.settle().unwrap());
    assert_eq!(verify(&copy).unwrap().head, verify(&path).unwrap().head, "the same entries, the same links");
}

#[test]
fn two_writers_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    let write = |from: usize| {
        let path = path.clone();
        std::thread::spawn(move || {
            let (mut register, _) = Register::open_or_make(&path).unwrap();
            for n in from..from + 60 {
                add_record(&mut register, &made::record(n), None);
            }
            register.settle().unwrap()
        })
    };
    // 30 of them are the same
    let writers = [write(0), write(30), write(90)];
    let settled = writers.map(|writer| writer.join().unwrap());
    let verified = verify(&path).unwrap();
    assert_eq!(verified.entries, 150);
    assert!(settled.contains(&true) && verified.rest == Rest::AsLeft, "{settled:?} {verified:?}");
    assert_eq!(found(&Register::open(&path).unwrap(), &Filter::default()).len(), 150);
}

#[test]
fn other_files_are_refused_with_words() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    filled(&at("good.db"), 2);
    let refused = |name: &str| Register::open(&at(name)).map(drop).unwrap_err().to_string();
    let made = |name: &str, sql: &str| {
        if !at(name).exists() {
            std::fs::copy(at("good.db"), at(name)).unwrap();
        }
        Connection::open(at(name)).unwrap().execute_batch(sql).unwrap();
        refused(name)
    };
    assert_eq!(refused("none.db"), "no register there");
    std::fs::write(at("text.db"), "kind: site\n".repeat(500)).unwrap();
    assert_eq!(refused("text.db"), "not a register: no SQLite file");
    std::fs::write(at("empty.db"), "").unwrap();
    assert!(refused("empty.db").starts_with("not a register: "));
    Connection::open(at("other.db")).unwrap().execute_batch("CREATE TABLE t (a)").unwrap();
    assert_eq!(refused("other.db"), "not a register: an SQLite file of something else");
    assert!(Register::open_or_make(&at("other.db")).is_err(), "nothing is added to a file of something else");
    assert_eq!(made("later.db", "PRAGMA user_version = 2"), "a register of format 2; this program reads up to 1, so use a later one");
    assert!(made("trigger.db", "CREATE TRIGGER x AFTER INSERT ON entry BEGIN SELECT load_extension('x'); END").contains("`x`"));
    assert!(made("view.db", "CREATE VIEW v AS SELECT 1").contains("`v`"));
    assert!(made("dropped.db", "DROP TRIGGER entry_stays").contains("`entry_stays` is missing"));
    assert!(
        made("weaker.db", "DROP TRIGGER entry_stays; CREATE TRIGGER entry_stays BEFORE DELETE ON entry BEGIN SELECT 1; END")
            .contains("not as this program makes it")
    );
    // cut off in the middle, and blown up
    let good = std::fs::read(at("good.db")).unwrap();
    for cut in [10, 100, 512, 4096, 5000, good.len() / 2, good.len() - 1] {
        std::fs::write(at("cut.db"), &good[..cut]).unwrap();
        assert!(verify(&at("cut.db")).is_err(), "cut to {cut} bytes");
    }
}

/// A record with the name of a site, or a text, that tries something.
#[test]
fn hostile_words_stay_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("it's a \"register\"?#%.db");
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    let mut record = made::record(1);
    for name in ["'; DROP TABLE entry; --", "\u{0}nul", "ünï\u{202e}code", "{\"site\":1}", ""] {
        record.site.name = name.to_owned();
        add_record(&mut register, &record, None);
        assert_eq!(found(&register, &Filter { sites: vec![name.to_owned()], ..Filter::default() }).len(), 1, "{name:?}");
    }
    register.settle().unwrap();
    assert_eq!(verify(&path).unwrap().entries, 5);
}

/// While nothing is installed the approval to connect may lapse; a test that failed is to be done again whether or not
/// somebody named a day.
#[test]
fn what_a_record_says_is_due() {
    use record::register::{Due, DueKind};
    let kept = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/records/mangle-lane-11/close-out.json")).unwrap();
    let mut record = Envelope::read(&kept).unwrap().record().unwrap();
    let of = |record: &Record, kind| Due::of(record).into_iter().filter(|due| due.kind == kind).collect::<Vec<_>>();
    record.site.dates.approved_until = Some("2027-01-01".to_owned());
    assert!(of(&record, DueKind::ConnectionApproval).is_empty(), "it is installed");
    (record.site.dates.installed, record.work) = (None, None);
    let due = of(&record, DueKind::ConnectionApproval);
    assert_eq!(due.iter().map(|due| due.by.as_deref()).collect::<Vec<_>>(), [Some("2027-01-01")]);
    let tests: Vec<String> = of(&record, DueKind::Test).into_iter().map(|due| due.what).collect();
    assert_eq!(
        tests,
        [
            "inverter-1/ramp: overcast all day", // by a day
            "inverter-1/export-limit",
            "inverter-1/supply-returned",
            "relay-1/overvoltage-1",
        ]
    );
}
