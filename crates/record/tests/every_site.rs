//! A record of every site of the tests: what holds whatever a site is like.

use crate::common;

use common::{library, root};
use record::making::{Input, Job, Photos, Texts, again, close_out};
use record::{Envelope, Record, SettingState};
use rules::assess::Assessor;
use rules::provenance::Verdict;

/// Every site of which a record can be made.
fn records() -> Vec<(String, Record)> {
    let day = settings_model::notation::date("2026-11-25").unwrap();
    let mut files: Vec<_> = std::fs::read_dir(root().join("tests/sites")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let record = |file: std::path::PathBuf| {
        let name = file.file_name()?.to_str()?.to_owned();
        let site = Input { path: name.clone(), name: name.clone(), text: std::fs::read_to_string(&file).ok()? };
        let texts = Texts { site, sheet: None, columns: None, commissioning: None };
        let job = Job { texts, photos: Photos::NotLookedFor, version: "0".to_owned() };
        let mut assessor = Assessor::new(library(), day);
        Some((name, close_out(&job, &mut assessor).ok()?))
    };
    files.into_iter().filter(|file| file.extension().is_some_and(|extension| extension == "yaml")).filter_map(record).collect()
}

#[test]
fn no_setting_comes_to_more_than_was_shown() {
    let records = records();
    assert!(records.len() >= 30, "{}", records.len());
    let mut unseen = 0;
    for (site, record) in &records {
        for device in &record.devices {
            for held in &device.settings {
                let what = format!("{site}: {}/{}", device.name, held.setting);
                // a rule may find fault with what no figure is asked of
                assert!(held.state != SettingState::NotRequired || held.required.is_none(), "{what}");
                if held.complies_within.as_deref() == Some("not seen") {
                    assert_eq!(held.state, SettingState::NotChecked, "{what}");
                    unseen += usize::from(held.as_left.is_some());
                }
                let at_least = match held.state {
                    SettingState::DoesNotComply => Verdict::DoesNotComply,
                    SettingState::NotProven => Verdict::NotProven,
                    _ => Verdict::Complies,
                };
                assert!(record.verdict.settings >= at_least, "{what}");
                assert!(at_least == Verdict::Complies || !record.findings.is_empty(), "{what}");
            }
        }
        assert!(record.verdict.outcome >= record.verdict.settings && record.verdict.outcome >= record.verdict.tests, "{site}");
    }
    assert!(unseen > 0, "no site states a value of which nobody saw what is asked");
}

#[test]
fn every_record_is_made_again_byte_for_byte() {
    for (site, record) in records() {
        let made = again(&record, library()).unwrap_or_else(|(findings, _)| panic!("{site}: {findings:#?}"));
        assert_eq!(Envelope::around(&made).bytes(), Envelope::around(&record).bytes(), "{site}");
    }
}
