//! From a site's file to a network of cables and inverters, with all that is missing for it.

use replay::acting::{Play, Values, acting, is_of_volt_watt, left_out, taken_for_granted};
use replay::held::DeviceAtMoment;
use response::device::Unclear;
use response::network::{Cable as Way, Feeds, Impedance, Network, Placed};
use rules::percentages::unverified_percentages;
use rules::rise::{Begins, feeds, impedance};
use settings_model::catalogue::Equipment;
use settings_model::conductors::ConductorRow;
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::files::{Cable, CablePart, PhaseName, SiteFile};

/// A site's cables and inverters.
pub struct Plan<'s> {
    /// Nominal voltage, line to neutral, in volts.
    pub nominal: Exact,
    /// Nominal frequency, in hertz.
    pub nominal_frequency: f64,
    /// Phases of the supply.
    pub phases: usize,
    /// Cables, in the order of the file.
    pub cables: Vec<Laid<'s>>,
    /// Inverters, in the order of the file.
    pub inverters: Vec<Inverter<'s>>,
    /// The same as a network, each inverter with its answers.
    pub network: Network,
    /// What has to be taken for granted; of an inverter, with its name.
    pub granted: Vec<Granted<'s>>,
    /// Where the limits begin; `None` where no requirement says so.
    pub begins: Option<Begins>,
}

/// Something that nobody stated, and how it was reckoned.
#[derive(Clone)]
pub struct Granted<'s> {
    /// The inverter that it is about.
    pub of: Option<&'s str>,
    /// How it was reckoned.
    pub says: String,
}

impl<'s> Granted<'s> {
    fn site(says: impl Into<String>) -> Self {
        Self { of: None, says: says.into() }
    }

    /// About one inverter.
    pub fn of(inverter: &'s str, says: impl Into<String>) -> Self {
        Self { of: Some(inverter), says: says.into() }
    }
}

/// A cable and what its impedance was taken from.
pub struct Laid<'s> {
    /// Its name in the file.
    pub name: &'s str,
    /// What the file states.
    pub cable: &'s Cable<'s>,
    /// What was stated of its conductors.
    pub conductor: String,
    /// Where the figure was found, where the program brought it: document and how sure it is.
    pub from: Option<&'static ConductorRow>,
    /// Whether its reactance is known.
    has_reactance: bool,
    counts: bool,
}

impl Laid<'_> {
    /// Whether its rise counts towards a limit.
    pub fn counts(&self) -> bool {
        self.counts
    }
}

/// An inverter.
pub struct Inverter<'s> {
    /// Its name in the file.
    pub name: &'s str,
    /// Onto which phases it feeds.
    pub feeds: Feeds,
    /// Current of one phase at rated apparent power and nominal voltage, in amperes.
    pub current: f64,
    /// Its limit on the 10-minute average, in volts.
    pub limit: Option<f64>,
    /// Whether which kind of power comes first is not known.
    pub has_no_priority: bool,
    /// Whether volt-watt may act, and nobody knows how.
    pub has_unknown_volt_watt: bool,
}

impl Inverter<'_> {
    /// `L2`, or `all`; nothing on a supply of one phase.
    pub fn on(&self, phases: usize) -> String {
        match self.feeds {
            Feeds::Three => "all".to_owned(),
            Feeds::One(_) if phases == 1 => String::new(),
            Feeds::One(phase) => format!("L{}", phase + 1),
        }
    }
}

/// The plan of a site, or all that is missing for one.
///
/// # Errors
/// What is not stated, one phrase each.
pub fn plan<'s>(site: &'s SiteFile<'s>, held: &[DeviceAtMoment<'s>], begins: Option<Begins>) -> Result<Plan<'s>, Vec<String>> {
    let mut missing = Vec::new();
    let inverters: Vec<&DeviceAtMoment<'s>> = held.iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter).collect();
    let Some(first) = inverters.first() else { return Err(vec!["the site has no inverter".to_owned()]) };
    let nominal = first.facts.number(FactId::NominalVoltage).unwrap_or(Exact::from(230));
    let phases = first.facts.number(FactId::Phases);
    if phases.is_none() {
        missing.push("how many phases the supply has: `phases` under `supply`".to_owned());
    }
    let phases = phases.map_or(1, |phases| phases.approximate() as usize);
    if site.cables.0.is_empty() {
        missing.push("the cables from the point of supply to each inverter: `cables`".to_owned());
    }
    let mut plan = Plan {
        nominal,
        nominal_frequency: first.nominal_frequency(),
        phases,
        cables: Vec::new(),
        inverters: Vec::new(),
        network: Network::default(),
        granted: Vec::new(),
        begins,
    };
    for (name, cable) in site.cables.iter() {
        plan.lay(site, name, cable, &mut missing);
    }
    for held in &inverters {
        plan.place(site, held, &mut missing);
    }
    plan.three_phases_behind_one(&mut missing);
    if missing.is_empty() {
        plan.say_what_is_granted();
        return Ok(plan);
    }
    Err(missing)
}

impl<'s> Plan<'s> {
    fn lay(&mut self, site: &'s SiteFile<'s>, name: &'s str, cable: &'s Cable<'s>, missing: &mut Vec<String>) {
        let behind = cable.behind.as_ref().and_then(|behind| site.cables.iter().position(|(name, _)| name == &**behind));
        let (impedance, conductor, from) = match impedance(cable) {
            Ok(known) => known,
            Err(lacks) => {
                missing.push(format!("`{name}` under `cables`: {lacks}"));
                (Impedance::default(), String::new(), None)
            }
        };
        let has_reactance = impedance.reactance > 0.0;
        self.network.cables.push(Way { behind, line: impedance, neutral: impedance });
        // where nobody says where the limit begins, the service line counts: the stricter reading
        let counts = self.begins.unwrap_or(Begins::DistributionMain).counts(cable.part);
        self.cables.push(Laid { name, cable, conductor, from, has_reactance, counts });
    }

    fn place(&mut self, site: &'s SiteFile<'s>, held: &DeviceAtMoment<'s>, missing: &mut Vec<String>) {
        let name = held.name;
        let cable = site.cables.iter().position(|(_, cable)| cable.feeds.iter().any(|fed| &**fed == name));
        if cable.is_none() && !site.cables.0.is_empty() {
            missing.push(format!("the cable that ends at `{name}`: name it under `feeds` of one"));
        }
        let feeds = feeds(held.device, self.phases);
        match (feeds, held.device.phases()) {
            (None, Some(1)) => missing.push(format!("on which phase `{name}` sits: `on-phase`")),
            (None, Some(phases)) if phases > 1 => {
                missing.push(format!("a way to reckon with {phases} phases of `{name}` on a supply of {}", self.phases));
            }
            (None, _) => missing.push(format!("how many phases `{name}` feeds: `phases`")),
            (Some(Feeds::One(phase)), _) if phase >= self.phases => {
                let phase = [PhaseName::L1, PhaseName::L2, PhaseName::L3][phase];
                missing.push(format!("a phase {phase:?} on a supply of {}: `on-phase` of `{name}`", self.phases));
            }
            _ => {}
        }
        let acting = acting(held, None);
        let has_unknown_volt_watt = acting.has_unknown_volt_watt();
        let Some(device) = acting.device else {
            missing.push(format!("the rating of `{name}`: `nameplate`"));
            return;
        };
        let feeds = feeds.unwrap_or(Feeds::One(0));
        let phases = if feeds == Feeds::Three { 3.0 } else { 1.0 };
        if acting.as_required {
            self.granted.push(Granted::of(name, "nothing is recorded of it; it is assumed to be set as required"));
        }
        let of_device =
            acting.unclear.iter().filter(|unclear| !matches!(unclear, Unclear::Priority | Unclear::FrequencyBase | Unclear::LockIn(_)));
        self.granted.extend(of_device.map(|unclear| Granted::of(name, taken_for_granted(unclear))));
        self.granted.extend(left_out(&Values::or_as_required(held), Play::Moment).into_iter().map(|says| Granted::of(name, says)));
        if has_unknown_volt_watt && !acting.unclear.iter().any(is_of_volt_watt) {
            self.granted.push(Granted::of(name, "whether volt-watt acts is not stated; it is assumed not to"));
        }
        let unverified = held.asked.as_ref().and_then(|(book, _)| unverified_percentages(&book.rulebook));
        self.granted.extend(unverified.map(|says| Granted::of(name, says)));
        self.inverters.push(Inverter {
            name,
            feeds,
            current: device.ratings.apparent / phases / self.nominal.approximate(),
            limit: acting.sustained_limit,
            has_unknown_volt_watt,
            has_no_priority: acting.unclear.contains(&Unclear::Priority),
        });
        self.network.inverters.push(Placed { device, cable, feeds });
    }

    /// A cable of one phase carries none of three, and none of two different ones.
    fn three_phases_behind_one(&self, missing: &mut Vec<String>) {
        for (index, laid) in self.cables.iter().enumerate().filter(|(_, laid)| laid.cable.phases == Some(1)) {
            let behind = self.network.inverters.iter().filter(|placed| self.network.path(placed.cable).contains(&index));
            let mut fed: Vec<Feeds> = behind.map(|placed| placed.feeds).collect();
            fed.dedup();
            if fed.len() > 1 || fed.contains(&Feeds::Three) {
                missing.push(format!("`{}` under `cables`: three `phases`, as inverters of several sit behind it", laid.name));
            }
        }
    }

    fn say_what_is_granted(&mut self) {
        let without: Vec<&str> = self.cables.iter().filter(|laid| !laid.has_reactance).map(|laid| laid.name).collect();
        if !without.is_empty() {
            let names = if without.len() == self.cables.len() { "any cable".to_owned() } else { without.join(", ") };
            self.granted.push(Granted::site(format!(
                "reactance is not stated of {names}; none is counted, so absorbing reactive power lowers the voltage less here than on site"
            )));
        }
        if self.phases > 1 && self.inverters.iter().any(|inverter| inverter.feeds != Feeds::Three) {
            self.granted.push(Granted::site("a neutral is assumed to be as its line conductors"));
        }
        if self.phases > 1 && self.inverters.iter().any(|inverter| inverter.feeds == Feeds::Three) {
            self.granted.push(Granted::site("a three-phase inverter is assumed to watch the highest of its phases"));
        }
        let limits = self.network.inverters.iter().filter(|placed| placed.device.export_limit.is_some()).count();
        if limits > 0 && self.inverters.len() > 1 {
            self.granted.push(Granted::site("inverters under an export limit are assumed to reduce output by the same share"));
        }
        if self.network.has_memory() {
            let says = "reactive power that begins to act at one place and ends at another: rows say what came before where that decides; otherwise it is assumed not to have acted before";
            self.granted.push(Granted::site(says));
        }
        if self.begins.is_none() && self.cables.iter().any(|laid| laid.cable.part == CablePart::Service) {
            let says = "no requirement says where the rise is counted from; the service line is counted too";
            self.granted.push(Granted::site(says));
        }
        self.granted.push(Granted::site("the site is assumed to use nothing itself, which is the worst case"));
        let unknown = self.inverters.iter().filter(|inverter| inverter.limit.is_none());
        self.granted.extend(unknown.map(|inverter| Granted::of(inverter.name, "its limit on the 10-minute average is not known")));
    }

    /// The documents that the program's own conductor figures are from, each once.
    pub fn documents(&self) -> Vec<String> {
        let mut documents: Vec<String> =
            self.cables.iter().filter_map(|laid| laid.from).map(|row| format!("{} ({})", row.document(), row.basis().column())).collect();
        documents.dedup();
        documents.sort();
        documents.dedup();
        documents
    }
}
