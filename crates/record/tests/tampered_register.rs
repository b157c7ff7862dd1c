//! What is read of a register is checked as it is read: whoever altered a row, with its triggers taken away and put
//! back, gets no answer out of it.
#![cfg(feature = "register")]

#[path = "../../../tests/register/altered.rs"]
mod altered;
use crate::made;

use altered::altered;
use record::register::{Added, Filter, Header, NewEntry, Register, RegisterError};
use record::{Envelope, canonical};
use std::path::Path;

fn add(register: &mut Register, n: usize) -> Result<Added, RegisterError> {
    let record = made::record(n);
    let envelope = Envelope::around(&record);
    let header = Header::of(&record, vec![canonical::hex(&canonical::sha256(made::PROFILE.as_bytes()))], "2026-11-25T09:00:00Z".to_owned());
    let site_line = format!("{{\"kind\":\"site\",\"site\":\"{}\"}}", record.site.name);
    let entry = NewEntry { envelope: &envelope, header, site_line, profiles: vec![made::PROFILE.to_owned()] };
    register.add(&[entry]).map(|mut added| added.remove(0))
}

fn filled(path: &Path) {
    let (mut register, _) = Register::open_or_make(path).unwrap();
    for n in 0..6 {
        add(&mut register, n).unwrap();
    }
    assert!(register.settle().unwrap());
}

fn is_damage<T>(result: Result<T, RegisterError>) -> bool {
    matches!(result, Err(RegisterError::Damaged(_)))
}

#[test]
fn no_row_of_a_broken_chain_is_given_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    for statement in [
        "UPDATE entry SET header = replace(header, 'does-not-comply', 'complies') WHERE number = 1",
        "UPDATE entry SET site_line = '{}' WHERE number = 3",
        "UPDATE entry SET signatures = '[]' || ' ' WHERE number = 4",
        "UPDATE entry SET link = zeroblob(32) WHERE number = 2",
        "UPDATE entry SET record_sha256 = zeroblob(32) WHERE number = 5",
        "UPDATE entry SET record = CAST(CAST(record AS TEXT) || ' ' AS BLOB) WHERE number = 5",
        "DELETE FROM entry WHERE number = 2",
        "DELETE FROM entry WHERE number = 3; UPDATE entry SET number = number - 1 WHERE number > 3",
        "UPDATE entry SET header = header || ' ' WHERE number = 6",
    ] {
        let _ = std::fs::remove_file(&path);
        filled(&path);
        altered(&path, statement);
        let open = || Register::open(&path).unwrap();
        let taken = |_: record::register::Entry, _: &str| -> Result<(), RegisterError> { panic!("{statement}: a row was given out") };
        assert!(is_damage(open().each(&Filter::default(), &mut { taken })), "{statement}");
        let of_site = Filter { sites: vec!["made-000004".to_owned()], ..Filter::default() };
        assert!(is_damage(open().each(&of_site, &mut { taken })), "{statement}");
        assert!(is_damage(open().entry(1)) && is_damage(open().file(1)) && is_damage(open().len()), "{statement}");
        let hash = Envelope::around(&made::record(4)).hash();
        assert!(is_damage(open().of_record(&hash)), "{statement}");
        assert!(is_damage(Register::open_or_make(&path)), "{statement}: written on");
        assert!(open().verify(None, &mut |_| {}).is_err(), "{statement}");
    }
}

/// Records and profiles are large; each is held against its hash when it is asked for.
#[test]
fn what_is_large_is_checked_when_it_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    filled(&path);
    let profile = canonical::sha256(made::PROFILE.as_bytes());
    let same_length = "UPDATE entry SET record = CAST(replace(CAST(record AS TEXT), '251 V', '261 V') AS BLOB) WHERE number = 5";
    altered(&path, same_length);
    altered(&path, "UPDATE profile SET text = 'kind: overlay # other'");
    let register = Register::open(&path).unwrap();
    assert_eq!(register.len().unwrap(), 6);
    assert!(register.file(4).is_ok() && is_damage(register.file(5)));
    assert!(is_damage(register.profile(&profile)));
    drop(register);
    let (mut register, _) = Register::open_or_make(&path).unwrap();
    assert!(is_damage(add(&mut register, 4)), "what is said to be there has to be there");
    assert!(matches!(add(&mut register, 3), Ok(Added::Known { number: 4 })));
}

/// While somebody reads, the register is that of one moment.
#[test]
fn what_is_added_meanwhile_is_not_seen() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("register.db");
    filled(&path);
    let reader = Register::open(&path).unwrap();
    assert_eq!(reader.len().unwrap(), 6);
    let (mut writer, _) = Register::open_or_make(&path).unwrap();
    add(&mut writer, 6).unwrap();
    assert_eq!((reader.len().unwrap(), Register::open(&path).unwrap().len().unwrap()), (6, 7));
    // one who only reads keeps no writer from ending
    assert!(reader.verify(None, &mut |_| {}).is_ok());
}
