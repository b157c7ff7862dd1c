//! How fast one thread judges sites given one a line, against only reading them.
//!
//! Baseline: a borrowed `serde_json` derive of the same typed site, nothing judged. Printed as a
//! ratio within one run; nothing is asserted. `cargo bench -p rules --bench ndjson [-- SHARE ROUNDS]`:
//! the share of faulty sites (0.01 without it), and how often to repeat.

use jiff::civil::date;
use rules::assess::Assessor;
use rules::wording;
use settings_model::files::SiteFile;
use settings_model::library::{Library, Profile};
use settings_model::places::JsonLine;
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

/// The same site as plain borrowed text: what reading costs when nothing is understood.
mod borrowed {
    use serde::Deserialize;
    use settings_model::files::Named;
    use std::borrow::Cow;

    pub type Points<'a> = Vec<[&'a str; 2]>;

    #[derive(Deserialize)]
    #[serde(rename_all = "kebab-case", deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Site<'a> {
        pub kind: &'a str,
        #[serde(borrow)]
        pub site: Cow<'a, str>,
        pub network: &'a str,
        pub requirements: Requirements<'a>,
        pub dates: Dates<'a>,
        pub supply: Supply<'a>,
        pub export: Export<'a>,
        #[serde(borrow)]
        pub devices: Named<&'a str, Device<'a>>,
    }

    macro_rules! group {
        ($name:ident { $($field:ident: $kind:ty),+ $(,)? }) => {
            #[derive(Deserialize)]
            #[serde(rename_all = "kebab-case", deny_unknown_fields)]
            #[allow(dead_code)]
            pub struct $name<'a> { $(#[serde(borrow)] pub $field: $kind),+ }
        };
    }

    group!(Requirements { overlay: &'a str, region: &'a str });
    group!(Dates { applied: &'a str, approved: &'a str, installed: &'a str });
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Supply<'a> {
        pub phases: u8,
        pub nominal: &'a str,
    }
    group!(Export { kind: &'a str, approved: &'a str, reference: Cow<'a, str> });
    group!(Device { certified: Certified<'a>, source: &'a str, nameplate: &'a str, as_left: Holding<'a> });
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Certified<'a> {
        pub standard: &'a str,
        pub edition: Edition,
    }
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Edition {
        pub year: u16,
        pub amendment: u8,
    }
    group!(Holding { date: &'a str, role: Cow<'a, str>, known_by: &'a str, region_selected: &'a str, settings: Settings<'a> });

    #[derive(Deserialize)]
    #[serde(rename_all = "kebab-case", deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Settings<'a> {
        #[serde(borrow, rename = "undervoltage-1")]
        pub undervoltage_1: Stage<'a>,
        #[serde(borrow, rename = "undervoltage-2")]
        pub undervoltage_2: Stage<'a>,
        #[serde(borrow, rename = "overvoltage-1")]
        pub overvoltage_1: Stage<'a>,
        #[serde(borrow, rename = "overvoltage-2")]
        pub overvoltage_2: Stage<'a>,
        #[serde(borrow)]
        pub sustained_overvoltage: Sustained<'a>,
        #[serde(borrow, rename = "underfrequency-1")]
        pub underfrequency_1: Stage<'a>,
        #[serde(borrow, rename = "overfrequency-1")]
        pub overfrequency_1: Stage<'a>,
        #[serde(borrow)]
        pub reconnection: Reconnection<'a>,
        #[serde(borrow)]
        pub volt_watt: Curve<'a>,
        #[serde(borrow)]
        pub volt_var: Curve<'a>,
        #[serde(borrow)]
        pub over_frequency_response: Response<'a>,
        #[serde(borrow)]
        pub export_limit: Limit<'a>,
    }
    group!(Stage { state: &'a str, threshold: &'a str, definite_delay: &'a str });
    group!(Sustained { state: &'a str, threshold: Photo<'a> });
    #[derive(Deserialize)]
    #[serde(rename_all = "kebab-case", deny_unknown_fields)]
    #[allow(dead_code)]
    pub struct Photo<'a> {
        pub value: &'a str,
        pub known_by: &'a str,
        pub photo: u32,
    }
    group!(Reconnection {
        lower_voltage: &'a str,
        upper_voltage: &'a str,
        lower_frequency: &'a str,
        upper_frequency: &'a str,
        observation_time: &'a str,
        ramp_rate: &'a str
    });
    group!(Curve { state: &'a str, points: Points<'a> });
    group!(Response { state: &'a str, start: &'a str, end: &'a str });
    group!(Limit { state: &'a str, site_total: &'a str });
}

const SITES: usize = 4_000;
const ROUNDS: usize = 51;

fn main() {
    let mut numbers = std::env::args().filter_map(|argument| argument.parse::<f64>().ok());
    let share = numbers.next().unwrap_or(0.01);
    let rounds = numbers.next().map_or(ROUNDS, |rounds| rounds as usize);
    let lines = lines(share);
    let bytes: usize = lines.iter().map(String::len).sum();
    let mut assessor = assessor();
    let (mut reading, mut typing, mut judging) = (Vec::new(), Vec::new(), Vec::new());
    let mut faulty = 0;
    for _ in 0..rounds {
        reading.push(timed(|| lines.iter().for_each(|line| drop(black_box(serde_json::from_str::<borrowed::Site<'_>>(line).unwrap())))));
        typing.push(timed(|| lines.iter().for_each(|line| drop(black_box(read(line))))));
        judging.push(timed(|| faulty = lines.iter().filter(|line| !judge(line, &mut assessor)).count()));
    }
    let (reading, typing, judging) = (median(reading), median(typing), median(judging));
    let per_site = |d: Duration| d.as_secs_f64() * 1e6 / SITES as f64;
    let speed = |d: Duration| bytes as f64 / 1e6 / d.as_secs_f64();
    println!("{SITES} sites of {} bytes, {faulty} faulty ({:.1} %), one thread, median of {rounds} rounds", bytes / SITES, share * 100.0);
    println!("  only reading (borrowed derive)  {:6.2} µs a site  {:6.0} MB/s", per_site(reading), speed(reading));
    println!("  read into its types             {:6.2} µs a site  {:6.0} MB/s", per_site(typing), speed(typing));
    println!("  read and judged                 {:6.2} µs a site  {:6.0} MB/s", per_site(judging), speed(judging));
    println!("  ratio of throughput             {:6.2}", reading.as_secs_f64() / judging.as_secs_f64());
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn median(mut rounds: Vec<Duration>) -> Duration {
    rounds.sort();
    rounds[rounds.len() / 2]
}

fn read(line: &str) -> SiteFile<'_> {
    serde_json::from_str(line).expect("the lines are sound")
}

/// As the program does: of a fault, the places are looked up in the line.
fn judge(line: &str, assessor: &mut Assessor) -> bool {
    let site = SiteFile::of_line(line).expect("the lines are sound");
    let assessment = black_box(assessor.assess(&site));
    if assessment.has_nothing_to_say() {
        return true;
    }
    let source = assessor.sources.add("bench", line);
    black_box(wording::findings(&assessment, &JsonLine { source, text: line }));
    assessor.sources.forget_after(source.0 as usize);
    false
}

fn assessor() -> Assessor {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles");
    let mut library = Library::default();
    for path in ["standards/as-nzs-4777.2/2020-amd2.yaml", "overlays/quillbrook/1.0.0.yaml", "overlays/quillbrook/2.0.0.yaml"] {
        let text = std::fs::read_to_string(root.join(path)).expect("a shipped profile");
        library.add(Profile { path: path.to_owned(), name: path.to_owned(), text: text.into(), shipped: true });
    }
    Assessor::new(library, date(2026, 11, 25))
}

/// Invented sites, alike but for names, dates and a few values that still comply; every so many
/// protects less than required.
fn lines(share: f64) -> Vec<String> {
    let stage = |threshold: &str, delay: &str| format!(r#"{{"state":"enabled","threshold":"{threshold}","definite-delay":"{delay}"}}"#);
    let every = if share > 0.0 { (1.0 / share).round() as usize } else { usize::MAX };
    (0..SITES)
        .map(|n| {
            let is_faulty = n % every == every / 2;
            let overvoltage = if is_faulty { "270 V" } else { "265 V" };
            let delay = ["1 s", "1.2 s", "1.5 s"][n % 3];
            format!(
                concat!(
                    r#"{{"kind":"site","site":"invented-{n}","network":"quillbrook","requirements":{{"overlay":"^2.0","region":"australia-a"}},"#,
                    r#""dates":{{"applied":"2026-0{month}-16","approved":"2026-0{month}-22","installed":"2026-0{month}-27"}},"#,
                    r#""supply":{{"phases":1,"nominal":"230 V line-neutral"}},"export":{{"kind":"fixed","approved":"5 kW","reference":"QB-{n}"}},"#,
                    r#""devices":{{"inverter-1":{{"certified":{{"standard":"as-nzs-4777.2","edition":{{"year":2020,"amendment":2}}}},"source":"solar","nameplate":"6 kVA","#,
                    r#""as-left":{{"date":"2026-04-09","role":"licensed installer","known-by":"display","region-selected":"australia-a","settings":{{"#,
                    r#""undervoltage-1":{uv1},"undervoltage-2":{uv2},"overvoltage-1":{ov1},"overvoltage-2":{ov2},"#,
                    r#""sustained-overvoltage":{{"state":"enabled","threshold":{{"value":"255 V","known-by":"photo","photo":{n}}}}},"#,
                    r#""underfrequency-1":{uf},"overfrequency-1":{of},"#,
                    r#""reconnection":{{"lower-voltage":"205 V","upper-voltage":"253 V","lower-frequency":"47.5 Hz","upper-frequency":"50.15 Hz","observation-time":"6{digit} s","ramp-rate":"10 %/min"}},"#,
                    r#""volt-watt":{{"state":"enabled","points":[["253 V","100 %"],["260 V","20 %"]]}},"#,
                    r#""volt-var":{{"state":"enabled","points":[["207 V","44 %"],["220 V","0 %"],["240 V","0 %"],["258 V","-60 %"]]}},"#,
                    r#""over-frequency-response":{{"state":"enabled","start":"50.25 Hz","end":"52 Hz"}},"#,
                    r#""export-limit":{{"state":"enabled","site-total":"{kilo} kW"}}}}}}}}}}}}"#,
                ),
                n = n,
                month = 3 + n % 6,
                digit = n % 10,
                kilo = 3 + n % 3,
                uv1 = stage("180 V", "10 s"),
                uv2 = stage("70 V", delay),
                ov1 = stage(overvoltage, delay),
                ov2 = stage("275 V", "0.1 s"),
                uf = stage("47 Hz", delay),
                of = stage("52 Hz", "0.1 s"),
            )
        })
        .collect()
}
