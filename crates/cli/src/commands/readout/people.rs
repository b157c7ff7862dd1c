//! What was read, for people.

use super::{Judged, Outcome, Read};
use crate::args::Readout;
use crate::render::{self, table, wrapped};
use crate::report::capture::step;
use settings_model::facts::FactId;
use settings_model::value::Value;
use std::io::{self, Write};
use sunspec::mapping::Reading;
use sunspec::models::{model, title};
use sunspec::{Captured, Decoded, Trouble, TroubleKind};

/// What to mind with values that were read.
const CAUTIONS: [&str; 3] = [
    "What a register holds is what the device says of itself: a test shows what it does.",
    "Only licensed persons may change settings; the network operator's own document, the approval and local rules decide.",
    "This program reads, and never writes to a device.",
];

/// Prints all of it.
pub(super) fn write(out: &mut dyn Write, read: &Read, outcome: &Outcome, judged: Option<&Judged>, args: &Readout) -> io::Result<()> {
    let (captured, width) = (&outcome.captured, render::width());
    if let Some(notice) = outcome.site.as_ref().and_then(|site| site.training) {
        writeln!(out, "{notice}")?;
    }
    write_device(out, read, captured, width)?;
    write_models(out, read, width)?;
    write_settings(out, captured, width)?;
    write_not_read(out, captured, width)?;
    let (open, mut known): (Vec<&Trouble>, Vec<&Trouble>) = captured.troubles.iter().partition(|trouble| trouble.kind.leaves_open());
    // a verdict tells of them itself
    if judged.is_none() {
        write_troubles(out, "LEFT OPEN", "nothing is proven while this is not cleared up", &open, width)?;
    } else {
        known.retain(|trouble| trouble.kind != TroubleKind::PowerLimited && !trouble.kind.acts_beside());
    }
    write_troubles(out, "ALSO READ", "beside the settings", &known, width)?;
    if args.points {
        write_points(out, read, width)?;
    }
    if let Some(judged) = judged {
        render::heading(out, "JUDGED", "")?;
        write!(out, "{}", judged.said)?;
    }
    if let Some(path) = args.out.as_ref().filter(|path| path.as_os_str() != "-") {
        writeln!(out, "\nwritten: {}", terminal::path(path))?;
    }
    writeln!(out)?;
    CAUTIONS.iter().try_for_each(|caution| writeln!(out, "{}", wrapped(caution, width, 0)))
}

fn write_device(out: &mut dyn Write, read: &Read, captured: &Captured, width: usize) -> io::Result<()> {
    let identity = &captured.identity;
    let name = identity.model.as_deref().unwrap_or("A device that does not name itself");
    render::title(out, name, identity.maker.as_deref().unwrap_or_default())?;
    let mut parts: Vec<String> = Vec::new();
    let mut part = |what: &str, said: Option<String>| parts.extend(said.map(|said| format!("{what}{said}")));
    part("serial ", identity.serial.clone());
    part("firmware ", identity.firmware.clone());
    part("rated ", identity.nameplate.map(|number| format!("{number} VA")));
    part("", identity.rated_power.map(|number| format!("{number} W")));
    part("set to ", identity.limited_to.map(|number| format!("{number} VA")));
    part("", identity.phases.map(|phases| phases.replace('-', " ")));
    part("nominal ", captured.nominal.map(|volts| format!("{volts} V to neutral")));
    part("", Some(identity.state.join(", ")).filter(|state| !state.is_empty()).map(|state| format!("now {state}")));
    writeln!(out, "  {}", wrapped(&parts.join("; "), width - 2, 4))?;
    let when = read.from.as_ref().map(|from| format!(", {} unit {}, {}", from.peer, from.unit, from.at)).unwrap_or_default();
    let peer = read.from.as_ref().filter(|from| read.name.starts_with(&from.peer)).map_or(read.name.clone(), |_| "read".to_owned());
    writeln!(out, "  {}", wrapped(&format!("{peer}{when}, map at {}", read.walk.base), width - 2, 4))
}

fn write_models(out: &mut dyn Write, read: &Read, width: usize) -> io::Result<()> {
    let named = |id: u16| if model(id).is_some() { id.to_string() } else { format!("{id} ({}, not decoded)", title(id)) };
    let models: Vec<String> = read.walk.blocks.iter().map(|block| named(block.id)).collect();
    writeln!(out, "  {}", wrapped(&format!("models: {}", models.join(", ")), width - 2, 4))
}

fn write_settings(out: &mut dyn Write, captured: &Captured, width: usize) -> io::Result<()> {
    render::heading(out, "READ", &format!("{} settings, as the device holds them", captured.readings.len()))?;
    let names: Vec<String> = captured.readings.iter().map(|reading| reading.setting.to_string()).collect();
    let mut table = table::table(["Setting", "Value", "Step", "Model/register"], width - 2);
    table::whole(&mut table, 0, names.iter().map(String::as_str));
    table::at_least(&mut table, 2, 10);
    for (name, reading) in names.iter().zip(&captured.readings) {
        let from = format!("{}/{}", reading.from.model, reading.from.register);
        table.add_row([name.clone(), render::unbroken(&shown(reading, captured)), step(reading).unwrap_or_default(), from]);
    }
    writeln!(out, "{}", table::lines(&table, &[]))
}

/// A value, and what it comes to in volts where it is per unit.
fn shown(reading: &Reading, captured: &Captured) -> String {
    let shown = reading.known.value.show(reading.setting);
    match (&reading.known.value, captured.nominal) {
        (Value::Quantity(amount), Some(nominal)) if amount.of == Some(FactId::NominalVoltage) => {
            format!("{shown} ({} V)", amount.number * nominal)
        }
        _ => shown,
    }
}

/// Settings that were not read, those with one reason together.
fn write_not_read(out: &mut dyn Write, captured: &Captured, width: usize) -> io::Result<()> {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for not in &captured.not_read {
        match reasons.iter_mut().find(|(why, _)| *why == not.why) {
            Some((_, settings)) => settings.push(not.setting.to_string()),
            None => reasons.push((&not.why, vec![not.setting.to_string()])),
        }
    }
    if reasons.is_empty() {
        return Ok(());
    }
    render::heading(out, "NOT READ", "what no register says is never taken as right")?;
    reasons.sort_by_key(|(why, _)| *why == "no model says it");
    for (why, settings) in reasons {
        writeln!(out, "  {}", wrapped(&format!("{why}: {}", together(&settings)), width - 2, 4))?;
    }
    Ok(())
}

/// `export-limit (state, site-total), vector-shift (state)`
fn together(settings: &[String]) -> String {
    let mut functions: Vec<(&str, Vec<&str>)> = Vec::new();
    for (function, key) in settings.iter().filter_map(|setting| setting.split_once('/')) {
        match functions.last_mut() {
            Some((last, keys)) if *last == function => keys.push(key),
            _ => functions.push((function, vec![key])),
        }
    }
    functions.into_iter().map(|(function, keys)| format!("{function} ({})", keys.join(", "))).collect::<Vec<_>>().join(", ")
}

fn write_troubles(out: &mut dyn Write, words: &str, rest: &str, troubles: &[&Trouble], width: usize) -> io::Result<()> {
    if troubles.is_empty() {
        return Ok(());
    }
    render::heading(out, words, rest)?;
    for trouble in troubles {
        let at = trouble.register.map(|register| format!(" (register {register})")).unwrap_or_default();
        writeln!(out, "  {}", wrapped(&format!("{}: {}{at}", trouble.kind.name(), trouble.says), width - 2, 4))?;
    }
    Ok(())
}

fn write_points(out: &mut dyn Write, read: &Read, width: usize) -> io::Result<()> {
    for block in &read.walk.blocks {
        let Some(Ok(decoded)) = Decoded::of(block) else { continue };
        render::heading(out, &format!("MODEL {}", block.id), decoded.model.title)?;
        let mut table = table::table(["Register", "Point", "Raw", "Says"], width - 2);
        decoded.parts.each("", &mut |path, held| {
            let raw: Vec<String> = held.raw.iter().map(|word| format!("{word:04x}")).collect();
            let raw = if raw.len() > 4 { format!("{} …", raw[..4].join(" ")) } else { raw.join(" ") };
            table.add_row([held.register.to_string(), path, raw, held.show()]);
        });
        writeln!(out, "{}", table::lines(&table, &[]))?;
    }
    Ok(())
}
