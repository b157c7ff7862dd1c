//! A choice with everything worked out that does not depend on where the sliders stand.

use super::choices::{Choice, Of};
use super::reasons::Reasons;
use plot::figure::Figure;
use replay::held::{DeviceAtMoment, devices, site};
use replay::subjects::NoSite;
use response::characteristic::RESPONSES;
use rules::assess::Assessor;
use rules::operand::{Operand, OperandError, requirements};
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::quantity::Dimension;
use std::cell::RefCell;
use std::rc::Rc;
use views::curve::picture::figure;
use views::curve::series::Shown;
use views::curve::subjects;
use views::given;
use views::operating::Operating;
use views::trip_map::map::{Map, maps};

/// A choice, ready to be shown at any position.
pub struct Loaded {
    /// Its title in the list.
    pub title: String,
    /// Under what it stands, or as what it is shown.
    pub under: String,
    /// What it gives.
    pub operating: Operating,
    /// Each response of which something is required or held.
    pub curves: Vec<Drawn>,
    /// Of voltage and of frequency.
    pub maps: Vec<Map>,
    /// Whose figure each function holds.
    pub reasons: Reasons,
    /// The picture of power, at one frequency and with one power available.
    pub power: RefCell<Option<([f64; 2], Rc<Figure>)>>,
}

/// A response and its picture.
pub struct Drawn {
    /// The response.
    pub shown: Shown,
    /// Its picture.
    pub figure: Figure,
}

/// The device that stands for requirements, as options of the command line write it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RatedInverter {
    /// What it is rated at, such as `5 kVA`.
    pub rated: String,
    /// What it is fed from, as files name it.
    pub source: String,
    /// The nominal voltage that it is on, such as `240 V`, where somebody said so.
    pub nominal: Option<String>,
}

/// Works a choice out.
pub fn load(choice: &Choice, asked: &RatedInverter, assessor: &mut Assessor) -> Result<Loaded, OperandError> {
    let loaded = match &choice.of {
        Of::Requirements(word) => of_requirements(word, asked, assessor),
        Of::Device { site: file, device, moment } => {
            let operands = [(file.name.as_str(), Operand::Site(file.operand(device, *moment)))];
            let operand = file.operand(device, *moment);
            let site = site(&operand)?;
            let held = devices(&operand, &site, *moment, assessor)?;
            let held = held.first().ok_or_else(|| OperandError::Words(format!("{} has no device `{device}`", site.site)))?;
            let under = held.asked.as_ref().map_or_else(
                || "Its requirements cannot be told: `asleft check SITE` says why.".to_owned(),
                |(book, _)| format!("Under {}.", rules::phrase::under(&book.rulebook)),
            );
            worked_out(under, held, &operands, None, assessor)
        }
    };
    loaded.map(|loaded| Loaded { title: choice.title.clone(), ..loaded })
}

fn of_requirements(word: &str, asked: &RatedInverter, assessor: &mut Assessor) -> Result<Loaded, OperandError> {
    let operands = [(word, Operand::Requirements(requirements(word, assessor)?))];
    let Operand::Requirements(requirements) = &operands[0].1 else { unreachable!("just put there") };
    let bare = no_site(&operands[0].1, word, asked)?;
    let held = bare.as_required(requirements, word)?;
    let nominal = held.facts.number(FactId::NominalVoltage);
    let usual = usual_volts(&operands[0].1, word)?.filter(|_| asked.nominal.is_none());
    let under = format!(
        "Shown as a device of {} fed from {} on {} to neutral{}, which holds what is required and nothing else.",
        asked.rated,
        asked.source.replace('-', " "),
        Dimension::Voltage.show(nominal.unwrap_or_default()),
        usual.map_or("", |_| " (the standard leaves it to each site; the usual one is used, from memory)")
    );
    worked_out(under, &held, &operands, nominal, assessor)
}

/// The device that stands for a requirement; where the standard leaves it open, on the usual voltage.
pub fn no_site(operand: &Operand, word: &str, asked: &RatedInverter) -> Result<NoSite, OperandError> {
    given::no_site(&asked.rated, &asked.source, asked.nominal.as_deref().or(usual_volts(operand, word)?))
}

/// The usual voltage from line to neutral where a standard leaves it to each site; from memory: IEC 60038 has
/// 230 V for 50 Hz, and 120 V of 120/240 V for 60 Hz.
fn usual_volts(operand: &Operand, word: &str) -> Result<Option<&'static str>, OperandError> {
    let Operand::Requirements(requirements) = operand else { return Ok(None) };
    let rulebook = &requirements.of_one_region(word)?.1.on(Equipment::Inverter).rulebook;
    let usual = if rulebook.nominal_frequency == Some(Exact::from(60)) { "120 V" } else { "230 V" };
    Ok(rulebook.nominal.is_none().then_some(usual))
}

fn worked_out(
    under: String,
    held: &DeviceAtMoment<'_>,
    operands: &[(&str, Operand); 1],
    nominal: Option<Exact>,
    assessor: &mut Assessor,
) -> Result<Loaded, OperandError> {
    let operating = Operating::of(held, None)?;
    let [(word, operand)] = operands;
    let maps = maps(operand, word, &[Dimension::Voltage, Dimension::Frequency], nominal, assessor)?;
    let mut curves = Vec::new();
    for response in &RESPONSES {
        let subjects = subjects::of_all(response, operands, nominal, assessor)?;
        if !subjects.is_empty() {
            let shown = Shown::new(response, subjects, None).map_err(|slip| OperandError::Words(slip.says))?;
            curves.push(Drawn { figure: figure(&shown), shown });
        }
    }
    Ok(Loaded { title: operating.title.clone(), under, reasons: Reasons::of(held), operating, curves, maps, power: RefCell::default() })
}
