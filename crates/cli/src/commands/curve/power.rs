//! `curve --of power`: what a device gives at each voltage with all its responses together.

use super::PLOT_LINES;
use super::places::places;
use crate::args::{Curve, FallOf, Format};
use crate::commands::operand::{Moment, Operand, OperandError, write_fault};
use crate::render::{self, table};
use crate::{Exit, files};
use plot::{braille, svg};
use replay::held::{DeviceAtMoment, devices, site};
use response::device::FrequencyBase;
use response::operating_point::Conditions;
use rules::assess::Assessor;
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use views::given::no_site;
use views::operating::{At, Operating, exact, in_thousands, is_cut};
use views::report::curve::CurveReport;

/// How it is asked for.
pub const NAME: &str = "power";

/// One device, and at which voltages it is looked at.
struct Shown {
    operating: Operating,
    conditions: Conditions,
    voltages: Vec<Exact>,
}

/// Prints what each device gives, and draws it.
pub fn run(args: &Curve, assessor: &mut Assessor) -> io::Result<Exit> {
    let shown = match shown(args, assessor) {
        Ok(shown) => shown,
        Err(fault) => return write_fault(fault, assessor),
    };
    let mut out = terminal::stdout();
    match args.format {
        Format::Json => {
            let reports = shown.iter().map(|shown| shown.operating.report(&shown.conditions, &shown.voltages));
            let report = CurveReport { responses: Vec::new(), power: Some(reports.collect()) };
            render::json(&mut out, &report)?;
        }
        Format::Text => {
            for (n, shown) in shown.iter().enumerate() {
                if n > 0 {
                    writeln!(out)?;
                }
                shown.write(&mut out)?;
                if !args.drawing.no_plot {
                    let figure = shown.operating.figure(&shown.conditions, &shown.voltages);
                    writeln!(out, "\n{}", braille::plot(&figure, render::width(), PLOT_LINES, render::colour()).trim_end())?;
                }
            }
        }
    }
    for (n, one) in shown.iter().enumerate() {
        let Some(file) = &args.drawing.svg else { break };
        let file = if shown.len() == 1 { file.clone() } else { files::one_of_several(file, &(n + 1).to_string()) };
        let figure = one.operating.figure(&one.conditions, &one.voltages);
        files::write_whole(&file, svg::svg(&figure, NAME).as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(&file))?;
    }
    Ok(Exit::Fine)
}

fn shown(args: &Curve, assessor: &mut Assessor) -> Result<Vec<Shown>, OperandError> {
    if args.of.len() > 1 {
        return Err(OperandError::Words("`--of power` shows all responses together and stands alone".to_owned()));
    }
    let mut shown = Vec::new();
    for (word, operand) in super::operands(args, assessor)? {
        match operand {
            Operand::Site(operand) => {
                let site = site(&operand)?;
                let held = devices(&operand, &site, operand.moment.unwrap_or(Moment::AsLeft), assessor)?;
                for held in held.into_iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter) {
                    shown.push(of_device(args, &held)?);
                }
            }
            Operand::Requirements(requirements) => {
                let Some(rated) = &args.rated else {
                    return Err(OperandError::Words(format!(
                        "`{word}` has no device; say what one is rated at, such as `--rated \"5 kVA\"`"
                    )));
                };
                let bare = no_site(rated, &args.source, args.nominal.as_deref())?;
                shown.push(of_device(args, &bare.as_required(&requirements, word)?)?);
            }
        }
    }
    if shown.is_empty() { Err(OperandError::Words(format!("no inverter in {}", args.files.join(", ")))) } else { Ok(shown) }
}

fn of_device(args: &Curve, held: &DeviceAtMoment<'_>) -> Result<Shown, OperandError> {
    let fall_of = args.fall_of.map(|of| match of {
        FallOf::Momentary => FrequencyBase::Momentary,
        FallOf::Rated => FrequencyBase::Rated,
    });
    let operating = Operating::of(held, fall_of)?;
    let given = |text: &Option<String>, dimension: Dimension, option: &str| -> Result<Option<f64>, OperandError> {
        let Some(text) = text else { return Ok(None) };
        let amount = dimension.parse(text).map_err(|slip| OperandError::Words(format!("{option}: {}; {}", slip.says, slip.help)))?;
        Ok(Some(amount.number.approximate()))
    };
    let nominally = operating.nominally();
    let available = given(&args.available, Dimension::ActivePower, "--available")?.unwrap_or(nominally.available);
    let frequency = given(&args.frequency, Dimension::Frequency, "--frequency")?.unwrap_or(nominally.frequency);
    let slip = |slip: settings_model::slip::Slip| OperandError::Words(format!("--at: {}; {}", slip.says, slip.help));
    let voltages = match &args.at {
        Some(at) => places(at, Dimension::Voltage, &held.facts).map_err(slip)?,
        None => operating.bends(),
    };
    Ok(Shown { operating, conditions: Conditions { frequency, available, ..nominally }, voltages })
}

impl Shown {
    fn points(&self) -> Vec<At> {
        self.operating.points(&self.conditions, &self.voltages)
    }

    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let width = render::width();
        render::title(out, "Power", "active and reactive power with all responses together")?;
        let ratings = self.operating.device.ratings;
        let available = match self.conditions.available {
            charging if charging < 0.0 => format!("it would charge with {}", Dimension::ActivePower.show(exact(-charging))),
            available => format!("{} available", Dimension::ActivePower.show(exact(available))),
        };
        let lead = format!(
            "{}: {} of {}; {}",
            self.operating.title,
            available,
            Dimension::ApparentPower.show(exact(ratings.apparent)),
            Dimension::Frequency.show(exact(self.conditions.frequency))
        );
        writeln!(out, "  {}", render::wrapped(&lead, width - 2, 2))?;
        writeln!(out, "\n{}", self.table(width))?;
        let granted = self.operating.granted(&self.conditions, self.points().into_iter().map(|at| at.point));
        if !granted.is_empty() {
            render::heading(out, "ASSUMED", "what nobody stated, and how it was reckoned")?;
        }
        for says in &granted {
            writeln!(out, "  - {}", render::wrapped(says, width - 4, 4))?;
        }
        Ok(())
    }

    fn table(&self, width: usize) -> String {
        let points = self.points();
        let has_cut = points.iter().any(|at| is_cut(&at.point));
        let has_memory = points.iter().any(|at| at.acted_before.is_some());
        let mut heading = vec!["Voltage", "Per unit", "Active", "Reactive", "Apparent", "Held by"];
        heading.extend(has_memory.then_some("Acted before"));
        heading.extend(has_cut.then_some("Reactive asked for"));
        let mut table = table::of_headings(heading.into_iter(), width);
        for At { voltage: volts, point, acted_before } in points {
            let per_unit = volts.divided_roughly(self.operating.nominal, 4).map_or_else(String::new, |pu| format!("{pu} pu"));
            let mut cells = vec![
                Dimension::Voltage.show(volts),
                per_unit,
                in_thousands(point.active, "kW"),
                in_thousands(point.reactive, "kvar"),
                in_thousands(point.apparent(), "kVA"),
                point.held_by.phrase().to_owned(),
            ];
            cells.extend(has_memory.then(|| acted_before.map_or("-", |acted| if acted { "yes" } else { "no" }).to_owned()));
            cells.extend(has_cut.then(|| if is_cut(&point) { in_thousands(point.reactive_asked, "kvar") } else { "-".to_owned() }));
            table.add_row(cells.iter().map(|cell| render::unbroken(cell)));
        }
        table::lines(&table, &[])
    }
}
