//! Records that are kept: read back, held against their hash, made again byte for byte; and altered, in
//! every field and in any byte, which has to be noticed.

use crate::common;

use common::{library, root};
use record::making::again;
use record::{Broken, Envelope, FORMAT};
use rules::provenance::Verdict;
use serde_json::{Value, json};

/// The bytes of the records that are kept, by site.
fn kept() -> Vec<(&'static str, Vec<u8>)> {
    ["wattle-bend-6", "mangle-lane-11"]
        .map(|site| (site, std::fs::read(root().join(format!("tests/records/{site}/close-out.json"))).unwrap()))
        .to_vec()
}

/// `ASLEFT_REWRITE=1 cargo test -p cli records` writes them anew where the program's words moved.
#[test]
fn a_kept_record_reads_back_and_has_its_hash() {
    for (site, bytes) in kept() {
        let envelope = Envelope::read(&bytes).unwrap_or_else(|broken| panic!("{site}: {broken}"));
        assert_eq!(envelope.bytes(), bytes, "{site}");
        let record = envelope.record().unwrap();
        assert_eq!(record.site.name, site);
        // every key of the record is known to its type: nothing is passed over
        assert_eq!(Envelope::around(&record).bytes(), bytes, "{site}");
    }
}

/// A record of format 1, as it was kept before findings said how their figures are known.
#[test]
fn a_record_of_an_earlier_format_is_read() {
    let bytes = std::fs::read(root().join("tests/records/mangle-lane-11/close-out.format-1.json")).unwrap();
    let envelope = Envelope::read(&bytes).unwrap();
    assert_eq!(envelope.bytes(), bytes);
    let record = envelope.record().unwrap();
    assert_eq!((record.format, record.verdict.outcome), (1, Verdict::DoesNotComply));
    let folded: Vec<&str> = record.findings.iter().flat_map(|finding| &finding.folded).map(|folded| folded.text.as_str()).collect();
    assert!(!folded.is_empty() && record.findings.iter().all(|finding| finding.basis.is_none()));
}

#[test]
fn a_record_is_made_again_from_itself_byte_for_byte() {
    for (site, bytes) in kept() {
        let record = Envelope::read(&bytes).unwrap().record().unwrap();
        let made = again(&record, library()).unwrap_or_else(|(findings, _)| panic!("{site}: {findings:#?}"));
        assert_eq!(made.verdict, record.verdict, "{site}");
        assert_eq!(Envelope::around(&made).bytes(), bytes, "{site}");
    }
}

#[test]
fn profiles_of_other_content_do_not_make_the_same_record() {
    let (_, bytes) = kept().swap_remove(0);
    let record = Envelope::read(&bytes).unwrap().record().unwrap();
    let mut library = library();
    let mut profile = library.profile("overlays/quillbrook/3.0.0").unwrap().clone();
    profile.text = format!("{}# another remark\n", profile.text).into();
    library.add(profile);
    let made = again(&record, library).unwrap();
    assert_ne!(made, record);
    assert_eq!((record.verdict.outcome, made.verdict.outcome), (Verdict::Complies, Verdict::NotProven));
    assert!(made.findings.iter().any(|finding| finding.name == "pinned-content-differs"));
}

#[test]
fn a_profile_that_is_not_at_hand_makes_no_record() {
    let (_, bytes) = kept().swap_remove(0);
    let record = Envelope::read(&bytes).unwrap().record().unwrap();
    let mut library = library();
    library.keep_versions("quillbrook", |version| version.major < 3);
    let (findings, _) = again(&record, library).unwrap_err();
    assert_eq!(findings.iter().map(|finding| finding.name).collect::<Vec<_>>(), ["pinned-not-at-hand"]);
}

/// Everything in a record that can be something else: what stands at each place, and what is done to it.
fn altered(value: &Value, done: &mut dyn FnMut(Value)) {
    match value {
        Value::Null => done(json!("something")),
        Value::Bool(b) => done(json!(!b)),
        Value::Number(n) => done(json!(n.as_u64().unwrap() + 1)),
        Value::String(text) => done(json!(format!("{text}."))),
        Value::Array(items) => {
            for n in 0..items.len() {
                let mut fewer = items.clone();
                fewer.remove(n);
                done(fewer.into());
                altered(&items[n], &mut |item| {
                    let mut items = items.clone();
                    items[n] = item;
                    done(items.into());
                });
            }
            done([items.clone(), vec![json!("one more")]].concat().into());
        }
        Value::Object(pairs) => {
            for (key, value) in pairs {
                let mut fewer = pairs.clone();
                fewer.remove(key);
                done(fewer.into());
                altered(value, &mut |value| {
                    let mut pairs = pairs.clone();
                    pairs.insert(key.clone(), value);
                    done(pairs.into());
                });
            }
            let mut more = pairs.clone();
            more.insert("one-more".to_owned(), json!("thing"));
            done(more.into());
        }
    }
}

#[test]
fn every_field_that_is_altered_changes_the_hash() {
    for (site, bytes) in kept() {
        let whole: Value = serde_json::from_slice(&bytes).unwrap();
        let (mut count, stated) = (0, whole["sha256"].as_str().unwrap().to_owned());
        altered(&whole["record"], &mut |record| {
            count += 1;
            let hash = record::canonical::hex(&record::canonical::sha256(&record::canonical::bytes(&record)));
            assert_ne!(hash, stated, "{site}: {record}");
            // the whole way for some: an altered record in a file that is otherwise as it should be
            if count % 50 == 0 {
                let bytes = record::canonical::bytes(&json!({ "record": record, "sha256": stated, "signatures": [] }));
                assert!(matches!(Envelope::read(&bytes), Err(Broken::Altered { .. })), "{site}: {record}");
            }
        });
        assert!(count > 1_000, "{site}: {count}");
    }
}

/// One bit at a time, here and there through the whole file: the hash beside the record is a part of it.
/// `ASLEFT_FLIPS=all` flips one in every byte.
#[test]
fn no_byte_can_be_flipped_unnoticed() {
    for (site, bytes) in kept() {
        let step = if std::env::var_os("ASLEFT_FLIPS").is_some() { 1 } else { bytes.len() / 500 };
        for at in (0..bytes.len()).rev().step_by(step) {
            let mut bytes = bytes.clone();
            bytes[at] ^= 1 << (at % 8);
            assert!(Envelope::read(&bytes).is_err(), "{site}: byte {at}");
        }
    }
}

#[test]
fn what_is_cut_or_added_is_no_record() {
    let (_, bytes) = kept().swap_remove(0);
    for length in (0..bytes.len()).step_by(997) {
        assert!(matches!(Envelope::read(&bytes[..length]), Err(Broken::NotJson(_))), "{length}");
    }
    for more in [&b"\n"[..], b" ", b"{}", b"\0"] {
        assert!(Envelope::read(&[&bytes[..], more].concat()).is_err(), "{more:?}");
    }
    let spaced = serde_json::to_vec_pretty(&serde_json::from_slice::<Value>(&bytes).unwrap()).unwrap();
    assert!(matches!(Envelope::read(&spaced), Err(Broken::NotCanonical(2))));
}

/// A key that stands twice says two things.
#[test]
fn a_key_that_stands_twice_is_noticed() {
    let (_, bytes) = kept().swap_remove(0);
    let text = String::from_utf8(bytes).unwrap();
    let (own, later) = (format!("\"format\":{FORMAT}"), FORMAT + 1);
    let twice = text.replacen(&own, &format!("\"format\":{later},{own}"), 1);
    assert_ne!(twice, text);
    assert!(Envelope::read(twice.as_bytes()).is_err());
}

#[test]
fn a_record_of_a_later_format_keeps_its_hash_and_says_so() {
    let (_, bytes) = kept().swap_remove(0);
    let mut whole: Value = serde_json::from_slice(&bytes).unwrap();
    whole["record"]["format"] = json!(FORMAT + 1);
    whole["record"]["a-later-idea"] = json!("kept");
    whole["sha256"] = json!(record::canonical::hex(&record::canonical::sha256(&record::canonical::bytes(&whole["record"]))));
    let envelope = Envelope::read(&record::canonical::bytes(&whole)).unwrap();
    assert_eq!(envelope.record().unwrap_err(), Broken::LaterFormat(u64::from(FORMAT) + 1));
}
