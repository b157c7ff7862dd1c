//! The rise at rated current against its limit: cable by cable, and to each inverter.

use super::site::Plan;
use response::device::Device;
use response::network::settle::SupplyConditions;
use response::network::{Feeds, Impedance, Network};
use response::operating_point::Conditions;
use response::supply::NoPoint;
use rules::assess::{Assessment, Assessor, request};
use rules::departures::{Departure, departures, of_device};
use rules::judge::{DeviceSettings, UnmetClaim, UnmetKind, judge};
use rules::phrase::{origin, within};
use rules::provenance::{Standing, Verdict, standing};
use rules::rise::{is_before_switchboard, percent};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Claim, Limit, Part};
use settings_model::exact::Exact;
use settings_model::files::SiteFile;
use settings_model::quantity::Amount;
use settings_model::settings::{Known, Settings};
use settings_model::value::Value;

pub use rules::rise::{CONSUMER_MAINS, TOTAL};

/// The rise of a site at rated current.
pub struct Figures {
    /// Along each cable: current of the phase that carries most, in amperes, and the greatest rise, in volts.
    pub cables: Vec<(f64, f64)>,
    /// To each inverter.
    pub inverters: Vec<Rise>,
    /// What is limited: the figure, and what became of it.
    pub limited: Vec<Limited>,
}

/// The rise to one inverter, in volts between phase and neutral; the network's own line is not counted.
pub struct Rise {
    /// By the simple method: current fixed.
    pub simple: f64,
    /// By phasors: power fixed, all inverters at their rating without reactive power, the point of supply at nominal.
    pub exact: Result<f64, NoPoint>,
    /// As far as the switchboard, by the simple method.
    pub to_switchboard: f64,
    /// Both with resistance and reactance each for itself, at the power factor of rated output.
    pub by_parts: [f64; 2],
    /// By the simple method, with those inverters off that would lower it: on other phases they take
    /// its current out of the neutral.
    pub others_off: f64,
}

/// A figure of the installation and its limit.
pub struct Limited {
    /// Which figure.
    pub setting: SettingId,
    /// Volts, by the simple method, of the inverter where it is greatest.
    pub volts: f64,
    /// Per cent of the nominal voltage, to a thousandth where it is small enough for that, as it is held
    /// against the limit; `None` where there is no such number.
    pub percent: Option<Exact>,
    /// What complies, in words, and who says so; `None` where nobody limits it.
    pub asked: Option<(String, String)>,
    /// How the limit is known.
    pub basis: Option<Standing>,
    /// What it came to; not proven where nobody at hand says what complies, where a licensed copy contradicts the
    /// limit, or where the site's file states a figure that breaks it.
    pub verdict: Verdict,
    /// The site's file states a figure that breaks the limit, and the cables lead to one that keeps it.
    pub is_stated_beyond: bool,
    /// The same with resistance and reactance each for itself, R cos φ + X sin φ.
    pub by_parts: ByParts,
    /// Other bases that the trade counts from, under which it would be judged otherwise.
    pub otherwise: Vec<(String, f64)>,
}

/// A figure with resistance and reactance each for itself, at the power factor that each inverter has at
/// rated output and nominal voltage.
pub struct ByParts {
    /// Volts, of the inverter where it is greatest.
    pub volts: f64,
    /// Per cent of the nominal voltage.
    pub percent: Option<Exact>,
    /// What it would come to.
    pub verdict: Verdict,
}

impl Limited {
    /// Its per cent in words.
    pub fn percent(&self) -> String {
        self.percent.map_or_else(|| "more than can be told in".to_owned(), |percent| percent.to_string())
    }
}

/// Works out the rise of a plan and holds it against what the site's requirements ask.
pub fn figures(plan: &Plan<'_>, site: &SiteFile<'_>, assessment: &Assessment<'_>, assessor: &mut Assessor) -> Figures {
    let currents: Vec<f64> = plan.inverters.iter().map(|inverter| inverter.current).collect();
    let parts: Vec<[f64; 2]> = (0..currents.len()).map(|n| leaning(plan, n).map(|part| part * currents[n])).collect();
    let exact = exact(plan);
    let mut cables = vec![(0.0, 0.0); plan.cables.len()];
    let mut inverters = Vec::new();
    for (n, exact) in exact.into_iter().enumerate() {
        let mut rise = Rise { simple: 0.0, exact, to_switchboard: 0.0, by_parts: [0.0; 2], others_off: others_off(plan, n, &currents) };
        for (cable, volts) in plan.network.simple_rise(n, &currents) {
            let laid = &plan.cables[cable];
            let current = (0..3).map(|phase| plan.network.simple_current(cable, phase, &currents)).fold(0.0, f64::max);
            cables[cable] = (current, f64::max(cables[cable].1, volts));
            if laid.counts() {
                rise.simple += volts;
            }
            if laid.counts() && is_before_switchboard(laid.cable.part) {
                rise.to_switchboard += volts;
            }
        }
        for (cable, volts) in plan.network.rise_by_parts(n, &parts).into_iter().filter(|(cable, _)| plan.cables[*cable].counts()) {
            rise.by_parts[0] += volts;
            rise.by_parts[1] += if is_before_switchboard(plan.cables[cable].cable.part) { volts } else { 0.0 };
        }
        inverters.push(rise);
    }
    let greatest = |of: fn(&Rise) -> f64| inverters.iter().map(of).fold(0.0, f64::max);
    let volts = [
        (TOTAL, [greatest(|rise| rise.simple), greatest(|rise| rise.by_parts[0])]),
        (CONSUMER_MAINS, [greatest(|rise| rise.to_switchboard), greatest(|rise| rise.by_parts[1])]),
    ];
    let limited = limited(plan, &volts, site, assessment, assessor);
    Figures { cables, inverters, limited }
}

/// How the current of an inverter parts at rated output and nominal voltage: in phase with the voltage, and
/// ahead of it where it absorbs; as shares.
fn leaning(plan: &Plan<'_>, inverter: usize) -> [f64; 2] {
    let device = &plan.network.inverters[inverter].device;
    let nominally = Conditions {
        voltage: plan.nominal.approximate(),
        frequency: plan.nominal_frequency,
        available: device.ratings.active,
        load: f64::INFINITY, // no export limit is in the way of rated output
    };
    let point = device.at(&nominally);
    if point.apparent() > 0.0 { [point.active, -point.reactive].map(|part| part / point.apparent()) } else { [1.0, 0.0] }
}

/// Currents add up, so each of the others raises an inverter or lowers it by itself.
fn others_off(plan: &Plan<'_>, inverter: usize, currents: &[f64]) -> f64 {
    let by = |other: usize| -> f64 {
        let mut alone = vec![0.0; currents.len()];
        alone[other] = currents[other];
        let along = plan.network.simple_rise(inverter, &alone);
        along.into_iter().filter(|(cable, _)| plan.cables[*cable].counts()).map(|(_, volts)| volts).sum()
    };
    (0..currents.len()).map(by).filter(|volts| *volts > 0.0).sum()
}

/// The rise to each inverter with all at their ratings and the point of supply at nominal.
fn exact(plan: &Plan<'_>) -> Vec<Result<f64, NoPoint>> {
    let mut network: Network = plan.network.clone();
    for (way, _) in network.cables.iter_mut().zip(&plan.cables).filter(|(_, laid)| !laid.counts()) {
        (way.line, way.neutral) = (Impedance::default(), Impedance::default());
    }
    for placed in &mut network.inverters {
        let ratings = placed.device.ratings;
        placed.device = Device { ratings, ..Device::bare(ratings.apparent) };
    }
    let nominal = plan.nominal.approximate();
    let available: Vec<f64> = network.inverters.iter().map(|placed| placed.device.ratings.active).collect();
    match network.settle(&SupplyConditions { voltage: nominal, frequency: plan.nominal_frequency, load: 0.0 }, &available) {
        Ok(settlement) => settlement.inverters.iter().map(|settled| Ok(settled.voltage - nominal)).collect(),
        Err(no) => vec![Err(no); plan.inverters.len()],
    }
}

fn limited(
    plan: &Plan<'_>,
    volts: &[(SettingId, [f64; 2])],
    site: &SiteFile<'_>,
    assessment: &Assessment<'_>,
    assessor: &mut Assessor,
) -> Vec<Limited> {
    let nominal = plan.nominal.approximate();
    let books = assessor.books(request(site), &assessment.facts).ok();
    let book = books.as_ref().map(|books| books.on(Equipment::Installation));
    let own: Vec<Departure> = book.map_or_else(Vec::new, |book| {
        let all = departures(site, &book.rulebook, assessor.today, &mut Vec::new());
        of_device(&all, (rules::installation::NAME, Equipment::Installation), book, &assessment.facts, &mut Vec::new())
    });
    let laid: Vec<_> = own.iter().map(|d| (d.setting, d.verbs.clone())).collect();
    let counted = book.map(|book| (book, book.requirement(&assessment.facts, &laid)));
    let asked = |setting: SettingId| counted.as_ref().and_then(|(book, counted)| Some((book, counted.requirement.get(setting)?)));
    let keeps = |setting: SettingId, figure: Exact| {
        let Some((_, counted)) = &counted else { return true };
        let mut settings = Settings::default();
        settings.set(setting, Known { value: Value::Quantity(Amount::plain(figure)), evidence: None, step: None });
        let mut faults: Vec<UnmetClaim> = Vec::new();
        let held = DeviceSettings { settings: &settings, evidence: None, region_stands: false, asked: &counted.requirement };
        judge(held, &assessment.facts, &mut faults);
        !faults.iter().any(|fault| fault.setting == setting && fault.kind == UnmetKind::Fails)
    };
    let of = |(setting, volts): &(SettingId, [f64; 2])| {
        let (setting, [volts, by_parts]) = (*setting, *volts);
        let claims: Option<(&Vec<Claim>, String, Option<Standing>)> = asked(setting).and_then(|(book, resolved)| {
            let limits = |claim: &&Claim| matches!(claim.limit, Limit::AtMost(_) | Limit::AtLeast(_));
            let claim = resolved.entry.comply.iter().find(limits)?;
            let from = origin(claim.why, &book.rulebook, &own, setting);
            Some((&resolved.entry.comply, from, standing(&resolved.entry, &book.rulebook)))
        });
        let basis = claims.as_ref().and_then(|(.., basis)| *basis);
        let words = claims.and_then(|(claims, from, _)| Some((within(claims, setting, Part::Whole, &assessment.facts)?, from)));
        let of_volts = |volts: f64, base: f64| match (&words, percent(volts, base)) {
            (None, _) | (_, None) => Verdict::NotProven,
            (_, Some(figure)) if keeps(setting, figure) => Verdict::Complies,
            _ => Verdict::DoesNotComply,
        };
        let found = of_volts(volts, nominal);
        let otherwise = other_bases(plan).into_iter().filter(|(_, base)| of_volts(volts, *base) != found).collect();
        // by a figure that a licensed copy contradicts nothing is proven
        let is_disputed = found == Verdict::Complies && basis == Some(Standing::Disputed);
        // of two figures of one thing both have to keep the limit, as in `check`
        let stated = site.installation.0.get(setting).and_then(|known| known.value.part(Part::Whole)).map(|amount| amount.number);
        let is_stated_beyond = found == Verdict::Complies && stated.is_some_and(|figure| !keeps(setting, figure));
        let verdict = if is_disputed || is_stated_beyond { Verdict::NotProven } else { found };
        let by_parts = ByParts { volts: by_parts, percent: percent(by_parts, nominal), verdict: of_volts(by_parts, nominal) };
        Limited { setting, volts, percent: percent(volts, nominal), asked: words, basis, verdict, is_stated_beyond, by_parts, otherwise }
    };
    volts.iter().map(of).filter(|limited| limited.setting == TOTAL || limited.asked.is_some()).collect()
}

/// Bases that the trade takes percentages of, besides the stated nominal voltage.
fn other_bases(plan: &Plan<'_>) -> Vec<(String, f64)> {
    let nominal = plan.nominal.approximate();
    let mut bases = vec![("230 V".to_owned(), 230.0), ("240 V".to_owned(), 240.0)];
    if plan.inverters.iter().any(|inverter| inverter.feeds == Feeds::Three) {
        bases.push(("400 V line to line".to_owned(), 400.0 / 3.0_f64.sqrt()));
    }
    // other nominals are counted from themselves
    bases.retain(|(_, base)| (base - nominal).abs() > 1e-9 && (nominal / base - 1.0).abs() < 0.05);
    bases
}
