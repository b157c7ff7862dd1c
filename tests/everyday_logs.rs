//! Logs as loggers, spreadsheets and inverters write them: one log in many spellings is one story, and what a
//! logger writes where it has no value is left out and named. All are invented.

use crate::program;

use program::logs::{played, story};
use program::root;
use serde_json::Value;

/// Seconds, volts and hertz of the drill.
fn drill() -> Vec<(f64, String, String)> {
    let text = std::fs::read_to_string(root().join("tests/logs/sag-11.5s.csv")).unwrap();
    let rows = text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    rows.map(|cells| (cells[0].parse().unwrap(), cells[1].clone(), cells[2].clone())).collect()
}

/// The drill with a stamp of its own for each second after 11:59:30.
fn spelled(above: &str, row: impl Fn(&Clock, &str, &str) -> String) -> String {
    let rows = drill().into_iter().map(|(seconds, volts, hertz)| row(&Clock::after_noon_less_30(seconds), &volts, &hertz) + "\n");
    format!("{above}\n{}", rows.collect::<String>())
}

struct Clock {
    hour: u64,
    minute: u64,
    second: u64,
    milli: u64,
}

impl Clock {
    fn after_noon_less_30(seconds: f64) -> Self {
        let milli = (seconds * 1000.0).round() as u64 + (12 * 3600 - 30) * 1000;
        Self { hour: milli / 3_600_000, minute: milli / 60_000 % 60, second: milli / 1000 % 60, milli: milli % 1000 }
    }

    fn of_24(&self) -> String {
        format!("{:02}:{:02}:{:02}.{:03}", self.hour, self.minute, self.second, self.milli)
    }

    fn of_12(&self) -> String {
        let (hour, half) = ((self.hour + 11) % 12 + 1, if self.hour < 12 { "AM" } else { "PM" });
        format!("{hour}:{:02}:{:02}.{:03} {half}", self.minute, self.second, self.milli)
    }
}

#[test]
fn one_log_in_the_spellings_of_the_day_is_one_story() {
    let plain = std::fs::read_to_string(root().join("tests/logs/sag-11.5s.csv")).unwrap();
    let expected = story(&played(&plain, &[]).unwrap().0);
    assert!(!expected.is_empty());
    let comma = |text: &str| text.replace('.', ",");
    let preamble = "Logger at the switchboard\nSerial;4711;;\nStart of the log;14.01.2026;11:59:30\n\nDatum;Uhrzeit;U_L1 [V];f [Hz]";
    let spellings: Vec<(&str, String, &[&str])> = vec![
        ("date beside time", spelled("Date,Time,V_L1 [V],f [Hz]", |c, v, f| format!("2026-01-14,{},{v},{f}", c.of_24())), &[]),
        ("slashes, day first", spelled("time,V_L1 [V],f [Hz]", |c, v, f| format!("14/01/2026 {},{v},{f}", c.of_24())), &[]),
        ("slashes, month first", spelled("time,V_L1 [V],f [Hz]", |c, v, f| format!("1/14/2026 {},{v},{f}", c.of_24())), &[]),
        (
            "dots, semicolons, decimal commas",
            spelled("time;V_L1 [V];f [Hz]", |c, v, f| format!("14.01.2026 {};{};{}", comma(&c.of_24()), comma(v), comma(f))),
            &[],
        ),
        ("twelve hours", spelled("time,V_L1 [V],f [Hz]", |c, v, f| format!("01/14/2026 {},{v},{f}", c.of_12())), &[]),
        (
            "twelve hours beside a date",
            spelled("Date,Time,V_L1 [V],f [Hz]", |c, v, f| format!("14/01/2026,{},{v},{f}", c.of_12().to_lowercase())),
            &[],
        ),
        (
            "day first, as said",
            spelled("time,V_L1 [V],f [Hz]", |c, v, f| format!("03/04/2026 {},{v},{f}", c.of_24())),
            &["--dates", "day-first"],
        ),
        (
            "month first, as said",
            spelled("time,V_L1 [V],f [Hz]", |c, v, f| format!("03/04/26 {},{v},{f}", c.of_24())),
            &["--dates", "month-first"],
        ),
        ("as its heading says", spelled("time (dd/mm/yyyy),V_L1 [V],f [Hz]", |c, v, f| format!("03/04/2026 {},{v},{f}", c.of_24())), &[]),
        ("sep=;", spelled("sep=;\ntime;V_L1 [V];f [Hz]", |c, v, f| format!("2026-01-14 {};{};{}", c.of_24(), comma(v), comma(f))), &[]),
        ("lines above", spelled(preamble, |c, v, f| format!("14.01.2026;{};{};{}", comma(&c.of_24()), comma(v), comma(f))), &[]),
        ("units below", spelled("Date\tTime\tU_L1\tf\n\t\tV\tHz", |c, v, f| format!("14-Jan-2026\t{}\t{v}\t{f}", c.of_24())), &[]),
        ("a spreadsheet's date", spelled("Date,Time,V_L1 [V],f [Hz]", |c, v, f| format!("14/01/2026 00:00:00,{},{v},{f}", c.of_24())), &[]),
        (
            "temperatures beside it",
            spelled("T [°C],time,V_L1 [V],f [Hz],T2 [°C]", |c, v, f| format!("21.5,2026-01-14 {},{v},{f},30", c.of_24())),
            &[],
        ),
    ];
    let mut wrong = Vec::new();
    for (name, log, more) in &spellings {
        match played(log, more) {
            Ok((report, _)) if story(&report) == expected => {}
            Ok((report, _)) => wrong.push(format!("{name}: {:?}", story(&report))),
            Err(says) => wrong.push(format!("{name}: {says}")),
        }
    }
    assert!(wrong.is_empty(), "expected {expected:?}\n{}", wrong.join("\n"));
}

/// What was passed over or decided is told.
#[test]
fn what_was_decided_of_a_spelling_is_told() {
    let log = "Logger\nSerial;4711\ntime;V_L1 [V];f [Hz]\n14/01/2026 12:00:00;230,0;50,0\n14/01/2026 12:00:01;230,0;50,0\n14/01/2026 12:00:02;230,0;50,0\n";
    let (_, text) = played(log, &[]).unwrap();
    assert!(
        text.contains("2 lines above the heading were passed over") && text.contains("dates are read day-first, as the log shows"),
        "{text}"
    );
    let unclear = played(&log.replace("14/01", "03/04"), &[]).unwrap_err();
    for words in ["3 April 2026 (day-first)", "4 March 2026 (month-first)", "--dates day-first"] {
        assert!(unclear.contains(words), "{unclear}");
    }
    let contrary = played(log, &["--dates", "month-first"]).unwrap_err();
    assert!(contrary.contains("no date with the month first"), "{contrary}");
}

/// A minute of the log, with some cells of some columns written otherwise.
fn minutes(cell: impl Fn(usize, usize) -> Option<&'static str>) -> String {
    let row = |n: usize| {
        let cells = [n.to_string(), "240.0".to_owned(), "50.00".to_owned(), "2.000".to_owned(), "2.500".to_owned()];
        let cells = cells.into_iter().enumerate().map(|(column, plain)| cell(n, column).map_or(plain, str::to_owned));
        cells.collect::<Vec<_>>().join(",") + "\n"
    };
    format!("t [s],V_L1 [V],f [Hz],P [kW],available [kW]\n{}", (0..1800).map(row).collect::<String>())
}

/// Each mark, in each column: the same story as with empty cells, and its count, its column and the mark are told.
#[test]
fn what_loggers_write_for_want_of_a_value_is_left_out_and_named() {
    let marks = ["-9999", "6553.5", "65535", "-9999.00", "-32768", "3276.7", "9999", "4294967295", "65.535"];
    for (column, heading) in [(1, "V_L1 [V]"), (2, "f [Hz]"), (3, "P [kW]"), (4, "available [kW]")] {
        let empty = played(&minutes(|n, c| (c == column && (300..310).contains(&n)).then_some("")), &[]).unwrap().0;
        for mark in marks.iter().filter(|mark| column == 2 || **mark != "65.535") {
            let (report, text) = played(&minutes(|n, c| (c == column && (300..310).contains(&n)).then_some(mark)), &[]).unwrap();
            let (told, log) = (&report["log"]["left-out"], &report["log"]);
            assert_eq!(told.as_array().unwrap().len(), 1, "{heading} {mark}: {told}");
            assert_eq!(
                (&told[0]["column"], &told[0]["cells"], &told[0]["why"]),
                (&heading.into(), &10.into(), &"no-value".into()),
                "{mark}"
            );
            assert_eq!(told[0]["value"].as_f64(), mark.parse().ok());
            assert_eq!(story(&report), story(&empty), "{heading} {mark}");
            assert_eq!(report["devices"][0]["available"], empty["devices"][0]["available"], "{heading} {mark}");
            assert_eq!((&log["highest-voltage"]["value"], &log["lowest-voltage"]["value"]), (&240.0.into(), &240.0.into()), "{mark}");
            assert!(text.contains("loggers write this where they have no value"), "{text}");
        }
    }
}

/// What no supply has is left out too; a swell and a dip are not.
#[test]
fn what_no_supply_has_is_left_out_and_what_it_may_have_is_not() {
    let (report, text) = played(&minutes(|n, c| (c == 1 && n == 300).then_some("-5.0")), &[]).unwrap();
    assert_eq!((&report["log"]["left-out"][0]["why"], &report["log"]["left-out"][0]["value"]), (&"no-supply".into(), &(-5.0).into()));
    assert!(text.contains("holds what no supply has in 1 cell"), "{text}");
    for kept in ["0.0", "398.0", "60.0"] {
        let (report, _) = played(&minutes(|n, c| (c == 1 && n == 300).then_some(kept)), &[]).unwrap();
        assert_eq!(report["log"]["left-out"].as_array().unwrap().len(), 0, "{kept}");
    }
}

/// Where a column is empty, nothing is said by it; where some of its cells are, that is told.
#[test]
fn an_empty_cell_of_a_power_is_no_zero() {
    let (report, text) = played(&minutes(|_, c| matches!(c, 3 | 4).then_some("")), &[]).unwrap();
    let device = &report["devices"][0];
    assert_eq!((&device["given-by-log"], &device["available"], &device["given"]), (&Value::Null, &Value::Null, &Value::Null));
    assert!(!text.contains("0.00 kWh") && text.contains("all rows have no power given"), "{text}");
    let (report, text) = played(&minutes(|n, c| (c == 3 && n < 600).then_some("")), &[]).unwrap();
    assert!((report["devices"][0]["given-by-log"].as_f64().unwrap() - 2.0 * 1200.0 / 3600.0).abs() < 0.01);
    assert!(text.contains("600 rows have no power given"), "{text}");
}

/// Coming up is not being off: what a trip took ends where it may have connected again, and the ramp has a row of its own.
#[test]
fn a_ramp_is_told_apart_from_being_off() {
    let log = minutes(|n, c| (c == 1 && (300..330).contains(&n)).then_some("150.0"));
    let (report, text) = played(&log, &[]).unwrap();
    let events = report["devices"][0]["events"].as_array().unwrap();
    let of = |what: &str| events.iter().find(|event| event["what"] == what).unwrap_or_else(|| panic!("{what}: {events:?}"));
    let most = of("connected")["latest"]["seconds"].as_f64().unwrap() - of("tripped")["earliest"]["seconds"].as_f64().unwrap();
    let lost = report["devices"][0]["lost"].as_array().unwrap();
    let seconds = |cause: &str| lost.iter().find(|lost| lost["cause"] == cause).map(|lost| lost["seconds"][1].as_f64().unwrap());
    assert!(seconds("trip").is_some_and(|seconds| seconds > 60.0 && seconds <= most + 1e-6), "{lost:?}");
    assert!(seconds("ramp").is_some_and(|seconds| seconds > 60.0), "{lost:?}");
    assert!(text.contains("Ramping up"), "{text}");
}

/// A value is told as the reason of a trip only where it lies past the threshold of the stage that is named first; what is
/// only not excluded, because a cell is empty, comes after what the log shows.
#[test]
fn no_value_is_a_reason_that_does_not_pass_its_threshold() {
    let folder = root().join("tests/logs");
    let mut logs: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "csv"))
        .map(|path| (path.display().to_string(), std::fs::read_to_string(&path).unwrap()))
        .collect();
    // a swell while the frequency is missing, and a frequency that is missing by itself
    let swell = minutes(|n, c| match c {
        1 if (300..303).contains(&n) => Some("290.0"),
        2 if (299..304).contains(&n) => Some(""),
        _ => None,
    });
    logs.push(("swell".to_owned(), swell.clone()));
    let missing = minutes(|n, c| (c == 2 && (300..310).contains(&n)).then_some(""));
    logs.push(("missing".to_owned(), missing.clone()));
    let mut trips = 0;
    for (name, log) in &logs {
        // a site of one phase plays what has one
        let Ok((report, _)) = played(log, &[]) else { continue };
        let device = &report["devices"][0];
        for event in device["events"].as_array().unwrap().iter().filter(|event| event["what"] == "tripped") {
            let stage = device["stages"].as_array().unwrap().iter().find(|stage| stage["function"] == event["stages"][0]).unwrap();
            let Some(value) = event["value"].as_f64().filter(|_| stage["window"].is_null()) else { continue };
            let threshold = stage["threshold"].as_f64().unwrap();
            let is_past = if stage["side"] == "above" { value > threshold } else { value < threshold };
            assert!(is_past, "{name}: {event}");
            trips += 1;
        }
    }
    assert!(trips >= 5, "{trips}");
    let (report, text) = played(&swell, &[]).unwrap();
    assert!(
        text.contains("because the voltage, 290.0 V, stayed above 275 V") && text.contains("or, where the log lacks what it looks at"),
        "{text}"
    );
    assert_eq!(report["devices"][0]["events"][0]["stages"][0], "overvoltage-2");
    let (_, text) = played(&missing, &[]).unwrap();
    assert!(text.contains("where the log lacks the frequency, which may have stayed above 52 Hz"), "{text}");
}
