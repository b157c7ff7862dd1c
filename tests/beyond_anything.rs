//! Values that nothing can hold end as an error with its place in every verb that draws or plays, and on the page, which
//! goes on serving; the greatest that can be held are drawn. Nowhere is there a panic.

use crate::program;
use crate::served;

use program::asleft;
use served::Served;

/// What stands in place of the second point of volt-watt, the nameplate and the point as the message repeats it.
const BEYOND: [(&str, &str, &str); 4] = [
    ("[999999999 kV, 20 %]", "5 kVA", "999999999 kV"),
    ("[260 V, 999999999 %]", "5 kVA", "999999999 %"),
    ("[260 V, 20 %]", "-5 kVA", "-5 kVA"),
    ("[260 V, 20 %]", "999999999 MVA", "999999999 MVA"),
];

/// The greatest that can be.
const GREATEST: [(&str, &str); 3] = [("[2000 kV, 20 %]", "5 kVA"), ("[260 V, 20 %]", "100000 MVA"), ("[260 V, 10000 %]", "0.001 VA")];

fn site(point: &str, nameplate: &str) -> String {
    format!(
        "kind: site
site: mill-weir-4
requirements: {{ standard: as-nzs-4777.2/2020-amd2, region: australia-a }}
supply: {{ phases: 1, nominal: 230 V line-neutral }}
devices:
  inverter-1:
    certified: {{ standard: as-nzs-4777.2, edition: {{ year: 2020, amendment: 2 }} }}
    source: solar
    nameplate: {nameplate}
    as-left:
      known-by: display
      region-selected: australia-a
      settings:
        volt-watt: {{ state: enabled, points: [[253 V, 100 %], {point}] }}
"
    )
}

/// Verbs that draw, play or look at a site, each with its file.
fn verbs(file: &str) -> Vec<Vec<String>> {
    const VERBS: [&[&str]; 9] = [
        &["check", "FILE"],
        &["sheet", "FILE"],
        &["test-sheet", "FILE"],
        &["identify", "FILE"],
        &["rise", "FILE"],
        &["curve", "FILE", "--of", "volt-watt"],
        &["curve", "FILE", "--of", "power"],
        &["trip-map", "FILE"],
        &["scenario", "FILE", "noon-creep"],
    ];
    VERBS.iter().map(|verb| verb.iter().map(|argument| argument.replace("FILE", file)).collect()).collect()
}

#[test]
fn what_nothing_can_hold_is_an_error_in_every_verb() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    let run = |arguments: &[String]| {
        let output = asleft(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
        let says = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert!(!says.contains("panicked") && output.status.code().is_some(), "{arguments:?}: {says}");
        (output.status.code(), says)
    };
    for (point, nameplate, says) in BEYOND {
        std::fs::write(&file, site(point, nameplate)).unwrap();
        for arguments in verbs(file.to_str().unwrap()) {
            let (code, told) = run(&arguments);
            let is_told = told.contains("no device and no site can hold") || told.contains("cannot be");
            assert!(
                code == Some(2) && is_told && told.contains(says) && told.contains("site.yaml, line "),
                "{arguments:?}: {code:?}, {told}"
            );
        }
    }
    for (point, nameplate) in GREATEST {
        std::fs::write(&file, site(point, nameplate)).unwrap();
        verbs(file.to_str().unwrap()).iter().for_each(|arguments| _ = run(arguments));
    }
}

/// The page is held to have never panicked when it ends.
#[test]
fn what_nothing_can_hold_does_not_end_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path(), &[]);
    for (point, nameplate, says) in BEYOND {
        let answer = served.open("site.yaml", site(point, nameplate).as_bytes());
        assert_eq!(answer.status, 200, "{}", answer.head);
        let told = answer.json();
        assert!(told["choice"].is_null() && told["says"].as_str().is_some_and(|told| told.contains(says)), "{told}");
        assert_eq!(served.get("/page.css").status, 200, "after {says}");
    }
    for (point, nameplate) in GREATEST {
        let answer = served.open("site.yaml", site(point, nameplate).as_bytes());
        if let Some(choice) = answer.json()["choice"].as_str() {
            for at in ["v=0", "v=2000", "v=253&f=50", "f=100", "v=255&p=100000"] {
                let moved = served.get(&format!("/at?of={choice}&{at}"));
                assert!([200, 400].contains(&moved.status), "{at}: {}", moved.head);
            }
            assert_eq!(served.get(&format!("/?of={choice}")).status, 200);
        }
        assert_eq!(served.get("/page.css").status, 200);
    }
}
