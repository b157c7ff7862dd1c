//! Logs that cannot be played: each gets one message that says what, where and how to mend it, and no
//! verdict. What is said of each stands in short in `tests/logs/refused.facts`, of some whole beside them as `.txt`;
//! `ASLEFT_REWRITE=1` writes both anew.

use crate::{program, refusal};

use program::logs::{SITE, events, story};
use program::root;
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// What is wrong with a refusal, whatever it says.
fn flaws(output: &Output, has_place: bool) -> Vec<&'static str> {
    let says = String::from_utf8_lossy(&output.stderr);
    let flaw = |is: bool, words| is.then_some(words);
    [
        flaw(output.status.code() != Some(2), "does not end with 2"),
        flaw(!output.stdout.is_empty(), "says something of a verdict"),
        flaw(says.matches("cannot be used (").count() != 1, "is not one message"),
        flaw(says.matches("\n  to do ").count() != 1, "does not say how to mend it"),
        flaw(has_place && !says.contains("\n  in "), "does not say where"),
        flaw(says.lines().any(|line| line.chars().count() > 100), "is wider than 100 columns"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[test]
fn each_bad_log_gets_one_message_and_no_verdict() {
    let folder = root().join("tests/logs/refused");
    let mut logs: Vec<PathBuf> = std::fs::read_dir(&folder).unwrap().flatten().map(|entry| entry.path()).collect();
    logs.retain(|path| path.extension().is_some_and(|extension| extension == "csv"));
    logs.sort();
    assert!(logs.len() >= 25, "{}", logs.len());
    let mut wrong = Vec::new();
    for log in logs {
        let name = log.file_stem().unwrap().to_string_lossy().into_owned();
        let output = events(Path::new(&format!("tests/logs/refused/{name}.csv")), &[]);
        let says = String::from_utf8_lossy(&output.stderr).into_owned();
        wrong.extend(flaws(&output, false).into_iter().map(|flaw| format!("{name} {flaw}:\n{says}")));
        wrong.extend(refusal::difference(&log, &says).map(|differs| format!("{name}\n{differs}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Two gigabytes of zeros, and a log with two gigabytes of zeros in its middle: neither fills the memory.
/// The files are sparse; a reader that held a line of them would take longer than any test may.
#[test]
fn two_gigabytes_of_zeros_are_no_log() {
    let folder = tempfile::tempdir().unwrap();
    let good = format!("t [s],V [V]\n{}", (0..40_000).map(|n| format!("{n},231.0\n")).collect::<String>());
    for (name, before) in [("zeros.csv", &[][..]), ("hole.csv", good.as_bytes())] {
        let path = folder.path().join(name);
        let mut file = File::create(&path).unwrap();
        file.write_all(before).unwrap();
        file.set_len(2 << 30).unwrap();
        drop(file);
        let output = limited(&path);
        assert!(flaws(&output, false).is_empty(), "{name}: {:?}\n{}", flaws(&output, false), String::from_utf8_lossy(&output.stderr));
        assert!(String::from_utf8_lossy(&output.stderr).contains("zero byte"), "{name}");
    }
}

/// Under a limit of 400 MB of address space, where a shell can set one.
fn limited(log: &Path) -> Output {
    let line = format!("ulimit -v 400000; exec '{}' events {SITE} '{}' --as-of 2026-11-25", env!("CARGO_BIN_EXE_asleft"), log.display());
    Command::new("sh").current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").args(["-c", &line]).output().unwrap()
}

/// A line that does not end does not fill the memory either.
#[test]
fn a_line_without_end_is_no_log() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("endless.csv");
    let mut file = File::create(&path).unwrap();
    file.write_all(b"time,V [V]\n0,230\n").unwrap();
    std::io::copy(&mut std::io::repeat(b'1').take(64 << 20), &mut file).unwrap();
    let output = limited(&path);
    assert!(flaws(&output, false).is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stderr).contains("does not end"));
}

/// One log, however it is written: the same events at the same times.
#[test]
fn one_log_in_many_spellings_is_one_story() {
    let folder = tempfile::tempdir().unwrap();
    let plain = std::fs::read_to_string(root().join("tests/logs/sag-11.5s.csv")).unwrap();
    let rows = || plain.lines().skip(1).map(|line| line.split(',').collect::<Vec<_>>());
    let number = |text: &str| text.parse::<f64>().unwrap();
    let spelled = |heading: &str, row: &dyn Fn(&[&str]) -> String| {
        std::iter::once(heading.to_owned()).chain(rows().map(|cells| row(&cells))).collect::<Vec<_>>().join("\n") + "\n"
    };
    let milli = |text: &str| (number(text) * 1000.0).round() as i64;
    let spellings = [
        spelled("time;f [Hz];U_L1 [V]", &|c| format!("{};{};{}", c[0], c[2], c[1]).replace('.', ",")),
        spelled("t [ms]\tvoltage (kV)\tfrequency (mHz)", &|c| {
            format!("{}\t{}\t{}", milli(c[0]), number(c[1]) / 1000.0, number(c[2]) * 1000.0)
        }),
        spelled("epoch,temperature [C],V [pu],f [Hz]", &|c| {
            format!("{}.{:03},21,{},{}", 1_768_392_180 + milli(c[0]) / 1000, milli(c[0]) % 1000, number(c[1]) / 230.0, c[2])
        }),
        spelled("# a remark\ntime,V_L1L2 [V],f [Hz]", &|c| format!("{},{},{}", c[0], number(c[1]) * 3f64.sqrt(), c[2])),
        spelled("date,time of day,V_L1 [V],f [Hz]", &|c| {
            format!("2026-01-14,00:{:02}:{:02}.{:03},{},{}", milli(c[0]) / 60_000, milli(c[0]) / 1000 % 60, milli(c[0]) % 1000, c[1], c[2])
        }),
        spelled("\u{feff}time,\"V_L1 [V]\",\"f [Hz]\"", &|c| format!("{},\"{}\",{}\r", c[0], c[1], c[2])),
    ];
    let told = |path: &Path| {
        let output = events(path, &["--in-service", "yes", "--format", "json"]);
        let report = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
        story(&report)
    };
    let first = told(&root().join("tests/logs/sag-11.5s.csv"));
    assert!(!first.is_empty());
    for (n, spelling) in spellings.iter().enumerate() {
        let path = folder.path().join(format!("{n}.csv"));
        std::fs::write(&path, spelling).unwrap();
        assert_eq!(told(&path), first, "{}", spelling.lines().take(3).collect::<Vec<_>>().join("\n"));
    }
}

/// A gap in the middle is no fault of the log: it is told, and played as one.
#[test]
fn a_gap_is_told_and_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gap.csv");
    let rows = (0..2000)
        .filter(|second| !(900..1500).contains(second))
        .map(|second| format!("{second},{},50\n", if second == 400 { "" } else { "240.0" }));
    std::fs::write(&path, format!("t [s],V [V],f [Hz]\n{}", rows.collect::<String>())).unwrap();
    let output = events(&path, &["--in-service", "yes", "--format", "json"]);
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        (&report["log"]["gaps"], &report["log"]["gaps-seconds"], &report["log"]["rows-without-voltage"]),
        (&1.into(), &600.0.into(), &1.into())
    );
    let events = report["devices"][0]["events"].as_array().unwrap();
    // the missing second is shorter than every stage but those that have no delay
    assert!(events.iter().any(|event| event["what"] == "left-unseen" && event["earliest"]["seconds"] == 900.0), "{events:?}");
    assert!(events.iter().all(|event| event["sure"] != "certain"), "{events:?}");
}

/// A quarter-hour mean above the limit is not a ten-minute mean above it; a ten-minute mean is.
#[test]
fn only_means_that_add_up_prove_an_average() {
    let folder = tempfile::tempdir().unwrap();
    let sure = |minutes: u32| {
        let path = folder.path().join(format!("{minutes}.csv"));
        let rows = (0..20).map(|n| format!("{},{}\n", n * minutes, if (8..12).contains(&n) { 256.0 } else { 244.0 }));
        std::fs::write(&path, format!("t [min],V avg [V]\n{}", rows.collect::<String>())).unwrap();
        let output = events(&path, &["--in-service", "yes", "--format", "json"]);
        let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let events = report["devices"][0]["events"].as_array().unwrap().clone();
        events
            .into_iter()
            .filter(|event| event["what"] == "tripped")
            .map(|event| event["sure"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(sure(10), ["certain"]);
    assert_eq!(sure(15), ["may-have"]);
    assert_eq!(sure(5), ["certain"]);
}

/// The same log as a Parquet file: typed columns, a value that is missing, several groups of rows.
#[cfg(feature = "parquet")]
#[test]
fn a_parquet_file_is_the_same_log() {
    use parquet::data_type::{DoubleType, Int64Type};
    use parquet::file::properties::WriterProperties;
    use parquet::file::writer::SerializedFileWriter;
    let folder = tempfile::tempdir().unwrap();
    let plain = std::fs::read_to_string(root().join("tests/logs/reclose-twice.csv")).unwrap();
    let rows: Vec<Vec<&str>> = plain.lines().skip(1).map(|line| line.split(',').collect()).collect();
    let schema = "message log {
        required int64 time (TIMESTAMP(MICROS, true));
        optional double voltage;
        optional double frequency;
    }";
    let schema = std::sync::Arc::new(parquet::schema::parser::parse_message_type(schema).unwrap());
    let path = folder.path().join("log.parquet");
    let mut writer = SerializedFileWriter::new(File::create(&path).unwrap(), schema, WriterProperties::builder().build().into()).unwrap();
    for group in rows.chunks(1000) {
        let mut out = writer.next_row_group().unwrap();
        let micros: Vec<i64> =
            group.iter().map(|row| 1_768_392_180_000_000 + (row[0].parse::<f64>().unwrap() * 1e6).round() as i64).collect();
        let mut column = out.next_column().unwrap().unwrap();
        column.typed::<Int64Type>().write_batch(&micros, None, None).unwrap();
        column.close().unwrap();
        for n in [1, 2] {
            let levels: Vec<i16> = group.iter().map(|row| i16::from(!row[n].is_empty())).collect();
            let values: Vec<f64> = group.iter().filter_map(|row| row[n].parse().ok()).collect();
            let mut column = out.next_column().unwrap().unwrap();
            column.typed::<DoubleType>().write_batch(&values, Some(&levels), None).unwrap();
            column.close().unwrap();
        }
        out.close().unwrap();
    }
    writer.close().unwrap();
    let story = |path: &Path| {
        let output = events(path, &["--in-service", "yes", "--format", "json"]);
        let report: serde_json::Value =
            serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
        let seconds =
            |event: &serde_json::Value| format!("{} {} {}", event["what"], event["earliest"]["seconds"], event["latest"]["seconds"]);
        let events = report["devices"][0]["events"].as_array().unwrap().iter().map(seconds).collect::<Vec<_>>();
        (events, report["log"]["missing-values"].clone(), report["log"]["rows"].clone())
    };
    assert_eq!(story(&path), story(&root().join("tests/logs/reclose-twice.csv")));
}
