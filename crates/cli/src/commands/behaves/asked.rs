//! What a device is asked: the functions that it is set to, those that are required of it, and how far a response may
//! lie off.

use super::accuracy::percent;
use crate::args::Behaves;
use crate::commands::operand::{Moment, Operand};
use behaviour::function::{Function, Rule, rules};
use replay::acting::{Values, acting, taken_for_granted};
use replay::held::DeviceAtMoment;
use rules::percentages::unverified_percentages;
use settings_model::exact::Exact;
use settings_model::facts::FactId;

/// What a device is asked.
pub struct DeviceQuery {
    pub site: String,
    pub device: String,
    /// Which settings they are.
    pub moment: Moment,
    /// How many inverters it is the sum of.
    pub inverters: usize,
    /// Rated apparent power.
    pub rated: f64,
    /// What stands on the nameplate, whatever it is limited to.
    pub nameplate: f64,
    /// All that are counted: as set, then those required that act otherwise.
    pub rules: Vec<Rule>,
    /// All that it is set to, asked about or not.
    pub beside: Vec<Rule>,
    /// Function by function.
    pub functions: Vec<AskedFunction>,
    /// From which frequency on it answers to a high one, in hertz.
    pub over_frequency_from: Option<f64>,
    /// The longest that a response to voltage is set or required to take, in seconds; 0 where nobody says.
    pub response_time: f64,
    /// How far a response may lie off.
    pub tolerance: Tolerance,
    /// How the figures that are required are known, where nobody verified some.
    pub unverified: Option<String>,
    /// What had to be taken for granted of the device.
    pub assumed: Vec<String>,
}

impl DeviceQuery {
    /// Whether they are several inverters together.
    pub fn are_several(&self) -> bool {
        self.inverters > 1
    }
}

/// One function, by the places of its verdicts.
pub struct AskedFunction {
    pub function: Function,
    /// As it is set; `None` where it is off, or not known.
    pub set: Option<usize>,
    /// As it is required; `None` where nothing is.
    pub required: Option<usize>,
    /// How it is judged.
    pub judged: Judged,
}

/// How a function is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    /// Row by row, against a band.
    ByRows,
    /// By what happens at a time, against lawful devices.
    ByTime,
    /// Not by this version.
    Not,
    /// Not of several inverters together.
    NotTogether,
    /// It was asked about by name, and is neither set nor required.
    NotSet,
}

/// How far a response may lie off.
pub struct Tolerance {
    pub percent: f64,
    pub watts: f64,
    /// Who says so.
    pub source: String,
    pub is_assumed: bool,
}

/// Where no standard at hand gives a tolerance, in per cent of the rating (common practice, no source).
const USUAL_TOLERANCE: f64 = 5.0;

/// What is not judged row by row.
const OTHERS: [(Function, Judged); 4] = [
    (Function::OverFrequencyResponse, Judged::ByTime),
    (Function::UnderFrequencyResponse, Judged::Not),
    (Function::Trips, Judged::ByTime),
    (Function::Reconnection, Judged::ByTime),
];

/// What a device is asked.
pub fn asked(held: &DeviceAtMoment<'_>, operand: &Operand, args: &Behaves, functions: &[Function]) -> Result<DeviceQuery, String> {
    let as_set = acting(held, None);
    let Some(device) = as_set.device else {
        let says = "its rating is not stated (`nameplate`): nothing of a log can be told as a share of it";
        return Err(format!("{}: {says}", held.title));
    };
    if as_set.as_required {
        return Err(format!(
            "{}: nothing is recorded of its settings; write them under `as-left` first, as `asleft sheet SITE` names them",
            held.title
        ));
    }
    let as_required = held.asked.as_ref().map(|(book, _)| held.as_required(held.title.clone(), book));
    let required = as_required.as_ref().and_then(|required| acting(required, None).device);
    let percentages = held.asked.as_ref().and_then(|(book, _)| unverified_percentages(&book.rulebook));
    let is_named = |key: &str| functions.iter().any(|function| function.key() == key);
    let figures = Values::or_as_required(as_required.as_ref().unwrap_or(held)).figures(is_named);
    let is_asked = |rule: &Rule| functions.contains(&rule.function);
    let beside = rules(&device);
    let mut counted: Vec<Rule> = beside.iter().filter(|rule| is_asked(rule)).cloned().collect();
    let own = counted.len();
    let mut asked: Vec<AskedFunction> = Vec::new();
    for (place, rule) in counted.iter().enumerate() {
        asked.push(AskedFunction { function: rule.function, set: Some(place), required: None, judged: Judged::ByRows });
    }
    for rule in required.iter().flat_map(rules).filter(is_asked) {
        let same = counted[..own].iter().position(|set| set.acts_like(&rule));
        let place = same.unwrap_or_else(|| {
            counted.push(rule.clone());
            counted.len() - 1
        });
        match asked.iter_mut().find(|asked| asked.function == rule.function) {
            Some(asked) => asked.required = Some(place),
            None => asked.push(AskedFunction { function: rule.function, set: None, required: Some(place), judged: Judged::ByRows }),
        }
    }
    let acts = |function: Function| match function {
        Function::OverFrequencyResponse => device.over_frequency.is_some(),
        Function::UnderFrequencyResponse => device.under_frequency.is_some(),
        _ => true,
    };
    let others = OTHERS.into_iter().filter(|(function, _)| functions.contains(function) && acts(*function));
    // their verdicts follow those of the rules
    let placed = others.scan(counted.len(), |next, (function, judged)| {
        let place = (judged == Judged::ByTime).then_some(*next);
        *next += usize::from(place.is_some());
        Some(AskedFunction { function, set: place, required: None, judged })
    });
    asked.extend(placed);
    // what is named and not there is told, and never passed over
    let is_there = |function: &Function| asked.iter().any(|asked| asked.function == *function);
    let missing: Vec<Function> = functions.iter().filter(|function| !args.functions.is_empty() && !is_there(function)).copied().collect();
    asked.extend(missing.into_iter().map(|function| AskedFunction { function, set: None, required: None, judged: Judged::NotSet }));
    asked.sort_by_key(|asked| asked.function);
    let (site, name) = held.title.split_once(" / ").unwrap_or((&held.title, held.name));
    Ok(DeviceQuery {
        site: site.to_owned(),
        device: name.to_owned(),
        moment: if let Operand::Site(site) = operand { site.moment.unwrap_or(Moment::AsLeft) } else { Moment::AsLeft },
        inverters: 1,
        rated: device.ratings.apparent,
        nameplate: held.facts.number(FactId::Nameplate).map_or(device.ratings.apparent, Exact::approximate),
        rules: counted,
        beside,
        functions: asked,
        response_time: as_required.iter().chain([held]).map(response_time).fold(0.0, f64::max),
        tolerance: tolerance(held, args, device.ratings.apparent)?,
        unverified: figures.warning("that are required of these functions"),
        over_frequency_from: device.over_frequency.as_ref().map(|answer| answer.start),
        assumed: as_set.unclear.iter().map(taken_for_granted).chain(percentages).collect(),
    })
}

/// The longest that a response to voltage of a device may take, in seconds.
fn response_time(held: &DeviceAtMoment<'_>) -> f64 {
    let values = Values::or_as_required(held);
    let longest = |function: &str| values.span(function, "response-time").map(|[_, most]| most).filter(|most| most.is_finite());
    ["volt-var", "volt-watt", "volt-watt-charging"].into_iter().filter_map(longest).fold(0.0, f64::max)
}

fn tolerance(held: &DeviceAtMoment<'_>, args: &Behaves, rated: f64) -> Result<Tolerance, String> {
    let of = |percent: f64, source: String, is_assumed| Tolerance { percent, watts: percent / 100.0 * rated, source, is_assumed };
    if let Some(text) = &args.tolerance {
        let percent = percent(text).map_err(|says| format!("--tolerance: {says}"))?;
        return Ok(of(percent, "as said".to_owned(), false));
    }
    let rulebook = held.asked.as_ref().map(|(book, _)| &book.rulebook);
    let stated = rulebook.and_then(|rulebook| rulebook.response_tolerance.as_ref());
    Ok(match stated {
        Some((share, citation)) => of(Exact::approximate(*share), citation.document.clone(), false),
        None => of(USUAL_TOLERANCE, "common practice, no source".to_owned(), true),
    })
}
