//! A site on a line of NDJSON, read straight into its type, comes to what the same text comes to as a file of JSON: by
//! the program, over spellings that one reader might take and the other refuse.

use crate::program;

use program::{DAY, asleft, text};
use serde_json::Value;

/// Spellings of a threshold that is required at 258 V, as JSON has them.
const VALUES: [&str; 44] = [
    r#""258 V""#,
    r#""258V""#,
    r#"" 258 V ""#,
    r#""258  V""#,
    r#""258\tV""#,
    r#""258\nV""#,
    r#""258\u0020V""#,
    r#""\u0032\u0035\u0038 V""#,
    r#""258\u00a0V""#,
    r#""258.0 V""#,
    r#""258.000000000 V""#,
    r#""0258 V""#,
    r#""+258 V""#,
    r#""-258 V""#,
    r#""--258 V""#,
    r#""258,0 V""#,
    r#""2.58e2 V""#,
    r#""258 v""#,
    r#""258 VV""#,
    r#""0.258 kV""#,
    r#""258000 mV""#,
    r#""1.121739130 pu""#,
    r#""1.12 pu""#,
    r#""258""#,
    r#""258 V 3""#,
    r#""２５８ V""#,
    r#""∞ V""#,
    r#""NaN V""#,
    r#""""#,
    "258",
    "258.0",
    "2.58e2",
    "true",
    "null",
    "[]",
    "{}",
    r#"["258 V"]"#,
    r#"{ "value": "258 V" }"#,
    r#"{ "value": "258 V", "known-by": "photo" }"#,
    r#"{ "value": "258 V", "step": "1 V", "exact": "true" }"#,
    r#"{ "value": "258 V", "value": "258 V" }"#,
    r#"{ "value": null }"#,
    r#"{ "volts": "258 V" }"#,
    r#"{ "value": "258 V", "step": "0 V" }"#,
];

/// Other spellings of the parts around it: what is replaced, and by what.
const PARTS: [(&str, &str); 34] = [
    (r#""phases":1"#, r#""phases":1.0"#),
    (r#""phases":1"#, r#""phases":"1""#),
    (r#""phases":1"#, r#""phases":1e0"#),
    (r#""phases":1"#, r#""phases":-1"#),
    (r#""phases":1"#, r#""phases":99999999999999999999"#),
    (r#""phases":1"#, r#""phases":1,"phases":1"#),
    (r#""kind":"site""#, r#""kind":"Site""#),
    (r#""kind":"site""#, r#""kind":"s\u0069te""#),
    (r#""kind":"site","#, ""),
    (r#""nameplate":"5 kVA""#, r#""nameplate":"5 kW""#),
    (r#""nameplate":"5 kVA""#, r#""nameplate":5"#),
    (r#""nameplate":"5 kVA""#, r#""nameplate":"5000 VA""#),
    (r#""year":2020"#, r#""year":"2020""#),
    (r#""year":2020"#, r#""year":2020.0"#),
    (r#""year":2020"#, r#""year":02020"#),
    (r#""installed":"2026-06-01""#, r#""installed":"2026-6-1""#),
    (r#""installed":"2026-06-01""#, r#""installed":20260601"#),
    (r#""installed":"2026-06-01""#, r#""installed":"2026-06-31""#),
    (r#""installed":"2026-06-01""#, r#""installed":null"#),
    (r#""source":"solar""#, r#""source":"solar ""#),
    (r#""site":"example""#, r#""site":"""#),
    (r#""site":"example""#, r#""site":" ""#),
    (r#""site":"example""#, r#""site":"a\nb""#),
    (r#""site":"example""#, r#""site":7"#),
    (r#""region":"australia-c""#, r#""region":"australia-c ""#),
    (r#""region-selected":"australia-c""#, r#""region-selected":"australia-c ""#),
    (r#""installed":"2026-06-01""#, r#""installed":"2026-06-01 ""#),
    (r#""installed":"2026-06-01""#, r#""installed":"2026-06-01T00:00""#),
    (r#""known-by":"display""#, r#""known-by":"display ""#),
    (r#""known-by":"display""#, r#""known-by":null"#),
    (r#""inverter-1":{"certified""#, r#""inverter 1":{"certified""#),
    (r#""nominal":"230 V line-neutral""#, r#""nominal":"230 V  line-neutral""#),
    (r#""source":"solar""#, r#""sources":"solar""#),
    (r#""source":"solar""#, r#""source":["solar"]"#),
];

const SITE: &str = r#"{"kind":"site","site":"example","requirements":{"standard":"as-nzs-4777.2/2020-amd2","region":"australia-c"},"dates":{"applied":"2026-05-11","installed":"2026-06-01"},"supply":{"phases":1,"nominal":"230 V line-neutral"},"devices":{"inverter-1":{"certified":{"standard":"as-nzs-4777.2","edition":{"year":2020,"amendment":2}},"source":"solar","nameplate":"5 kVA","as-left":{"date":"2026-06-01","role":"licensed installer","known-by":"display","region-selected":"australia-c","settings":{"sustained-overvoltage":{"threshold":"258 V"}}}}}}"#;

/// Verdict and names of all findings, in order.
fn came_to(site: &Value) -> (String, Vec<String>) {
    let findings = site["findings"].as_array().unwrap();
    let mut names: Vec<String> = findings.iter().map(|finding| format!("{} {}", finding["name"], finding["setting"])).collect();
    names.sort();
    (text(&site["verdict"]), names)
}

#[test]
fn a_line_comes_to_what_its_file_comes_to() {
    let with_value = VALUES.iter().map(|value| SITE.replace(r#""258 V""#, value));
    let with_part = PARTS.iter().map(|(part, instead)| {
        assert!(SITE.contains(part), "{part}");
        SITE.replace(part, instead)
    });
    let texts: Vec<String> = with_value.chain(with_part).collect();
    let folder = tempfile::tempdir().unwrap();
    let lines = folder.path().join("sites.ndjson");
    std::fs::write(&lines, texts.join("\n")).unwrap();
    let mut files: Vec<String> = Vec::new();
    for (n, text) in texts.iter().enumerate() {
        let file = folder.path().join(format!("{n:03}.json"));
        std::fs::write(&file, text).unwrap();
        files.push(file.display().to_string());
    }
    let check = |paths: &[&str]| -> Vec<Value> {
        let output = asleft(&[&["check", "--format", "json", "--as-of", DAY], paths].concat());
        let report: Value = serde_json::from_slice(&output.stdout).unwrap();
        report["sites"].as_array().unwrap().clone()
    };
    let as_lines = check(&[lines.to_str().unwrap()]);
    let as_files = check(&files.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!((as_lines.len(), as_files.len()), (texts.len(), texts.len()));
    let mut verdicts = std::collections::BTreeMap::<String, usize>::new();
    for ((line, file), text) in as_lines.iter().zip(&as_files).zip(&texts) {
        assert_eq!(came_to(line), came_to(file), "{text}");
        *verdicts.entry(came_to(line).0).or_default() += 1;
    }
    println!("{verdicts:?}");
    assert!(verdicts["complies"] >= 10 && verdicts["could-not-tell"] >= 20, "{verdicts:?}");
}
