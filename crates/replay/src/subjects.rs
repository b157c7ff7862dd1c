//! Whose settings are played: those of each inverter of a site at a moment, or those that a requirement
//! asks of the same inverters.

use crate::held::{DeviceAtMoment, devices, relays};
use crate::standing::{self, SiteStanding};
use rules::assess::{Assessor, Books};
use rules::operand::{Moment, Operand, OperandError, RequirementsOperand, SiteOperand};
use settings_model::catalogue::Equipment;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Device, SiteFile};

/// A set of settings that is played.
pub struct Subject<'s> {
    /// Who holds them.
    pub held: DeviceAtMoment<'s>,
    /// The grid protection relays before it.
    pub relays: Vec<DeviceAtMoment<'s>>,
    /// How they stand to what the site is asked.
    pub standing: Option<SiteStanding>,
}

/// The device that requirements are played by where no site is named.
#[derive(Default)]
pub struct NoSite {
    device: Device<'static>,
    /// What is taken to be so.
    facts: Facts,
}

impl NoSite {
    /// A device of which these facts are taken to be so.
    #[must_use]
    pub fn of(facts: Facts) -> Self {
        Self { device: Device::default(), facts }
    }

    /// The device, holding what one region asks; `word` is how that was named.
    pub fn as_required(&self, requirements: &RequirementsOperand, word: &str) -> Result<DeviceAtMoment<'_>, OperandError> {
        let (title, books) = requirements.of_one_region(word)?;
        self.holding(title, books, word)
    }

    fn holding(&self, title: String, books: &Books, word: &str) -> Result<DeviceAtMoment<'_>, OperandError> {
        let book = books.on(Equipment::Inverter);
        let stated = self.facts.number(FactId::NominalVoltage);
        let Some(nominal) = stated.or(book.rulebook.nominal) else {
            let says = format!(
                "name a site first, with `--with {word}`, or state the nominal voltage (`--nominal`) for a scenario or a curve: {title} gives voltages per unit, and each site has a nominal voltage of its own"
            );
            return Err(OperandError::Words(says));
        };
        let mut facts = self.facts.clone();
        facts.set_number(FactId::NominalVoltage, nominal);
        let nobody = DeviceAtMoment {
            title: String::new(),
            name: "",
            device: &self.device,
            holding: None,
            region_stands: false,
            facts,
            asked: None,
            is_requirement: true,
        };
        Ok(nobody.as_required(title, book))
    }
}

/// Every set of settings that was named, in the order of the words. A requirement is played by the
/// inverters of the first site that is named, or by `bare` where none is: a device of which nothing is known.
pub fn subjects<'s>(
    operands: &[(&str, Operand)],
    sites: &'s [Option<SiteFile<'s>>],
    bare: &'s NoSite,
    assessor: &mut Assessor,
) -> Result<Vec<Subject<'s>>, OperandError> {
    let mut of_sites: Vec<Vec<Subject<'s>>> = Vec::new();
    for ((_, operand), site) in operands.iter().zip(sites) {
        of_sites.push(match (operand, site) {
            (Operand::Site(operand), Some(site)) => of_site(operand, site, assessor)?,
            _ => Vec::new(),
        });
    }
    let mut required = Vec::new();
    for (word, operand) in operands {
        required.push(match operand {
            Operand::Requirements(requirements) => of_requirements(requirements, word, of_sites.iter().find(|own| !own.is_empty()), bare)?,
            Operand::Site(_) => Vec::new(),
        });
    }
    Ok(of_sites.into_iter().zip(required).flat_map(|(own, required)| own.into_iter().chain(required)).collect())
}

fn of_site<'s>(operand: &SiteOperand, site: &'s SiteFile<'s>, assessor: &mut Assessor) -> Result<Vec<Subject<'s>>, OperandError> {
    let moment = operand.moment.unwrap_or(Moment::AsLeft);
    let held = devices(operand, site, moment, assessor)?;
    let relays = relays(site, moment, assessor);
    let standing = standing::of_site(operand, site, moment, assessor);
    let inverters = held.into_iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter);
    let titled = |held: DeviceAtMoment<'s>| DeviceAtMoment { title: titled(&held, moment), ..held };
    let subject = |held| Subject { held: titled(held), relays: relays.clone(), standing: Some(standing.clone()) };
    let subjects: Vec<Subject<'s>> = inverters.map(subject).collect();
    if !subjects.is_empty() {
        return Ok(subjects);
    }
    Err(OperandError::Words(match &operand.device {
        Some(device) => format!("{device} of {} is no inverter; a relay is played before the inverters of its site", site.site),
        None => format!("{} has no inverter", site.site),
    }))
}

/// Says which moment is meant where it is not the last.
fn titled(held: &DeviceAtMoment<'_>, moment: Moment) -> String {
    if moment == Moment::AsFound { format!("{}, as found", held.title) } else { held.title.clone() }
}

fn of_requirements<'s>(
    requirements: &RequirementsOperand,
    word: &str,
    site: Option<&Vec<Subject<'s>>>,
    bare: &'s NoSite,
) -> Result<Vec<Subject<'s>>, OperandError> {
    let (title, books) = requirements.of_one_region(word)?;
    let Some(site) = site else {
        return Ok(vec![Subject { held: bare.holding(title, books, word)?, relays: Vec::new(), standing: None }]);
    };
    let book = books.on(Equipment::Inverter);
    let as_required = |subject: &Subject<'s>| {
        let held = subject.held.as_required(format!("{title}, as required of {}", subject.held.name), book);
        let relays = subject.relays.iter().map(|relay| relay.as_required(relay.title.clone(), books.on(Equipment::GridProtectionRelay)));
        Subject { standing: standing::of_requirement(&held, &subject.held), relays: relays.collect(), held }
    };
    Ok(site.iter().map(as_required).collect())
}
