//! Where inverters settle, at sites that are drawn: every row that `rise` prints satisfies the equations of the
//! cables and of the devices, by a second method (`drawn/second.rs`).
//!
//! `ASLEFT_DRAWN_SITES=2000` draws more, `ASLEFT_SEED` others.

use crate::drawn;
#[path = "drawn/second.rs"]
mod second;

use drawn::{Draw, Reactive, Site, Unit};
use serde_json::Value as Json;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

/// What a printed row may leave of an equation, as a share.
const LEFT: f64 = 1e-6;
/// Half of the last decimal that volts are printed with.
const PRINTED: f64 = 5e-7;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn rise(text: &str, supplies: &str) -> Json {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("drawn.yaml");
    std::fs::write(&file, text).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env_remove("ASLEFT_PROFILES").arg("rise").arg(&file);
    command.args(["--as-of", "2026-11-25", "--supply", supplies, "--output", "50,100", "--format", "json"]);
    let output = command.output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{text}\n{}", String::from_utf8_lossy(&output.stderr)))
}

fn number(of: &Json) -> f64 {
    of.as_f64().unwrap()
}

/// What was seen, so that a test that compares nothing fails.
#[derive(Debug, Default)]
struct Seen {
    rows: usize,
    points: usize,
    histories: usize,
    steps: usize,
    lock_ins: usize,
    limited: usize,
    too_weak: usize,
    not_found: usize,
}

fn from_environment(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|value| value.parse().ok()).unwrap_or(otherwise)
}

#[test]
fn every_printed_row_satisfies_its_equations() {
    let (sites, seed) = (from_environment("ASLEFT_DRAWN_SITES", 120), from_environment("ASLEFT_SEED", 20));
    let (mut seen, mut wrong) = (Seen::default(), Vec::new());
    let mut longest = Duration::ZERO;
    for n in 0..sites {
        let mut draw = Draw(seed.wrapping_mul(1_000_003).wrapping_add(n));
        let site = Site::drawn(&mut draw);
        let volts = [0.95, 1.0, 1.03, 1.06, 1.09].map(|share| format!("{:.1}", share * site.nominal + draw.between(-2.0, 2.0, 1)));
        let text = site.file();
        let begun = Instant::now();
        let report = rise(&text, &format!("{}V", volts.join(",")));
        longest = longest.max(begun.elapsed());
        for row in report["settled"].as_array().unwrap() {
            seen.rows += 1;
            if let Err(says) = check(&site, row, &mut seen) {
                wrong.push(format!("site {n} of seed {seed}: {says}\n{row}\n{text}"));
            }
        }
    }
    println!("{seen:?}, the longest in {longest:?}");
    assert!(wrong.is_empty(), "{} of {} rows:\n{}", wrong.len(), seen.rows, wrong[..wrong.len().min(5)].join("\n"));
    assert!(longest < Duration::from_secs(20), "{longest:?}");
    assert!(seen.not_found * 200 <= seen.rows, "{seen:?}");
    for (kind, count) in [("points", seen.points), ("histories", seen.histories), ("steps", seen.steps), ("limits", seen.limited)] {
        assert!(count as u64 * 20 >= sites, "{kind}: {seen:?}");
    }
}

fn check(site: &Site, row: &Json, seen: &mut Seen) -> Result<(), String> {
    let supply = number(&row["supply"]);
    seen.histories += usize::from(row["before"].is_string());
    match (row["inverters"].as_array(), row["no-point"].as_str()) {
        (Some(inverters), None) => check_points(site, supply, number(&row["share"]), inverters, seen),
        (None, Some("swings")) => row["swings"].as_array().unwrap().iter().try_for_each(|swing| check_swing(site, row, swing, seen)),
        (None, Some("too-weak")) => {
            seen.too_weak += 1;
            check_too_weak(site, supply, number(&row["share"]))
        }
        (None, Some("not-found")) => {
            seen.not_found += 1;
            Ok(())
        }
        _ => Err("neither a point nor a reason".to_owned()),
    }
}

/// Cables, devices, limits and histories.
fn check_points(site: &Site, supply: f64, share: f64, inverters: &[Json], seen: &mut Seen) -> Result<(), String> {
    let powers: Vec<[f64; 2]> = inverters.iter().map(|one| [number(&one["active"]), number(&one["reactive"])]).collect();
    let swept = site.swept(supply, &powers).ok_or("no voltage carries these powers")?;
    let total: f64 = powers.iter().map(|[active, _]| active).sum();
    let least = site.units.iter().filter_map(|unit| unit.export_limit).fold(f64::INFINITY, f64::min);
    if total > least * (1.0 + LEFT) && site.units.iter().all(|unit| unit.export_limit.is_some()) {
        return Err(format!("{total} W leave, and {least} W may"));
    }
    // under a limit all give way by the same share
    let is_limited = |n: usize| inverters[n]["held-by"] == "the export limit";
    let of_full = |n: usize| powers[n][0] / (site.units[n].apparent * share / 100.0);
    let shares: Vec<f64> = (0..powers.len()).filter(|n| is_limited(*n)).map(of_full).collect();
    if !shares.is_empty() {
        seen.limited += 1;
        // what is not limited may pass the limit by itself
        let is_shut = shares.iter().all(|share| *share == 0.0);
        if !is_shut && (total - least).abs() > least * LEFT {
            return Err(format!("held by a limit of {least} W, and {total} W leave"));
        }
    }
    for (n, one) in inverters.iter().enumerate() {
        let (voltage, unit, [active, reactive]) = (number(&one["voltage"]), &site.units[n], powers[n]);
        seen.points += 1;
        if (voltage - swept[n]).abs() > LEFT * voltage {
            return Err(format!("inverter-{n}: {voltage} V printed, the cables come to {}", swept[n]));
        }
        let acts = one["acts"].as_bool();
        let available = unit.apparent * share / 100.0;
        // one that is held by another answer gives no more than its share
        let limit = match shares.first() {
            Some(share) if powers.len() > 1 && unit.export_limit.is_some() => Some(share * available),
            _ if powers.len() == 1 => unit.export_limit,
            _ => None,
        };
        let wanted = unit.answer(voltage, available, limit, acts);
        let left = unit.apparent * LEFT + unit.steepness() * PRINTED * 2.0;
        // what is left beside active power moves the faster the less there is of it
        let left_of_reactive = left * (3.0 + (active / reactive).abs().min(1e6));
        if (wanted[0] - active).abs() > left || (wanted[1] - reactive).abs() > left_of_reactive {
            return Err(format!("inverter-{n}: {active} W and {reactive} var printed, the device gives {wanted:?}"));
        }
        if let Reactive::ByPower(_, Some([begins, ends])) = unit.reactive {
            let is_so = match acts {
                Some(true) => voltage >= ends - 1e-6,
                Some(false) => voltage <= begins + 1e-6,
                None => false,
            };
            if !is_so {
                return Err(format!("inverter-{n}: {acts:?} at {voltage} V, between {begins} V and {ends} V"));
            }
        }
    }
    Ok(())
}

/// Both ends of a swing satisfy the equation of the cables, and lie on the wrong sides of the jump.
fn check_swing(site: &Site, row: &Json, swing: &Json, seen: &mut Seen) -> Result<(), String> {
    let ends = [0, 1].map(|n| ["voltage", "active", "reactive"].map(|key| number(&swing["ends"][n][key])));
    let place: usize = swing["inverter"].as_str().unwrap().trim_start_matches("inverter-").parse().unwrap();
    let unit: &Unit = &site.units[place];
    let (supply, available) = (number(&row["supply"]), unit.apparent * number(&row["share"]) / 100.0);
    let alone = site.units.len() == 1;
    if alone {
        for [voltage, active, reactive] in ends {
            let swept = site.swept(supply, &[[active, reactive]]).ok_or("an end that no voltage carries")?[0];
            if (swept - voltage).abs() > LEFT * voltage {
                return Err(format!("an end at {voltage} V, the cables come to {swept}"));
            }
        }
    }
    match swing["steps-at"].as_f64() {
        Some(step) => {
            seen.steps += 1;
            if !(ends[0][0] > step && ends[1][0] < step) {
                return Err(format!("no swing over {step} V: {ends:?}"));
            }
            let acts = match unit.reactive {
                Reactive::ByPower(_, Some(_)) => [Some(false), Some(true)],
                _ => [None; 2],
            };
            let either_side = |by: f64, end: [f64; 3]| {
                let gives = |acts| unit.answer(step + by, available, unit.export_limit.filter(|_| alone), acts);
                let near = |of: [f64; 2]| (of[0] - end[1]).abs() + (of[1] - end[2]).abs() < unit.apparent * 1e-3;
                acts.into_iter().any(|acts| near(gives(acts)))
            };
            if alone && !(either_side(-1e-7, ends[0]) && either_side(1e-7, ends[1])) {
                return Err(format!("these are not the levels at {step} V: {ends:?}"));
            }
            Ok(())
        }
        None => {
            seen.lock_ins += 1;
            let Reactive::ByPower(_, Some([begins, stops])) = unit.reactive else { return Err("nothing locks in".to_owned()) };
            let swings = ends[0][0] > begins && ends[1][0] < stops && ends[0][2] == 0.0;
            if swings { Ok(()) } else { Err(format!("no swing between {begins} V and {stops} V: {ends:?}")) }
        }
    }
}

/// Of one inverter, no voltage at all is one to which its own answer brings it.
fn check_too_weak(site: &Site, supply: f64, share: f64) -> Result<(), String> {
    let [unit] = &site.units[..] else { return Ok(()) };
    let none = |acts: Option<bool>| {
        (0..4_000).all(|step| {
            let voltage = supply * (0.6 + 0.0002 * f64::from(step));
            let answer = unit.answer(voltage, unit.apparent * share / 100.0, unit.export_limit, acts);
            site.swept(supply, &[answer]).is_none_or(|swept| (swept[0] - voltage).abs() > supply * 0.0002)
        })
    };
    if none(Some(false)) || none(Some(true)) { Ok(()) } else { Err("it settles all the same".to_owned()) }
}
