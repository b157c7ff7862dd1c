//! Files made with care to be judged by less than a site is asked, or by something else: another region under the same
//! edition, pins with a layer left out, points of a requirement that are no curve, ratings that cannot be so.
#![cfg(unix)]

use crate::measured;

use measured::{Ended, asleft, root, says};
use std::path::Path;

fn site() -> String {
    std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap()
}

/// A text with one thing in place of another.
fn instead(text: &str, what: &str, other: &str) -> String {
    assert!(text.contains(what), "{what}\n{text}");
    text.replace(what, other)
}

fn run(folder: &Path, text: &str, verb: &[&str]) -> Ended {
    std::fs::write(folder.join("site.yaml"), text).unwrap();
    asleft(folder, &[verb, &["--as-of", "2026-11-25"]].concat())
}

fn check(folder: &Path, text: &str) -> Ended {
    run(folder, text, &["check", "site.yaml"])
}

fn holds(ended: &Ended, code: i32, words: &str) {
    let said = says(ended);
    let on_one_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(ended.code == Some(code) && on_one_line.contains(words), "{code} {words}: {:?}\n{said}", ended.code);
}

/// A device that stands under another edition lies where the site lies.
#[test]
fn no_other_region_is_taken_under_the_name_of_an_edition() {
    let folder = tempfile::tempdir().unwrap();
    let under = |edition: &str, region: &str, selected: &str| {
        let text = instead(
            &site(),
            "    source: solar\n",
            &format!("    source: solar\n    stands-under: {{ standard: {edition}, region: {region} }}\n"),
        );
        check(folder.path(), &instead(&text, "region-selected: australia-a", &format!("region-selected: {selected}")))
    };
    for region in ["australia-b", "australia-c", "new-zealand"] {
        let ended = under("as-nzs-4777.2/2020-amd2", region, region);
        holds(&ended, 2, &format!("the region of this device, `{region}`, is not the site's, `australia-a`"));
    }
    holds(&under("as-nzs-4777.2/2015", "new-zealand", "new-zealand"), 2, "is not the site's");
    // the older edition knows no `australia-a`, and names its region in its own way
    let ended = under("as-nzs-4777.2/2015", "australia", "australia");
    assert!(says(&ended).contains("inverter-1 under AS/NZS 4777.2:2015"), "{}", says(&ended));
    assert_eq!(under("as-nzs-4777.2/2020-amd2", "australia-a", "australia-a").code, check(folder.path(), &site()).code);
}

/// What a site pins has to be what it stands under: with the network's layer left out, its network asks nothing.
#[test]
fn pins_leave_no_layer_out() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("site.yaml"), site()).unwrap();
    let pins = asleft(folder.path(), &["pin", "site.yaml", "--as-of", "2026-11-25"]);
    let pinned = site() + &String::from_utf8(pins.stdout).unwrap();
    let check = |text: &str| run(folder.path(), text, &["check", "site.yaml", "--pinned"]);
    holds(&check(&pinned), 0, "under Quillbrook Network");
    let without = |word: &str| pinned.lines().filter(|line| !line.contains(word)).fold(String::new(), |text, line| text + line + "\n");
    // the values of the standard alone
    let lax = instead(&without("overlays/quillbrook"), "threshold: { value: 255 V", "threshold: { value: 258 V");
    holds(&check(&lax), 2, "`quillbrook`, which the site has to meet, is not pinned");
    holds(&check(&without("standards/as-nzs-4777.2")), 2, "`as-nzs-4777.2/2020-amd2`, which the site has to meet, is not pinned");
    let sha256 = |profile: &str| {
        let text = asleft(folder.path(), &["show", profile]).stdout;
        record_sha256(&text)
    };
    let line = pinned.lines().find(|line| line.contains("overlays/quillbrook")).unwrap();
    let other = format!("  - {{ profile: overlays/greywether/2.0.0, sha256: {} }}", sha256("overlays/greywether/2.0.0"));
    holds(&check(&instead(&pinned, line, &other)), 2, "`greywether`, which is pinned, is not the site's network");
    holds(&check(&instead(&pinned, "region: australia-a", "region: australia-c")), 2, "is not a region that Quillbrook Network");
}

fn record_sha256(bytes: &[u8]) -> String {
    let hash = record::canonical::sha256(bytes);
    record::canonical::hex(&hash)
}

const OVERLAY: &str = "kind: overlay
network: moorgate
title: Moorgate Lines (invented)
version: 1.0.0
issue: { name: Issue 1, published: 2025-12-01 }
extends: { standard: as-nzs-4777.2/2020-amd2 }
regions: [australia-a]
in-force:
  - { applied: from 2026-02-01 }
sources:
  g1: { document: Moorgate guide, clause: \"2.4\", basis: invented }
settings:
  volt-var:
    points:
      require: POINTS
      because: invented
      outside-because: invented
      source: g1
";

fn with_overlay(folder: &Path, points: &str) -> String {
    let below = folder.join("profiles/overlays/moorgate");
    std::fs::create_dir_all(&below).unwrap();
    std::fs::write(below.join("1.0.0.yaml"), OVERLAY.replace("POINTS", points)).unwrap();
    instead(&instead(&site(), "network: quillbrook", "network: moorgate"), "overlay: ^2.0", "overlay: ^1.0")
}

/// 1.1 per unit of 230 V is 253 V, and 240 V does not stand behind it: no device can hold that, and no verb plays it.
#[test]
fn points_that_are_required_ascend_in_one_unit() {
    let folder = tempfile::tempdir().unwrap();
    let text = with_overlay(folder.path(), "[[207 V, 44 %], [220 V, 0 %], [1.1 pu, 0 %], [240 V, -60 %]]");
    let profiles = ["--profiles", "profiles"];
    let of_site: [&[&str]; 8] = [
        &["check", "site.yaml"],
        &["sheet", "site.yaml"],
        &["test-sheet", "site.yaml"],
        &["curve", "site.yaml", "--of", "volt-var"],
        &["rise", "site.yaml"],
        &["trip-map", "site.yaml"],
        &["scenario", "site.yaml", "noon-creep"],
        &["close-out", "site.yaml", "--dry-run"],
    ];
    for verb in of_site {
        holds(&run(folder.path(), &text, &[verb, &profiles].concat()), 2, "its points do not ascend: 240 V stands behind 1.1 pu (253 V");
    }
    let of_profile: [(&[&str], i32); 5] = [
        (&["lint", "overlays/moorgate/1.0.0"], 1),
        (&["curve", "moorgate/1.0.0/australia-a", "--of", "volt-var"], 2),
        (&["trip-map", "moorgate/1.0.0/australia-a"], 2),
        (&["diff", "moorgate/1.0.0", "quillbrook/2.0.0"], 2),
        (&["scenario", "moorgate/1.0.0/australia-a", "noon-creep"], 2),
    ];
    for (verb, code) in of_profile {
        holds(&asleft(folder.path(), &[verb, &profiles].concat()), code, "its points do not ascend");
    }
}

/// At 220 V, 1.05 per unit lies below 240 V; at 240 V it lies behind it. Only a site says which.
#[test]
fn points_that_are_required_ascend_at_the_site() {
    let folder = tempfile::tempdir().unwrap();
    let text = with_overlay(folder.path(), "[[207 V, 44 %], [220 V, 0 %], [1.05 pu, 0 %], [250 V, -60 %]]");
    let at = |nominal: &str| {
        let text = instead(&text, "nominal: 230 V line-neutral", &format!("nominal: {nominal} line-neutral"));
        run(folder.path(), &text, &["check", "site.yaml", "--profiles", "profiles"])
    };
    assert!(!says(&at("230 V")).contains("ascend"));
    holds(&at("240 V"), 2, "the required points do not ascend: 250 V stands behind 1.05 pu (252 V at this site)");
    let sheet =
        run(folder.path(), &instead(&text, "230 V line-neutral", "240 V line-neutral"), &["sheet", "site.yaml", "--profiles", "profiles"]);
    holds(&sheet, 2, "the required points do not ascend");
}

/// Nobody is told to set points that an approval wrote in two units.
#[test]
fn points_that_are_approved_ascend() {
    let folder = tempfile::tempdir().unwrap();
    let approval = "site-specific-approvals:
  - setting: inverter-1/volt-var/points
    require: [[207 V, 44 %], [220 V, 0 %], [1.05 pu, 0 %], [240 V, -60 %]]
    against: { network: quillbrook, version: 2.0.0 }
    approval: { reference: QB-S-0771, role: network operator, granted: 2026-03-20, until: 2027-03-20 }
";
    for verb in [["check", "site.yaml"].as_slice(), &["sheet", "site.yaml"], &["curve", "site.yaml", "--of", "volt-var"]] {
        let ended = run(folder.path(), &(site() + approval), verb);
        holds(&ended, 2, "the required points do not ascend: 240 V stands behind 1.05 pu (241.5 V at this site)");
    }
}

/// An overlay that reaches further than it may is used by no verb, and by no pin.
#[test]
fn what_check_refuses_nothing_else_draws() {
    let folder = tempfile::tempdir().unwrap();
    let text = with_overlay(folder.path(), "[[150 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]]");
    let path = folder.path().join("profiles/overlays/moorgate/1.0.0.yaml");
    let lax = std::fs::read_to_string(&path).unwrap().replace("      outside-because: invented\n", "");
    std::fs::write(&path, lax).unwrap();
    let profiles = ["--profiles", "profiles"];
    holds(&run(folder.path(), &text, &[&["check", "site.yaml"], &profiles[..]].concat()), 2, "outside-without-reason");
    for verb in [
        ["curve", "moorgate/1.0.0/australia-a", "--of", "volt-var"].as_slice(),
        &["trip-map", "moorgate/1.0.0/australia-a"],
        &["template", "moorgate"],
    ] {
        assert_eq!(asleft(folder.path(), &[verb, &profiles].concat()).code, Some(2), "{verb:?}");
    }
    let hash = |path: &Path| record_sha256(&std::fs::read(path).unwrap());
    let shipped = root().join("profiles/standards/as-nzs-4777.2/2020-amd2.yaml");
    let pinned = format!(
        "{text}pinned:\n  - {{ profile: standards/as-nzs-4777.2/2020-amd2, sha256: {} }}\n  - {{ profile: overlays/moorgate/1.0.0, sha256: {} }}\n",
        hash(&shipped),
        hash(&path)
    );
    holds(&run(folder.path(), &pinned, &["check", "site.yaml", "--pinned", "--profiles", "profiles"]), 2, "outside-without-reason");
}

/// Ratings that contradict one another, and values that no site can have.
#[test]
fn what_cannot_be_so_does_not_pass() {
    let folder = tempfile::tempdir().unwrap();
    let rated =
        |more: &str| check(folder.path(), &instead(&site(), "    nameplate: 6 kVA\n", &format!("    nameplate: 6 kVA\n    {more}\n")));
    holds(&rated("rated-power: 60 kW"), 1, "its rated active power, 60 kW, is above the apparent power on its nameplate, 6 kVA");
    holds(&rated("limited-to: 6.001 kVA"), 1, "its limited rating, 6.001 kVA, is above");
    holds(&rated("phases: 3"), 1, "inverter-1 feeds three phases, and the supply has one");
    for fine in ["rated-power: 6 kW", "limited-to: 6 kVA", "phases: 1"] {
        assert!(!says(&rated(fine)).contains("contradict"), "{fine}");
    }
    let impossible =
        |what: &str, other: &str| holds(&check(folder.path(), &instead(&site(), what, other)), 2, "no device and no site can hold");
    impossible("devices:\n", "installation: { voltage-rise: { total: -0.8 % } }\ndevices:\n");
    impossible("      settings:\n", "      settings:\n        export-sensor: { ratio-fitted: 0, ratio-entered: 0 }\n");
    impossible("      settings:\n", "      settings:\n        fixed-reactive-power: { state: off, amount: -20 % }\n");
}

/// A drill reaches no level that nothing can hold, and ends within a day.
#[test]
fn drills_stay_within_what_can_be() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("site.yaml"), site()).unwrap();
    let play = |step: &str| {
        let head = "kind: scenario\ntitle: A\nteaches: B\nsource: invented\nbegin: { voltage: nominal, available: 70 % }\nthen:\n";
        std::fs::write(folder.path().join("drill.yaml"), format!("{head}  - {{ {step} }}\n")).unwrap();
        asleft(folder.path(), &["scenario", "site.yaml", "drill.yaml", "--no-plot"])
    };
    holds(&play("voltage: nominal + 999999999 V, over: 1 s"), 2, "which nothing can hold");
    holds(&play("voltage: nominal - 231 V, over: 1 s"), 2, "this makes -1 V here");
    holds(&play("frequency: nominal + 1000 Hz, over: 1 s"), 2, "which nothing can hold");
    holds(&play("for: 25 h"), 2, "it lasts longer than a day");
    assert_eq!(play("voltage: nominal - 230 V, for: 1 s").code, Some(0));
}
