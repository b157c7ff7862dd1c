//! What spreadsheets and loggers add to the rows of a log, words that they have for its columns, and marks for want of a
//! value on other networks: what says nothing new is passed over and counted, and a refusal says what to do. All invented.

use crate::program;

use program::logs::{played, played_at, story};

const HEADING: &str = "time,V_L1 [V],f [Hz]";

/// Two minutes of a second each, with a sag to 60 V for three of them.
fn rows() -> Vec<String> {
    let volts = |n: usize| if (40..43).contains(&n) { 60.0 } else { 231.4 };
    (0..120).map(|n| format!("2026-03-14 10:{:02}:{:02},{:.1},50.01", n / 60, n % 60, volts(n))).collect()
}

fn log(rows: &[String]) -> String {
    format!("{HEADING}\n{}\n", rows.join("\n"))
}

#[test]
fn what_says_nothing_new_is_passed_over_and_told() {
    let plain = log(&rows());
    let expected = story(&played(&plain, &[]).unwrap().0);
    assert_eq!(expected.len(), 2, "{expected:?}");
    let with = |at: usize, row: &str| {
        let mut rows = rows();
        rows.insert(at, row.to_owned());
        log(&rows)
    };
    let again = rows()[41].clone();
    let padded: Vec<String> = rows().iter().map(|row| format!("{row},,")).collect();
    let cases = [
        (with(42, &again), Some("1 row says what the row before says: passed over")),
        (with(60, HEADING), Some("1 row is the heading once more: passed over")),
        (with(30, ",,"), None),
        (format!("{plain},,\n,,\n , ,\n"), None),
        (log(&padded), None),
    ];
    for (log, told) in cases {
        let (report, text) = played(&log, &[]).unwrap_or_else(|says| panic!("{says}"));
        assert_eq!(story(&report), expected, "{text}");
        assert!(told.is_none_or(|told| text.contains(told)), "{told:?}: {text}");
    }
    // the same time with another value is no doubled row
    let says = played(&with(42, &again.replace("60.0", "61.0")), &[]).unwrap_err();
    assert!(says.contains("stands on two rows"), "{says}");
    // nor is a cell too many
    let says = played(&with(30, "2026-03-14 10:00:29.5,230.0,50.0,7"), &[]).unwrap_err();
    assert!(says.contains("4 columns where the heading has 3"), "{says}");
}

#[test]
fn a_refusal_says_what_to_do_about_this_log() {
    let newest_first: Vec<String> = rows().into_iter().rev().collect();
    let mut swapped = rows();
    swapped.swap(20, 21);
    let thousands = |row: &str| format!("{HEADING},P [W]\n{row}\n2026-03-14 10:00:01,231.0,50.0,900\n");
    let cases = [
        (log(&newest_first), "sort the rows by time, the oldest first"),
        (log(&swapped), "where rows only stand out of order, sort them by time"),
        (thousands("2026-03-14 10:00:00,231.0,50.0,\"1,250.5\""), "without a mark between thousands"),
        (
            "time;V_L1 [V];P [W]\n2026-03-14 10:00:00;231,0;1.250,5\n2026-03-14 10:00:01;231,0;900\n".to_owned(),
            "without a mark between thousands",
        ),
        (
            "time;V_L1 [V];P [W]\n2026-03-14 10:00:00;231,0;1.250\n2026-03-14 10:00:01;231,0;900\n".to_owned(),
            "without a mark between thousands",
        ),
        (thousands("2026-03-14 10:00:00,231.0,50.0,\"0,5\""), "write a decimal point"),
    ];
    for (log, wanted) in cases {
        let says = played(&log, &[]).unwrap_err();
        assert!(says.contains(wanted), "{wanted}: {says}");
    }
}

/// Beside a heading that says what a column is, in words that the trade uses.
#[test]
fn a_voltage_and_a_frequency_are_known_by_plain_words() {
    let expected = story(&played(&log(&rows()), &[]).unwrap().0);
    for heading in [
        "time,AC voltage (V),AC frequency (Hz)",
        "time,Grid voltage L1 [V],Grid freq. [Hz]",
        "time,Mains voltage [V],Mains frequency [Hz]",
        "time,Supply voltage L1-N [V],Supply frequency [Hz]",
        "Zeitstempel,Netzspannung L1 [V],Netzfrequenz [Hz]",
        "time,Spannung L1 [V],Frequenz [Hz]",
        "time,Terminal voltage [V],Frequency [Hertz]",
        "time,Voltage (Volts),f [Hz]",
        "time,V_L1 [V rms],f [Hz]",
    ] {
        let (report, text) = played(&log(&rows()).replace(HEADING, heading), &[]).unwrap_or_else(|says| panic!("{heading}: {says}"));
        assert_eq!(story(&report), expected, "{heading}");
        assert!(!text.contains("the log has no frequency"), "{heading}: {text}");
    }
    // these are no voltages of the supply
    for heading in ["time,DC voltage [V],f [Hz]", "time,Battery voltage [V],f [Hz]", "time,Supply V min [V],f [Hz]"] {
        let says = played(&log(&rows()).replace(HEADING, heading), &[]).unwrap_err();
        assert!(says.contains("no column is a voltage"), "{heading}: {says}");
    }
}

/// A site on a network of 60 Hz at another voltage, invented.
fn site(volts: u32) -> String {
    format!(
        "kind: site\nsite: heron-dock-7\nrequirements: {{ standard: ieee-1547/2018-amd1, region: b-ii }}\n\
         dates: {{ applied: 2026-01-20, installed: 2026-06-02 }}\nsupply: {{ phases: 1, nominal: {volts} V line-neutral }}\n\
         devices:\n  inverter-1:\n    certified: {{ standard: ieee-1547, edition: {{ year: 2018, amendment: 1 }} }}\n    source: solar\n    \
         nameplate: 4 kVA\n    rated-power: 4 kW\n    phases: 1\n    \
         as-left: {{ date: 2026-06-02, role: licensed installer, known-by: read, region-selected: b-ii }}\n"
    )
}

/// The ends of registers look like values of some networks; a value that only lies near one does not.
#[test]
fn marks_are_left_out_on_every_network() {
    let folder = tempfile::tempdir().unwrap();
    let of = |nominal: u32, hertz: u32, place: usize, cell: &str| {
        let row = |n: usize| {
            let mut cells = [n.to_string(), format!("{nominal}.3"), format!("{hertz}.01")];
            if (40..43).contains(&n) {
                cells[place] = cell.to_owned();
            }
            cells.join(",") + "\n"
        };
        format!("t [s],V_L1 [V],f [Hz]\n{}", (0..120).map(row).collect::<String>())
    };
    for (nominal, hertz, place, mark, near) in [
        (230, 50, 2, "32.767", "48.767"),
        (230, 50, 2, "65.535", "52.535"),
        (120, 60, 2, "65.535", "64.535"),
        (240, 60, 2, "32.768", "58.768"),
        (277, 60, 1, "327.67", "326.67"),
        (240, 60, 1, "327.67", "280.11"),
    ] {
        let path = folder.path().join("site.yaml");
        std::fs::write(&path, site(nominal)).unwrap();
        let site = if hertz == 60 { path.to_str().unwrap() } else { program::logs::SITE };
        let left_out = |cell: &str| {
            let (report, _) = played_at(site, &of(nominal, hertz, place, cell), &[]).unwrap_or_else(|says| panic!("{cell}: {says}"));
            report["log"]["left-out"].clone()
        };
        let marked = left_out(mark);
        assert_eq!((marked[0]["cells"].as_u64(), marked[0]["why"].as_str()), (Some(3), Some("no-value")), "{nominal} V, {mark}: {marked}");
        assert_eq!(left_out(near), serde_json::json!([]), "{nominal} V, {near}");
    }
}

/// In spring the clock of a log without a zone leaves an hour out, and nothing is missing.
#[test]
fn an_hour_that_the_clock_left_out_is_told() {
    let hour = |from: &str, to: &str| {
        let row = |stamp: String| format!("{stamp},231.0,50.0\n");
        let before = (0..60).map(|n| row(format!("2026-03-29 {from}:59:{n:02}")));
        let after = (0..60).map(|n| row(format!("2026-03-29 {to}:00:{n:02}")));
        format!("{HEADING}\n{}", before.chain(after).collect::<String>())
    };
    let told = |log: &str| played(log, &[]).unwrap().1.contains("if the clock was put forward then for daylight saving");
    assert!(told(&hour("01", "03")) && told(&hour("00", "02")));
    assert!(!told(&hour("01", "04")) && !told(&hour("11", "13")));
}
