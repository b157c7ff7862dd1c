//! Invented fleets of any size: sites of every shipped network, a stated share of them with a known
//! fault, and what a check of them must count.
//!
//! Nothing here asks the checker: what a site comes to follows from which fault was put into it.

use serde_json::{Map, Value, json};
use settings_model::document::parse;
use settings_model::source::SourceId;
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::Path;

/// The day on which they are as expected.
pub const DAY: &str = "2026-11-25";

/// Complying sites of `tests/sites`: each shipped network, and two standards alone.
const BASES: [&str; 10] = [
    "beacon-spit-3",
    "cannery-wharf-5",
    "causeway-track-9",
    "cedar-ford-12",
    "harrow-mill-7",
    "larkspur-row-3",
    "quarry-siding-4",
    "sawpit-road-12",
    "smokehouse-road-31",
    "tallow-creek-21",
];

/// Who answers for them: company, branch and crew.
const CREWS: [[&str; 3]; 6] = [
    ["Alderway Electrical (invented)", "coast", "coast 1"],
    ["Alderway Electrical (invented)", "coast", "coast 2"],
    ["Alderway Electrical (invented)", "hills", "hills 1"],
    ["Wrenfield Solar (invented)", "east", "east 1"],
    ["Wrenfield Solar (invented)", "east", "east 2"],
    ["Wrenfield Solar (invented)", "west", "west 1"],
];

/// A fleet to make.
#[derive(Clone, Copy)]
pub struct Fleet {
    /// How many sites.
    pub sites: usize,
    /// The share of them that gets a fault, from 0 to 1.
    pub faults: f64,
    /// The same seed makes the same fleet.
    pub seed: u64,
}

/// A fault that is put into a site.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// The second overvoltage stage trips far too late.
    TripLoosened,
    /// Volt-watt was switched off.
    VoltWattOff,
    /// Nothing was recorded of the first device.
    NothingRecorded,
    /// A voltage is stated as a frequency.
    WrongUnit,
    /// The line was cut short.
    CutShort,
}

impl Fault {
    const ALL: [Self; 5] = [Self::TripLoosened, Self::VoltWattOff, Self::NothingRecorded, Self::WrongUnit, Self::CutShort];

    /// The verdict, and the finding: outcome, name and setting.
    fn comes_to(self) -> (&'static str, [&'static str; 3]) {
        match self {
            Self::TripLoosened => ("does-not-comply", ["does-not-comply", "too-high", "overvoltage-2/threshold"]),
            Self::VoltWattOff => ("does-not-comply", ["does-not-comply", "wrong-state", "volt-watt/state"]),
            Self::NothingRecorded => ("not-proven", ["not-proven", "nothing-recorded", ""]),
            Self::WrongUnit => ("could-not-tell", ["unusable", "value", ""]),
            Self::CutShort => ("could-not-tell", ["unusable", "syntax", ""]),
        }
    }

    /// The site with this fault, where it can have it.
    fn put_into(self, site: &Value) -> Option<Value> {
        let mut site = site.clone();
        let device = site["devices"].as_object_mut()?.values_mut().next()?;
        match self {
            Self::NothingRecorded => drop(device.as_object_mut()?.remove("as-left")?),
            Self::CutShort => {}
            _ => {
                let settings = device["as-left"]["settings"].as_object_mut()?;
                match self {
                    Self::TripLoosened => stage(settings).insert("threshold".to_owned(), json!("400 V")),
                    Self::WrongUnit => stage(settings).insert("threshold".to_owned(), json!("52 Hz")),
                    _ => {
                        let volt_watt = settings.get("volt-watt").filter(|volt_watt| volt_watt["state"] == "enabled");
                        volt_watt.is_some().then(|| settings.insert("volt-watt".to_owned(), json!({ "state": "off" })))?
                    }
                };
            }
        }
        Some(site)
    }
}

fn stage(settings: &mut Map<String, Value>) -> &mut Map<String, Value> {
    let stage = settings.entry("overvoltage-2").or_insert_with(|| json!({}));
    stage.as_object_mut().expect("a stage is a group")
}

/// What a check must count; in the words of `asleft schema check-report`, where it has them.
#[derive(Default)]
pub struct Expected {
    summary: Counts,
    by_fault: BTreeMap<[&'static str; 3], usize>,
    answerable: BTreeMap<[&'static str; 3], Counts>,
}

/// How many sites came to each verdict.
type Counts = BTreeMap<&'static str, usize>;

impl Expected {
    fn count(&mut self, verdict: &'static str, finding: Option<[&'static str; 3]>, crew: [&'static str; 3]) {
        for counts in [&mut self.summary, self.answerable.entry(crew).or_default()] {
            *counts.entry("sites").or_default() += 1;
            *counts.entry(verdict).or_default() += 1;
        }
        if let Some(finding) = finding {
            *self.by_fault.entry(finding).or_default() += 1;
        }
    }

    /// As JSON.
    pub fn to_json(&self) -> Value {
        let summary = |counts: &Counts| -> Value {
            let words = ["sites", "complies", "does-not-comply", "not-proven", "could-not-tell"];
            words.iter().map(|word| ((*word).to_owned(), json!(counts.get(word).unwrap_or(&0)))).collect::<Map<_, _>>().into()
        };
        let fault = |([outcome, name, setting], sites): (&[&str; 3], &usize)| json!({ "outcome": outcome, "name": name, "setting": setting, "sites": sites });
        let crew = |([company, branch, crew], counts): (&[&str; 3], &Counts)| json!({ "company": company, "branch": branch, "crew": crew, "summary": summary(counts) });
        json!({
            "as-of": DAY,
            "summary": summary(&self.summary),
            "by-fault": self.by_fault.iter().map(fault).collect::<Value>(),
            "answerable": self.answerable.iter().map(crew).collect::<Value>(),
        })
    }
}

/// A line with gaps for a site's name and who answers for it.
struct Template(Vec<String>);

impl Template {
    fn of(site: &Value) -> Self {
        let mut site = site.clone();
        site["site"] = json!("@");
        site["answerable"] = json!({ "company": "@", "branch": "@", "crew": "@" });
        // in the order of the gaps, wherever the base has them
        let mut ordered = Map::new();
        for key in ["kind", "site", "answerable"] {
            ordered.insert(key.to_owned(), site[key].take());
        }
        ordered.extend(
            site.as_object().expect("a site is a group").iter().filter(|(_, value)| !value.is_null()).map(|(k, v)| (k.clone(), v.clone())),
        );
        let line = Value::Object(ordered).to_string();
        Self(line.split('@').map(str::to_owned).collect())
    }

    fn write(&self, out: &mut Vec<u8>, name: &str, crew: [&str; 3]) {
        out.clear();
        let gaps = [name, crew[0], crew[1], crew[2], ""];
        for (part, gap) in self.0.iter().zip(gaps) {
            out.extend_from_slice(part.as_bytes());
            out.extend_from_slice(gap.as_bytes());
        }
    }
}

impl Fleet {
    /// Writes it one site a line, from the sites in a folder, and says what it must come to.
    pub fn write(self, sites: &Path, out: &mut dyn Write) -> io::Result<Expected> {
        let bases: Vec<Value> = BASES.iter().map(|name| base(&sites.join(format!("{name}.yaml")))).collect::<io::Result<_>>()?;
        let sound: Vec<Template> = bases.iter().map(Template::of).collect();
        let faulty =
            |site: &Value| Fault::ALL.into_iter().filter_map(|fault| Some((fault, Template::of(&fault.put_into(site)?)))).collect();
        let faulty: Vec<Vec<(Fault, Template)>> = bases.iter().map(faulty).collect();
        let (mut chance, mut expected, mut line) = (Chance(self.seed), Expected::default(), Vec::new());
        for n in 0..self.sites {
            let (base, crew) = (chance.below(bases.len()), CREWS[chance.below(CREWS.len())]);
            let name = format!("invented-{n}");
            if chance.share() >= self.faults {
                sound[base].write(&mut line, &name, crew);
                expected.count("complies", None, crew);
            } else {
                let (fault, template) = &faulty[base][chance.below(faulty[base].len())];
                template.write(&mut line, &name, crew);
                let (verdict, finding) = fault.comes_to();
                if *fault == Fault::CutShort {
                    // before anybody is named
                    line.truncate(20);
                }
                expected.count(verdict, Some(finding), if *fault == Fault::CutShort { [""; 3] } else { crew });
            }
            line.push(b'\n');
            out.write_all(&line)?;
        }
        Ok(expected)
    }
}

fn base(path: &Path) -> io::Result<Value> {
    let text = std::fs::read_to_string(path).map_err(|e| io::Error::other(format!("{}: {e}", path.display())))?;
    let tree = parse(SourceId(0), &text, &mut Vec::new()).ok_or_else(|| io::Error::other(format!("{}: no site", path.display())))?;
    Ok(tree.to_json())
}

/// SplitMix64 (Steele, Lea and Flood, 2014; the constants are from memory): good enough to choose sites.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    /// From 0 to under 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
