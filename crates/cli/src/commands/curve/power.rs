//! `curve --of power`: what a device gives at each voltage with all its responses together.

use super::places::places;
use super::{PLOT_LINES, beside};
use crate::args::{Curve, FallOf, Format};
use crate::commands::acting::{acting, taken_for_granted};
use crate::commands::held::{Held, devices, site};
use crate::commands::operand::{Fault, Moment, Operand, operand};
use crate::commands::refused;
use crate::render::capitalised;
use crate::render::figure::{Axis, Figure, Mark, SecondScale, Spot, Style, straightened};
use crate::render::{self, braille, svg, table};
use crate::report::curve::{CurveReport, PowerPoint, PowerReport, number};
use crate::walk::write_messages;
use crate::{Exit, files};
use response::device::{Device, FrequencyBase, ReactiveMode, Unclear};
use response::operating_point::{Cap, Conditions, OperatingPoint};
use rules::assess::Assessor;
use rules::percentages::unverified_percentages;
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::quantity::Dimension;
use std::io::{self, Write};

/// How it is asked for.
pub const NAME: &str = "power";

/// One device, and at which voltages it is looked at.
struct Shown {
    title: String,
    device: Device,
    nominal: Exact,
    conditions: Conditions,
    voltages: Vec<Exact>,
    granted: Vec<String>,
}

/// Prints what each device gives, and draws it.
pub fn run(args: &Curve, assessor: &mut Assessor) -> io::Result<Exit> {
    let shown = match shown(args, assessor) {
        Ok(shown) => shown,
        Err(Fault::Findings(findings)) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
        Err(Fault::Words(says)) => return refused(&says),
    };
    let mut out = anstream::stdout().lock();
    match args.format {
        Format::Json => {
            let report = CurveReport { responses: Vec::new(), power: Some(shown.iter().map(Shown::report).collect()) };
            serde_json::to_writer_pretty(&mut out, &report)?;
            writeln!(out)?;
        }
        Format::Text => {
            for (n, shown) in shown.iter().enumerate() {
                if n > 0 {
                    writeln!(out)?;
                }
                shown.write(&mut out)?;
                if !args.no_plot {
                    writeln!(out, "\n{}", braille::plot(&shown.figure(), render::width(), PLOT_LINES, render::colour()).trim_end())?;
                }
            }
        }
    }
    for (n, one) in shown.iter().enumerate() {
        let Some(file) = &args.svg else { break };
        let file = if shown.len() == 1 { file.clone() } else { beside(file, &format!("{}", n + 1)) };
        files::write_whole(&file, svg::svg(&one.figure(), NAME).as_bytes())?;
        writeln!(io::stderr(), "drawn: {}", file.display())?;
    }
    Ok(Exit::Fine)
}

fn shown(args: &Curve, assessor: &mut Assessor) -> Result<Vec<Shown>, Fault> {
    if args.of.len() > 1 {
        return Err(Fault::Words("`--of power` shows all responses together and stands alone".to_owned()));
    }
    let mut shown = Vec::new();
    for word in &args.files {
        let Operand::Site(operand) = operand(word, assessor)? else {
            let says = format!("`{word}` has no device; `--of power` shows what a site's device gives, by its ratings");
            return Err(Fault::Words(says));
        };
        let site = site(&operand)?;
        let held = devices(&operand, &site, operand.moment.unwrap_or(Moment::AsLeft), assessor)?;
        for held in held.into_iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter) {
            shown.push(of_device(args, &held)?);
        }
    }
    if shown.is_empty() { Err(Fault::Words(format!("no inverter in {}", args.files.join(", ")))) } else { Ok(shown) }
}

fn of_device(args: &Curve, held: &Held<'_>) -> Result<Shown, Fault> {
    let fall_of = args.fall_of.map(|of| match of {
        FallOf::Momentary => FrequencyBase::Momentary,
        FallOf::Rated => FrequencyBase::Rated,
    });
    let acting = acting(held, fall_of);
    let Some(device) = acting.device else {
        return Err(Fault::Words(format!("{}: its rating is not stated: `nameplate`", held.title)));
    };
    let given = |text: &Option<String>, dimension: Dimension, option: &str| -> Result<Option<f64>, Fault> {
        let Some(text) = text else { return Ok(None) };
        let amount = dimension.parse(text).map_err(|slip| Fault::Words(format!("{option}: {}; {}", slip.says, slip.mend)))?;
        Ok(Some(amount.number.approximate()))
    };
    let nominal_frequency = held.asked.as_ref().and_then(|(book, _)| book.rulebook.nominal_frequency).map_or(50.0, Exact::approximate);
    let available = given(&args.available, Dimension::ActivePower, "--available")?.unwrap_or(device.ratings.active);
    let frequency = given(&args.frequency, Dimension::Frequency, "--frequency")?.unwrap_or(nominal_frequency);
    let known = acting.unclear.iter().filter(|unclear| **unclear != Unclear::Priority);
    let mut granted: Vec<String> = known.map(taken_for_granted).collect();
    if acting.as_required {
        granted.insert(0, "nothing is recorded of it; it is taken to hold what is required".to_owned());
    }
    if device.export_limit.is_some() {
        granted.push("the site is taken to use nothing itself, so that all of it is exported".to_owned());
    }
    granted.extend(held.asked.as_ref().and_then(|(book, _)| unverified_percentages(&book.rulebook)));
    if frequency != nominal_frequency {
        let says = device.over_frequency.as_ref().map(|answer| match answer.of {
            FrequencyBase::Momentary => {
                "the response to high frequency counts its per cents from the power at the moment of passing its start"
            }
            FrequencyBase::Rated => "the response to high frequency counts its per cents from rated power",
        });
        granted.extend(says.map(str::to_owned));
        granted.push("the responses to frequency are taken to have no memory of earlier excursions".to_owned());
    }
    let nominal = held.facts.number(FactId::NominalVoltage).unwrap_or(Exact::from(230));
    let slip = |slip: settings_model::slip::Slip| Fault::Words(format!("--at: {}; {}", slip.says, slip.mend));
    let voltages = match &args.at {
        Some(at) => places(at, Dimension::Voltage, &held.facts).map_err(slip)?,
        None => bends(&device, nominal),
    };
    let conditions = Conditions { voltage: nominal.approximate(), frequency, available, load: 0.0 };
    let mut shown = Shown { title: held.title.clone(), device, nominal, conditions, voltages, granted };
    let meets_limit = shown.points().any(|(_, point)| point.held_by == Cap::ReactivePower || Shown::is_cut(&point));
    if meets_limit && acting.unclear.contains(&Unclear::Priority) {
        shown.granted.push(taken_for_granted(&Unclear::Priority));
    }
    Ok(shown)
}

/// Where the responses to voltage bend, and the nominal voltage.
fn bends(device: &Device, nominal: Exact) -> Vec<Exact> {
    let by_voltage = if let ReactiveMode::VoltVar(line) = &device.reactive { Some(line) } else { None };
    let lines = [device.volt_watt.as_ref(), device.volt_watt_charging.as_ref(), by_voltage];
    let bends = lines.into_iter().flatten().flat_map(|line| line.points().iter().map(|point| point[0]));
    let mut voltages: Vec<Exact> = bends.filter_map(|volts| Exact::parse(&format!("{volts:.3}")).ok()).chain([nominal]).collect();
    voltages.sort_unstable();
    voltages.dedup();
    voltages
}

impl Shown {
    fn at(&self, voltage: f64) -> OperatingPoint {
        self.device.at(&Conditions { voltage, ..self.conditions })
    }

    fn points(&self) -> impl Iterator<Item = (Exact, OperatingPoint)> {
        self.voltages.iter().map(|volts| (*volts, self.at(volts.approximate())))
    }

    /// What limits reactive power where less comes than was asked for.
    fn is_cut(point: &OperatingPoint) -> bool {
        (point.reactive - point.reactive_asked).abs() > point.reactive_asked.abs() * 1e-6 + 1e-6
    }

    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let width = render::width();
        render::title(out, "Power", "active and reactive power with all responses together")?;
        let ratings = self.device.ratings;
        let available = match self.conditions.available {
            charging if charging < 0.0 => format!("it would charge with {}", Dimension::ActivePower.show(exact(-charging))),
            available => format!("{} available", Dimension::ActivePower.show(exact(available))),
        };
        let lead = format!(
            "{}: {} of {}; {}",
            self.title,
            available,
            Dimension::ApparentPower.show(exact(ratings.apparent)),
            Dimension::Frequency.show(exact(self.conditions.frequency))
        );
        writeln!(out, "  {}", render::wrapped(&lead, width - 2, 2))?;
        writeln!(out, "\n{}", self.table(width))?;
        if !self.granted.is_empty() {
            render::heading(out, "TAKEN AS", "what nobody stated, and how it was reckoned")?;
        }
        for says in &self.granted {
            writeln!(out, "  - {}", render::wrapped(says, width - 4, 4))?;
        }
        Ok(())
    }

    fn table(&self, width: usize) -> String {
        let has_cut = self.points().any(|(_, point)| Self::is_cut(&point));
        let mut heading = vec!["Voltage", "Per unit", "Active", "Reactive", "Apparent", "Held by"];
        heading.extend(has_cut.then_some("Reactive asked for"));
        let mut table = table::of_headings(heading.into_iter(), width);
        let power = |number: f64, unit: &str| format!("{}\u{a0}{unit}", exact(number / 1000.0).rounded(3));
        for (volts, point) in self.points() {
            let per_unit = volts.divided_roughly(self.nominal, 4).map_or_else(String::new, |pu| format!("{pu} pu"));
            let mut cells = vec![
                Dimension::Voltage.show(volts),
                per_unit,
                power(point.active, "kW"),
                power(point.reactive, "kvar"),
                power(point.apparent(), "kVA"),
                point.held_by.phrase().to_owned(),
            ];
            cells.extend(has_cut.then(|| if Self::is_cut(&point) { power(point.reactive_asked, "kvar") } else { "-".to_owned() }));
            table.add_row(cells.iter().map(|cell| render::unbroken(cell)));
        }
        table::lines(&table, &[])
    }

    fn figure(&self) -> Figure {
        const STEPS: usize = 400;
        let [low, high] = [self.voltages.first(), self.voltages.last()].map(|end| end.map_or(0.0, |volts| volts.approximate()));
        let steps = (0..=STEPS).map(|n| low + (high - low) * n as f64 / STEPS as f64);
        let mut voltages: Vec<f64> = steps.chain(self.voltages.iter().map(|volts| volts.approximate())).collect();
        voltages.sort_by(f64::total_cmp);
        voltages.dedup();
        let line = |of: &dyn Fn(OperatingPoint) -> f64| -> Vec<Spot> {
            straightened(voltages.iter().map(|volts| (*volts, of(self.at(*volts)) / 1000.0)), self.device.ratings.apparent / 1000.0 * 2e-3)
        };
        let marks = vec![
            Mark::Line { points: line(&|point| point.active), label: "Active power".to_owned(), style: Style::Device(0) },
            Mark::Line {
                points: line(&|point| point.reactive),
                label: "Reactive power: + supplies, - absorbs".to_owned(),
                style: Style::Device(1),
            },
        ];
        let held = self.points().map(|(volts, point)| {
            format!("{volts} V: {:.2} kW, {:.2} kvar, held by {}", point.active / 1000.0, point.reactive / 1000.0, point.held_by.phrase())
        });
        Figure {
            title: format!("Power: {}", self.title),
            description: format!("{}.", held.collect::<Vec<_>>().join("; ")),
            x: Axis {
                label: capitalised("voltage at the terminals"),
                unit: "V".to_owned(),
                second: Some(SecondScale { unit: format!("pu of {} V", self.nominal), one_is: number(self.nominal) }),
            },
            y: Axis { label: "Power".to_owned(), unit: "kW, kvar".to_owned(), second: None },
            marks,
        }
    }

    fn report(&self) -> PowerReport {
        let points = self.points().map(|(volts, point)| PowerPoint {
            voltage: number(volts),
            active: number(exact(point.active)),
            reactive: number(exact(point.reactive)),
            reactive_asked: number(exact(point.reactive_asked)),
            apparent: number(exact(point.apparent())),
            held_by: point.held_by.phrase(),
        });
        PowerReport {
            of: self.title.clone(),
            available: self.conditions.available,
            frequency: self.conditions.frequency,
            points: points.collect(),
            taken_as: self.granted.clone(),
        }
    }
}

/// A number for print, to a thousandth.
fn exact(number: f64) -> Exact {
    Exact::parse(&format!("{number:.3}")).unwrap_or_default().rounded(3)
}
