//! `asleft rise`: how far the voltage rises along a site's cables, and where its inverters settle.

mod figures;
mod people;
mod picture;
mod programs;
mod settling;
mod site;

use super::operand::{Moment, SiteOperand, write_fault};
use super::{assessor, refused, site_tree_with};
use crate::args::{Format, Rise};
use crate::render;
use crate::report::layers;
use crate::report::rise::RiseReport;
use crate::walk::write_messages;
use crate::{Exit, files};
use figures::{Figures, Limited, figures};
use plot::{braille, svg};
use replay::held::devices;
use response::operating_point::Cap;
use rules::assess::Assessment;
use rules::provenance::{Standing, Verdict};
use rules::rise;
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::SiteFile;
use settings_model::quantity::Dimension;
use settings_model::reader;
use settling::{Begins, Row};
use site::{Granted, Plan, plan};
use std::io::{self, Write};
use views::curve::places;

/// All that is told of a site.
pub struct RiseStudy<'s> {
    /// The site's own name.
    pub site: &'s str,
    /// The file it was read from.
    pub file: String,
    /// What it came to under its requirements.
    pub assessment: &'s Assessment<'s>,
    /// The day asked about.
    pub day: jiff::civil::Date,
    /// Cables and inverters.
    pub plan: Plan<'s>,
    /// The rise at rated current.
    pub figures: Figures,
    /// Where each inverter begins to give way.
    pub begins: Vec<Begins>,
    /// Where the inverters settle, if a supply voltage was given.
    pub rows: Vec<Row>,
    /// What the site states of its own figures otherwise than they are worked out here.
    pub stated: Vec<String>,
}

impl RiseStudy<'_> {
    /// What it came to: the worst of what is limited.
    pub fn verdict(&self) -> Verdict {
        let of = |verdict| self.figures.limited.iter().any(|limited| limited.verdict == verdict);
        [Verdict::DoesNotComply, Verdict::NotProven].into_iter().find(|verdict| of(*verdict)).unwrap_or(Verdict::Complies)
    }

    /// Whether a licensed copy contradicts a limit.
    fn is_disputed(&self) -> bool {
        self.figures.limited.iter().any(|limited| limited.basis == Some(Standing::Disputed))
    }

    /// How the figures are known that decide it: of a rise the least sure of its limit and its conductors,
    /// of several within their limits the least sure, of several above them the surest.
    pub fn decided_by(&self) -> Option<Standing> {
        let conductors = self.plan.cables.iter().filter_map(|laid| laid.from).map(|row| row.basis()).max();
        let known = |limited: &Limited| limited.basis.max(conductors);
        let of_all = || self.figures.limited.iter();
        match self.verdict() {
            Verdict::DoesNotComply => of_all().filter(|limited| limited.verdict == Verdict::DoesNotComply).map(known).min().flatten(),
            Verdict::Complies => of_all().map(known).max().flatten(),
            Verdict::NotProven => self.is_disputed().then_some(Standing::Disputed),
            Verdict::CouldNotTell => None,
        }
    }

    /// What had to be taken for granted, each once: of several inverters, with all their names.
    pub fn granted(&self) -> Vec<String> {
        let mut granted = self.plan.granted.clone();
        let settled = |n: usize| self.rows.iter().filter_map(move |row| row.settled.as_ref().ok()).map(move |settled| settled[n]);
        for (n, inverter) in self.plan.inverters.iter().enumerate().filter(|(_, inverter)| inverter.has_no_priority) {
            if settled(n).any(|settled| settled.point.held_by == Cap::ReactivePower) {
                let says = "which kind of power comes first at full apparent power is not stated; reactive power is assumed to come first";
                granted.push(Granted::of(inverter.name, says));
            }
        }
        let mut told: Vec<String> = Vec::new();
        for (n, one) in granted.iter().enumerate().filter(|(n, one)| !granted[..*n].iter().any(|earlier| earlier.says == one.says)) {
            let of: Vec<&str> = granted[n..].iter().filter(|other| other.says == one.says).filter_map(|other| other.of).collect();
            told.push(match &of[..] {
                [] => one.says.clone(),
                [_, _, ..] if of.len() == self.plan.inverters.len() => format!("every inverter: {}", one.says),
                names => format!("{}: {}", names.join(", "), one.says),
            });
        }
        let documents = self.plan.documents();
        if !documents.is_empty() {
            told.push(format!("conductors are as recalled from {}: compare them with a licensed copy", documents.join(", ")));
        }
        told.push("the simple method fixes the current at rated and counts the whole impedance of a cable, |Z|; by phasors, rated power is fixed and the point of supply is at nominal voltage".to_owned());
        told.push("percentages are rounded to 0.001 % before they are held against a limit".to_owned());
        told
    }
}

/// Works out the rise of a site, and where its inverters settle.
pub fn run(args: &Rise) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let Some(root) = site_tree_with(&args.site, &args.filled, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    let operand = SiteOperand { root, device: None, moment: None };
    let site: SiteFile<'_> = reader::typed(&operand.root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
    let assessment = assessor.assess(&site);
    if assessment.book.is_none() {
        write_messages(&rules::wording::findings(&assessment, &operand.root), &assessor.sources)?;
        return Ok(Exit::CouldNotTell);
    }
    let held = match devices(&operand, &site, Moment::AsLeft, &mut assessor) {
        Ok(held) => held,
        Err(fault) => return write_fault(fault, &assessor),
    };
    if let Some(off) = args.off.iter().find(|off| !held.iter().any(|held| held.name == **off)) {
        let names: Vec<&str> = held.iter().map(|held| held.name).collect();
        return refused(&format!("--off: {} has no device `{off}`; it has {}", site.site, names.join(", ")));
    }
    let facts = held.first().map(|held| held.facts.clone()).unwrap_or_default();
    let held: Vec<_> = held.into_iter().filter(|held| !args.off.iter().any(|off| off == held.name)).collect();
    let (supplies, shares) = match (asked_places(args.supply.as_deref(), Dimension::Voltage, &facts), shares(args)) {
        (Ok(supplies), Ok(shares)) => (supplies, shares),
        (Err(says), _) | (_, Err(says)) => return refused(&says),
    };
    let mut out = terminal::stdout();
    let whole = assessment.devices.iter().find(|device| device.kind == Equipment::Installation);
    let begins = whole.and_then(|whole| rise::Begins::asked(&whole.counted.requirement));
    let plan = match plan(&site, &held, begins) {
        Ok(plan) => plan,
        Err(missing) => {
            match args.format {
                Format::Json => {
                    write_json(&mut out, &RiseReport::not_proven(&site.title(), &assessor.today, layers(&assessment), missing))?;
                }
                Format::Text => people::write_missing(&mut out, &site.title(), &args.site, &missing)?,
            }
            return Ok(Exit::NotFine);
        }
    };
    let figures = figures(&plan, &site, &assessment, &mut assessor);
    let begins = settling::begins(&plan);
    let each = supplies.iter().flat_map(|supply| shares.iter().rev().map(move |share| [supply.approximate(), share.approximate()]));
    let rows = each.flat_map(|[supply, share]| settling::rows(&plan, supply, share)).collect();
    let stated = stated_otherwise(&site, &figures);
    let title = site.title();
    let told = RiseStudy {
        site: &title,
        file: terminal::path(&args.site),
        assessment: &assessment,
        day: assessor.today,
        plan,
        figures,
        begins,
        rows,
        stated,
    };
    match args.format {
        Format::Json => write_json(&mut out, &programs::report(&told))?,
        Format::Text => {
            people::write(&mut out, &told)?;
            if !args.drawing.no_plot {
                let plot = braille::plot(&picture::figure(&told, &supplies), render::width(), PLOT_LINES, render::colour());
                writeln!(out, "\n{}", plot.trim_end())?;
            }
        }
    }
    if let Some(file) = &args.drawing.svg {
        files::write_whole(file, svg::svg(&picture::figure(&told, &supplies), "rise").as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(file))?;
    }
    Ok(if told.verdict() == Verdict::Complies { Exit::Fine } else { Exit::NotFine })
}

/// Lines that the plot takes on a terminal.
const PLOT_LINES: usize = 16;

fn write_json(out: &mut dyn Write, report: &RiseReport) -> io::Result<()> {
    render::json(&mut *out, report)
}

fn asked_places(text: Option<&str>, dimension: Dimension, facts: &Facts) -> Result<Vec<Exact>, String> {
    let Some(text) = text else { return Ok(Vec::new()) };
    let found = places::places(text, dimension, facts).map_err(|slip| format!("--supply: {}; {}", slip.says, slip.help))?;
    let nominal = facts.number(FactId::NominalVoltage).map(Exact::approximate);
    let is_sound =
        |volts: &Exact| *volts > Exact::ZERO && nominal.is_none_or(|nominal| OF_A_SUPPLY.contains(&(volts.approximate() / nominal)));
    match found.iter().find(|volts| !is_sound(volts)) {
        None => Ok(found),
        Some(volts) if *volts <= Exact::ZERO => Err("--supply: a supply voltage is above zero".to_owned()),
        Some(volts) => Err(format!("--supply: {volts} V is no voltage of a {} V supply", nominal.unwrap_or_default())),
    }
}

/// Where the voltage of a supply in service lies, in parts of the nominal one: beyond that somebody mistyped (common
/// practice, no source).
const OF_A_SUPPLY: std::ops::RangeInclusive<f64> = 0.5..=1.5;

fn shares(args: &Rise) -> Result<Vec<Exact>, String> {
    let shares = places::places(&args.output, Dimension::Percent, &Facts::default());
    let shares = shares.map_err(|slip| format!("--output: {}; {}", slip.says, slip.help))?;
    let is_sound = |share: &Exact| *share > Exact::ZERO && *share <= Exact::HUNDRED;
    if shares.iter().all(is_sound) { Ok(shares) } else { Err("--output: shares of full output lie above 0 % and up to 100 %".to_owned()) }
}

/// Where the site's file states a figure that comes out otherwise here.
fn stated_otherwise(site: &SiteFile<'_>, figures: &Figures) -> Vec<String> {
    use settings_model::claim::Part;
    // a stated figure may be rounded to a tenth
    let near = Exact::new(5, 2);
    let differs = |limited: &figures::Limited| {
        let stated = site.installation.0.get(limited.setting)?.value.part(Part::Whole)?.number;
        let differs = limited.percent.is_none_or(|percent| (stated - percent).abs() > near);
        differs.then(|| {
            let says = format!(
                "the site's file states {stated} % for {}; {} % comes out here",
                limited.setting.parameter().title,
                limited.percent()
            );
            match limited.is_stated_beyond {
                true => format!("{says}. Compare the cables with what was laid, then state the figure that is right"),
                false => says,
            }
        })
    };
    figures.limited.iter().filter_map(differs).collect()
}
