//! What has to be seen before a device is changed: a voltage that is wrong in every reading, levels and directions whose
//! sign a display may mean the other way, a figure that a licensed copy contradicts.
//!
//! `remedies.rs` holds the same of values that are right in another reading.

use crate::common;
use crate::judged_site;

use judged_site::{ONE, judged, judged_by, one_at_rushmere, with, with_overlay};
use rules::provenance::Verdict;
use settings_model::library::Profile;

/// What is to be done about the only thing that is wrong.
fn to_do(site: &str) -> String {
    let came = judged(site);
    assert_eq!(came.verdict, Verdict::DoesNotComply, "{came:#?}");
    came.findings[0].hint.clone().unwrap()
}

fn ten_minutes(volts: &str) -> String {
    to_do(&with(ONE, "threshold: 255 V", &format!("threshold: {volts}")))
}

/// 255 V is asked, and the network operator may allow from 244 V to 258 V.
#[test]
fn a_voltage_far_from_what_is_asked_is_read_again_also_where_it_is_wrong_either_way() {
    for (volts, first) in [
        ("450.3 V", "first see whether it reads between lines: 450.3 V there is about 260 V to neutral"),
        ("459 V", "first see whether it reads between lines: 459 V there is about 265 V to neutral"),
        ("516 V", "first see whether it reads between the two lines of a split supply: 516 V there is 258 V to neutral"),
        ("25.8 V", "first read it again: 25.8 V may be, with its decimal point in another place, 258 V"),
        ("2650 V", "first read it again: 2650 V may be, with its decimal point in another place, 265 V"),
        ("1.13 V", "first see whether it is per unit and no volts: 1.13 V then is about 259.9 V"),
    ] {
        let to_do = ten_minutes(volts);
        assert!(to_do.starts_with(first), "{volts}: {to_do}");
        assert!(to_do.contains(". Then, in the way that the display counts, set it to 255 V"), "{volts}: {to_do}");
    }
    // one that is right in another reading is changed only where it was read right
    assert!(ten_minutes("441.67 V").contains("Only if it reads to neutral, set it to 255 V"));
    // a loosened limit is no slip of reading
    for volts in ["259 V", "264 V", "230 V", "300 V"] {
        assert!(ten_minutes(volts).starts_with("set it to 255 V"), "{volts}: {}", ten_minutes(volts));
    }
}

fn volt_var(points: &str) -> String {
    to_do(&with(ONE, "volt-var: { state: enabled }", &format!("volt-var: {{ state: enabled, points: {points} }}")))
}

#[test]
fn levels_of_the_other_sign_are_looked_up_before_anything_is_set() {
    const ASKED: &str = "what its display calls absorbing";
    for points in [
        "[[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, 60 %]]", // a display without signs
        "[[207 V, -44 %], [220 V, 0 %], [240 V, 0 %], [255 V, 60 %]]", // turned, and one voltage is another
        "[[207 V, -30 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]]",
    ] {
        let to_do = volt_var(points);
        assert!(to_do.starts_with("first find out from the device's manual") && to_do.contains(ASKED), "{points}: {to_do}");
        assert!(to_do.contains(". Only if the device itself goes the wrong way, set it to 44 % at 207 V"), "{to_do}");
    }
    // another curve of the right signs is set
    assert!(volt_var("[[207 V, 30 %], [220 V, 0 %], [240 V, 0 %], [258 V, -30 %]]").starts_with("set it to 44 % at 207 V"));
}

#[test]
fn the_other_direction_is_looked_up_before_it_is_set() {
    let overlay = judged_site::rushmere(
        "  volt-var: { state: { require: off, outside-because: weak feeder, source: n1 } }
  fixed-power-factor:
    state: { require: enabled, outside-because: weak feeder, source: n1 }
    power-factor: { require: 0.9, source: n1 }
    direction: { require: absorbing, source: n1 }
",
    );
    let site = with(
        &one_at_rushmere(),
        "volt-var: { state: enabled }",
        "volt-var: { state: off }\n        fixed-power-factor: { state: enabled, power-factor: 0.9, direction: supplying }",
    );
    let came = judged_by(with_overlay(&overlay), &site);
    let finding = came.of("wrong-state").unwrap_or_else(|| panic!("{came:#?}"));
    let to_do = finding.hint.as_deref().unwrap();
    assert!(to_do.starts_with("first find out") && to_do.ends_with("Only if the device itself goes the wrong way, set it to absorbing"));
    let right = judged_by(with_overlay(&overlay), &site.replace("direction: supplying", "direction: absorbing"));
    assert_eq!(right.verdict, Verdict::Complies, "{right:#?}");
}

/// An office read 262 V where the profile has 265 V. That the copy says the same again is no reason to set 265 V.
#[test]
fn a_disputed_figure_is_set_only_if_the_copy_says_it() {
    let mut library = common::shipped_library();
    let path = "attestations/standards/as-nzs-4777.2/2020-amd2/sedge-desk.yaml".to_owned();
    let text = "kind: attestation
standard: as-nzs-4777.2
edition: { year: 2020, amendment: 2 }
office: Sedge Desk (invented)
read-by: desk officer
read-on: 2026-11-20
copy: { document: licensed copy 3 (invented), amendments: incorporating Amendments No. 1 and 2 }
confirmed:
  - clause: table 4.1
    settings: { overvoltage-1: { threshold: { require: 262 V } } }
";
    library.add(Profile { name: path.clone(), path, text: text.to_owned().into(), shipped: false });
    let held = with(ONE, "        volt-watt:", "        overvoltage-1: { threshold: 262 V }\n        volt-watt:");
    let came = judged_by(library, &held);
    let finding = came.of("too-low").unwrap_or_else(|| panic!("{came:#?}"));
    let to_do = finding.hint.as_deref().unwrap();
    assert!(to_do.contains("only if it says what is required here, and not what was read: set it to 265 V"), "{to_do}");
}
