//! The rise for people.

use super::RiseStudy;
use super::figures::{CONSUMER_MAINS, Limited, TOTAL};
use super::settling::{From, LOSSES, Row, could_give, to_read};
use crate::render::{self, table, wrapped};
use response::network::settle::Before;
use response::operating_point::{Cap, OperatingPoint};
use response::supply::{End, Jump, NoPoint, Swing};
use rules::phrase::under;
use rules::provenance::{Standing, Verdict};
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use std::path::Path;

/// Says what is missing; a rise that nobody can work out is no pass.
pub fn write_missing(out: &mut dyn Write, site: &str, file: &Path, missing: &[String]) -> io::Result<()> {
    render::title(out, "NOT PROVEN", &format!("{site}  ({})", terminal::path(file)))?;
    writeln!(out, "  {}", wrapped("the voltage rise cannot be worked out until the site's file states:", render::width() - 2, 2))?;
    for missing in missing {
        writeln!(out, "  - {}", wrapped(missing, render::width() - 4, 4))?;
    }
    Ok(())
}

/// Writes all that is told of a site.
pub fn write(out: &mut dyn Write, told: &RiseStudy<'_>) -> io::Result<()> {
    let width = render::width();
    render::title(out, headline(told), &format!("{}  ({})", told.site, told.file))?;
    let book = told.assessment.book.as_ref().map(|book| under(&book.rulebook)).unwrap_or_default();
    writeln!(out, "  {}", wrapped(&format!("under {book}, as of {}", told.day), width - 2, 4))?;
    for limited in &told.figures.limited {
        writeln!(out, "  {}", wrapped(&verdict(told, limited), width - 2, 4))?;
        for (base, per) in &limited.otherwise {
            let percent = limited.volts / per * 100.0;
            let other = if limited.verdict == Verdict::Complies { "would not comply" } else { "would comply" };
            let says = format!("counted from {base} it is {percent:.3} %, which {other}: ask which base the network operator counts from");
            writeln!(out, "    {}", wrapped(&says, width - 4, 4))?;
        }
        let is_open = limited.verdict == Verdict::NotProven && limited.by_parts.verdict == Verdict::Complies;
        if limited.by_parts.verdict != limited.verdict && !is_open {
            writeln!(out, "    {}", wrapped(&by_parts(limited), width - 4, 4))?;
        }
    }
    for stated in &told.stated {
        writeln!(out, "  {}", wrapped(stated, width - 2, 4))?;
    }
    render::heading(out, "CABLES", "from the point of supply inwards, and the rise at rated current")?;
    writeln!(out, "{}", cables(told, width))?;
    render::heading(out, "RISE", "from the point of supply to each inverter")?;
    writeln!(out, "{}", rises(told, width))?;
    render::heading(out, "WHERE OUTPUT IS REDUCED", "at full output, by the voltage at the point of supply")?;
    writeln!(out, "{}", gives_way(told, width))?;
    if !told.rows.is_empty() {
        render::heading(out, "OPERATING POINT", "with all its responses acting; volts at the terminals")?;
        writeln!(out, "{}", settles(told, width))?;
        for says in without_rest(told) {
            writeln!(out, "  - {}", wrapped(&says, width - 4, 4))?;
        }
    } else {
        let hint = "measure the voltage at the point of supply with the inverters off, and give it as `--supply 244 V` or `--supply 235..250:5`, to see where they settle";
        writeln!(out, "  {}", wrapped(hint, width - 2, 2))?;
    }
    render::heading(out, "ASSUMED", "what nobody stated, and how it was reckoned")?;
    for says in told.granted() {
        writeln!(out, "  - {}", wrapped(&says, width - 4, 4))?;
    }
    render::heading(out, "ADD TO THE SITE FILE", "for `check`")?;
    writeln!(out, "  {}", wrapped(&to_state(told), width - 2, 4))?;
    let minds = minds(told);
    if !minds.is_empty() {
        render::heading(out, "BEFORE YOU START", "")?;
    }
    for says in minds {
        writeln!(out, "  - {}", wrapped(&says, width - 4, 4))?;
    }
    Ok(())
}

fn headline(told: &RiseStudy<'_>) -> &'static str {
    match (told.verdict(), told.decided_by().filter(|standing| standing.is_unverified())) {
        (Verdict::DoesNotComply, None) => "ABOVE THE LIMIT",
        (Verdict::DoesNotComply, Some(Standing::Disputed)) => "ABOVE THE LIMIT BY DISPUTED FIGURES",
        (Verdict::DoesNotComply, Some(_)) => "ABOVE THE LIMIT BY UNVERIFIED FIGURES",
        (Verdict::Complies, None) => "WITHIN THE LIMIT",
        (Verdict::Complies, Some(_)) => "WITHIN THE LIMIT BY UNVERIFIED FIGURES",
        (Verdict::NotProven, _) if told.figures.limited.iter().any(|limited| limited.is_stated_beyond) => {
            "NOT PROVEN, THE FILE STATES A RISE ABOVE THE LIMIT"
        }
        (Verdict::NotProven, Some(_)) => "NOT PROVEN, THE LIMIT IS DISPUTED",
        (Verdict::NotProven | Verdict::CouldNotTell, None | Some(_)) => "NOT PROVEN",
    }
}

fn verdict(told: &RiseStudy<'_>, limited: &Limited) -> String {
    let title = limited.setting.parameter().title;
    let nominal = Dimension::Voltage.show(told.plan.nominal);
    let volts = limited.volts;
    let percent = limited.percent();
    let figure = format!("{title}: {volts:.2} V, {percent} % of {nominal} line to neutral");
    match &limited.asked {
        Some((asked, from)) => format!("{figure}; complies within {asked} ({from})"),
        None => format!("{figure}; no limit is known here: name the standard of installation under `requirements`"),
    }
}

/// Where a figure would be judged otherwise by its parts.
fn by_parts(limited: &Limited) -> String {
    let percent = limited.by_parts.percent.map_or_else(|| "-".to_owned(), |percent| format!("{percent} %"));
    let other = if limited.by_parts.verdict == Verdict::Complies { "would comply" } else { "would not comply" };
    format!(
        "this counts the whole impedance of each cable, |Z|, as a table of the greatest drop does. By resistance and reactance at the power factor of rated output, R cos φ + X sin φ, it is {:.2} V, {percent}, which {other}: ask which the network operator counts",
        limited.by_parts.volts
    )
}

fn cables(told: &RiseStudy<'_>, width: usize) -> String {
    // on a supply of one phase all cables have one
    let shown = |n: usize| n != 4 || told.plan.phases > 1;
    let heading = ["Cable", "Part", "m", "Conductor", "Phases", "A", "V", "%", "Figure"];
    let mut table = table::of_headings(heading.into_iter().enumerate().filter(|(n, _)| shown(*n)).map(|(_, heading)| heading), width);
    table::whole(&mut table, 0, told.plan.cables.iter().map(|laid| laid.name));
    let at_least = [0, 11, 5, 13, 8, 7, 6, 7, 8].into_iter().enumerate().filter(|(n, _)| shown(*n));
    for (column, (_, columns)) in at_least.enumerate().skip(1) {
        table::at_least(&mut table, column, columns);
    }
    let nominal = told.plan.nominal.approximate();
    for (laid, (current, rise)) in told.plan.cables.iter().zip(&told.figures.cables) {
        let part = if laid.counts() { laid.cable.part.title().to_owned() } else { format!("{}, not counted", laid.cable.part.title()) };
        let cells = [
            laid.name.to_owned(),
            part,
            laid.cable.length.map_or_else(|| "-".to_owned(), |length| length.number.to_string()),
            laid.conductor.clone(),
            laid.cable.phases.map_or(told.plan.phases.to_string(), |phases| phases.to_string()),
            format!("{current:.2}"),
            format!("{rise:.2}"),
            format!("{:.3}", rise / nominal * 100.0),
            laid.from.map_or_else(|| "stated".to_owned(), |row| row.basis().column().to_owned()),
        ];
        table.add_row(cells.iter().enumerate().filter(|(n, _)| shown(*n)).map(|(_, cell)| render::unbroken(cell)));
    }
    table::lines(&table, &[])
}

fn rises(told: &RiseStudy<'_>, width: usize) -> String {
    // on one phase every inverter raises the others
    let can_fall_off = told.figures.inverters.iter().any(|rise| rise.others_off > rise.simple + 0.005);
    let mut heading = vec!["Inverter", "Phase", "Rated current", "Simple method", "%", "By phasors", "%"];
    heading.extend(can_fall_off.then_some(["With others off", "%"]).into_iter().flatten());
    let mut table = table::of_headings(heading.into_iter(), width);
    let nominal = told.plan.nominal.approximate();
    let both = |volts: f64| [format!("{volts:.2} V"), format!("{:.3} %", volts / nominal * 100.0)];
    for (inverter, rise) in told.plan.inverters.iter().zip(&told.figures.inverters) {
        let [simple, percent] = both(rise.simple);
        let [exact, of] = match &rise.exact {
            Ok(volts) => both(*volts),
            Err(no) => [format!("none: {}", why_none(no)), "-".to_owned()],
        };
        let current = format!("{:.2} A", inverter.current);
        let mut cells = vec![inverter.name.to_owned(), phase(told, inverter), current, simple, percent, exact, of];
        cells.extend(can_fall_off.then(|| both(rise.others_off)).into_iter().flatten());
        table.add_row(cells.iter().map(|cell| render::unbroken(cell)));
    }
    table::lines(&table, &[])
}

fn phase(told: &RiseStudy<'_>, inverter: &super::site::Inverter<'_>) -> String {
    match inverter.on(told.plan.phases) {
        none if none.is_empty() => "-".to_owned(),
        phase => phase,
    }
}

/// Why there is no resting point.
fn why_none(no: &NoPoint) -> &'static str {
    match no {
        NoPoint::TooWeak => "the cables are too weak",
        NoPoint::NotAFigure => "a figure is out of reach",
        NoPoint::NotFound => "none was found, and there may be one",
        NoPoint::Swings(_) => "see below",
    }
}

/// What becomes of inverters that come to no rest, once for each supply voltage and share.
fn without_rest(told: &RiseStudy<'_>) -> Vec<String> {
    let swinging = told.rows.iter().filter_map(|row| match &row.settled {
        Err(NoPoint::Swings(swings)) => Some((row, swings)),
        _ => None,
    });
    swinging
        .flat_map(|(row, swings)| swings.iter().map(|swing| format!("{}: {}", place(row, row.before), swings_words(told, swing))))
        .collect()
}

fn swings_words(told: &RiseStudy<'_>, swing: &Swing) -> String {
    let name = told.plan.inverters[swing.inverter].name;
    let at =
        |end: &End| format!("{} kW and {} kvar its terminals reach {:.2} V", thousands(end.active), thousands(end.reactive), end.voltage);
    let [before, after] = swing.ends.each_ref().map(at);
    match swing.jump {
        Jump::Step(volts) => {
            format!(
                "{name} does not settle. Its curve steps at {} V: below the step, with {before}; above it, with {after}",
                trimmed(volts, 3)
            )
        }
        Jump::LockIn => {
            format!(
                "{name} does not settle. Its reactive power begins and ends to act in turn: without it, at {before}; with it, at {after}"
            )
        }
    }
}

/// `250 V at the point of supply, 100 % of full output`.
fn place(row: &Row, before: Option<Before>) -> String {
    let place = format!("{} V at the point of supply, {} % of full output", trimmed(row.supply, 3), trimmed(row.share, 1));
    match before {
        None => place,
        Some(Before::NotActing) => format!("{place}, reactive power not acting before"),
        Some(Before::Acting) => format!("{place}, reactive power acting before"),
    }
}

fn gives_way(told: &RiseStudy<'_>, width: usize) -> String {
    let [little, much] = LOSSES.map(|loss| format!("Loses {loss} % above"));
    let mut table = table::table(["Inverter", &little, &much, "Passes its limit above", "10-minute limit"], width);
    let nominal = told.plan.nominal.approximate();
    let volts = |from: From| match from {
        From::Volts(volts) if volts <= nominal => "nominal already".to_owned(),
        From::Volts(volts) => format!("{volts:.1} V"),
        From::Never => "never".to_owned(),
        From::NotKnown => "not known".to_owned(),
    };
    for (inverter, begins) in told.plan.inverters.iter().zip(&told.begins) {
        let limit = inverter.limit.map_or_else(|| "not known".to_owned(), |limit| format!("{limit} V"));
        let passing = if inverter.limit.is_some() { volts(begins.passing_limit) } else { "-".to_owned() };
        let [little, much] = begins.losing.map(volts);
        table.add_row([inverter.name.to_owned(), little, much, passing, limit].map(|cell| render::unbroken(&cell)));
    }
    table::lines(&table, &[])
}

fn settles(told: &RiseStudy<'_>, width: usize) -> String {
    let heading = ["Inverter", "Volts", "kW", "kvar", "Lost kW", "Lost %", "Held by", "To limit", "Loop gain"];
    let mut table = table::table(heading, width);
    let names = told.plan.inverters.iter().map(|inverter| format!("\u{a0}{}", inverter.name)).collect::<Vec<_>>();
    let longest = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
    table::at_least(&mut table, 0, longest as u16 + 2);
    let mut titles = Vec::new();
    for (row, before) in to_read(&told.rows) {
        titles.push(match &row.settled {
            Ok(_) => place(row, before),
            Err(no) => format!("{}, no resting point: {}", place(row, before), why_none(no)),
        });
        let begins = |n: usize, cell: String| if n == 0 { table::group_start(&cell) } else { cell };
        match &row.settled {
            Err(_) => drop(table.add_row([begins(0, "\u{a0}-".to_owned())])),
            Ok(settled) => {
                for (n, settled) in settled.iter().enumerate() {
                    let limit = told.plan.inverters[n].limit;
                    let [lost, of] = curtailed(told, row, n, settled.point);
                    let cells = [
                        begins(n, names[n].clone()),
                        format!("{:.2}", settled.voltage),
                        thousands(settled.point.active),
                        thousands(settled.point.reactive),
                        lost,
                        of,
                        held_by(settled.point.held_by),
                        limit.map_or_else(|| "-".to_owned(), |limit| format!("{:.2}", limit - settled.voltage)),
                        format!("{:.2}", settled.loop_gain),
                    ];
                    table.add_row(cells.map(|cell| render::unbroken(&cell)));
                }
            }
        }
    }
    // numbers stay whole on a narrow terminal, words fold
    for (column, columns) in [8, 6, 7, 6, 6, 11, 7, 6].into_iter().enumerate() {
        table::at_least(&mut table, column + 1, columns);
    }
    table::lines(&table, &titles.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Watts as kilowatts, vars as kilovars.
fn thousands(number: f64) -> String {
    trimmed(number / 1000.0, 2)
}

fn trimmed(number: f64, decimals: usize) -> String {
    let written = format!("{number:.decimals$}");
    let trimmed = if written.contains('.') { written.trim_end_matches('0').trim_end_matches('.') } else { &written };
    if trimmed == "-0" { "0".to_owned() } else { trimmed.to_owned() }
}

/// What is lost, in kilowatts and in per cent of what it could give.
fn curtailed(told: &RiseStudy<'_>, row: &Row, n: usize, point: OperatingPoint) -> [String; 2] {
    let could = could_give(&told.plan, n, row.share);
    let lost = could - point.active;
    if lost < could * 5e-4 { ["-", "-"].map(str::to_owned) } else { [thousands(lost), format!("{:.1}", lost / could * 100.0)] }
}

/// What keeps active power where it is; what is available is no answer of the device.
pub fn held_by(cap: Cap) -> String {
    match cap {
        Cap::Available | Cap::RatedActive | Cap::RatedApparent => "-".to_owned(),
        cap => cap.phrase().to_owned(),
    }
}

fn to_state(told: &RiseStudy<'_>) -> String {
    let figure = |setting| told.figures.limited.iter().find(|limited| limited.setting == setting).map(|limited| limited.percent);
    let key = |setting, key: &str| figure(setting).flatten().map(|percent| format!("{key}: {percent} %"));
    let keys: Vec<String> = [key(TOTAL, "total"), key(CONSUMER_MAINS, "consumer-mains")].into_iter().flatten().collect();
    format!("installation: {{ voltage-rise: {{ {} }} }}", keys.join(", "))
}

/// What to mind, where it applies.
fn minds(told: &RiseStudy<'_>) -> Vec<String> {
    let settled = || told.rows.iter().filter_map(|row| row.settled.as_ref().ok());
    let passes = settled().any(|each| {
        each.iter().zip(&told.plan.inverters).any(|(settled, inverter)| inverter.limit.is_some_and(|limit| settled.voltage > limit))
    });
    let is_above = told.figures.limited.iter().any(|limited| limited.verdict == Verdict::DoesNotComply);
    let gives_way = settled().flatten().any(|settled| settled.point.held_by == Cap::VoltWatt);
    let mut minds = Vec::new();
    if passes {
        minds.push("An inverter whose terminals stay above its 10-minute limit disconnects. That limit protects people and equipment: raising it is no remedy.".to_owned());
    }
    if is_above {
        minds.push("The rise comes down with larger conductors, shorter routes, or inverters spread over the phases; cables up to the point of supply are the network operator's.".to_owned());
    }
    if passes || is_above || gives_way {
        minds.push("In this order: measure at the terminals and at the point of supply at the same time; compare with the rise above; check connections and the neutral; check that volt-var acts; then ask the network operator.".to_owned());
        minds.push("Phases that move apart, one up and one down, point to the neutral: stop, and call the network operator.".to_owned());
    }
    let limits = told.plan.network.inverters.iter().filter_map(|placed| placed.device.export_limit);
    let limit = limits.fold(f64::INFINITY, f64::min);
    if settled().any(|each| each.iter().map(|settled| settled.point.active).sum::<f64>() > limit * (1.0 + 1e-6)) {
        minds.push("The inverters that hold no export limit pass the site's limit by themselves. Check which device holds the limit for the whole site.".to_owned());
    }
    if told.rows.iter().any(|row| matches!(row.settled, Err(NoPoint::Swings(_)))) {
        minds.push("An inverter that does not settle goes back and forth, and its neighbours may see it in their lights. Check the points of its curve and where it begins and ends to act. Only if they are not as required, enter those that are.".to_owned());
    }
    if settled().flatten().any(|settled| settled.loop_gain > 1.0) {
        minds.push("A loop gain above 1 says that an inverter that answered at once would swing. It is for screening and no fault: ramps and response times damp it.".to_owned());
    }
    minds
}
