//! The devices of a site: inverters and grid protection relays.

use super::answers::Answers;
use super::question::{Choice, Need, Question, chosen};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::finding::nearest;
use std::io;

/// What was answered of a device.
#[derive(Default)]
pub struct NewDevice {
    pub name: String,
    pub is_relay: bool,
    pub certified: Option<String>,
    pub source: Option<String>,
    pub powers: Vec<(FactId, Exact)>,
    pub phases: Option<u8>,
    pub on_phase: Option<String>,
    /// Model, serial number and firmware, as the command line gives them.
    pub identity: Vec<(&'static str, String)>,
}

/// What the site says of its devices.
pub struct OfDevices<'s> {
    /// Phases of the supply.
    pub phases: Option<u8>,
    /// The facts on which a requirement depends.
    pub decides: &'s [FactId],
    /// The editions that a device may be certified to:
    /// first those that are likely, then all.
    pub certificates: (Vec<Choice>, Vec<Choice>),
    /// Whether a grid protection relay is asked anything.
    pub asked_of_relays: bool,
}

/// Keys of `--inverter`.
const KEYS: [&str; 10] = ["name", "nameplate", "source", "certified", "rated-power", "limited-to", "phases", "on-phase", "model", "serial"];
const FIRMWARE: &str = "firmware";

/// What one `--inverter` gives, by its keys.
type Given<'g> = Vec<(&'g str, &'g str)>;

/// Asks for every device; on a terminal as many as there are.
///
/// # Errors
/// Where a terminal cannot be read, or ends before the last answer.
pub fn answered(inverters: &[String], relays: &[String], site: &OfDevices<'_>, answers: &mut Answers<'_>) -> io::Result<Vec<NewDevice>> {
    let mut devices = Vec::new();
    for given in inverters {
        match given_of(given) {
            Ok(given) => devices.push(inverter(&given, devices.len() + 1, site, answers)?),
            Err(says) => answers.say(&format!("--inverter: {says}"))?,
        }
    }
    for name in relays {
        devices.push(NewDevice { name: name.trim().to_owned(), is_relay: true, ..NewDevice::default() });
    }
    if inverters.is_empty() && relays.is_empty() {
        devices.push(inverter(&Vec::new(), 1, site, answers)?);
        while answers.can_ask() {
            match another(site, answers)?.as_deref() {
                Some("inverter") => devices.push(inverter(&Vec::new(), devices.len() + 1, site, answers)?),
                Some("relay") => devices.push(relay(answers)?),
                _ => break,
            }
        }
    }
    for (n, device) in devices.iter().enumerate() {
        if devices[..n].iter().any(|other| other.name == device.name) {
            answers.say(&format!("two devices are named `{}`; give each a name of its own", device.name))?;
        }
    }
    Ok(devices)
}

fn given_of(text: &str) -> Result<Given<'_>, String> {
    let known = || KEYS.into_iter().chain([FIRMWARE]);
    let mut given = Given::new();
    for part in text.split(',').filter(|part| !part.trim().is_empty()) {
        let Some((key, value)) = part.split_once('=') else {
            return Err(format!("`{part}` is no `key=value`; write a decimal point, and not a comma, inside a number"));
        };
        let key = key.trim();
        let Some(key) = known().find(|known| *known == key) else {
            let would_do = nearest(key, known())
                .map_or_else(|| format!("keys: {}", known().collect::<Vec<_>>().join(", ")), |meant| format!("did you mean `{meant}`?"));
            return Err(format!("no key `{key}`; {would_do}"));
        };
        if given.iter().any(|(other, _)| *other == key) {
            return Err(format!("`{key}` is given twice"));
        }
        given.push((key, value.trim()));
    }
    Ok(given)
}

fn inverter(given: &Given<'_>, number: usize, site: &OfDevices<'_>, answers: &mut Answers<'_>) -> io::Result<NewDevice> {
    let of = |key: &str| given.iter().find(|(known, _)| *known == key).map(|(_, value)| *value);
    let question = |key: &str, asks, why| Question::new(format!("--inverter {key}=…"), asks, why).need(Need::AnswerOrUnknown);
    let named = Question::new("--inverter name=…", "Name of the inverter", "how its sheet and its findings name it");
    let name = answers.word(of("name"), &named.default(Some(format!("inverter-{number}"))))?;
    let sources = Choice::words(FactId::EnergySource.words());
    let source = answers.word(of("source"), &question("source", "What it is fed from", "storage is asked for more").choices(sources))?;
    let mut powers = Vec::new();
    for (fact, key, asks, why) in [
        (FactId::Nameplate, "nameplate", "Apparent power on its nameplate", "percentages and sizes are taken of it"),
        (FactId::RatedPower, "rated-power", "Rated active power", "percentages of active power are taken of it"),
        (FactId::LimitedTo, "limited-to", "What it is limited to, where that is less than its nameplate", "limits on size may count it"),
    ] {
        let is_asked = fact == FactId::Nameplate || site.decides.contains(&fact);
        if !is_asked && of(key).is_none() {
            continue;
        }
        let need = if is_asked && fact != FactId::LimitedTo { Need::AnswerOrUnknown } else { Need::Nothing };
        let example = if fact == FactId::RatedPower { "5 kW" } else { "5 kVA" };
        let power = answers
            .ask(of(key), &question(key, asks, why).example(example).need(need), |text| fact.read(text).map_err(|slip| slip.to_string()))?;
        powers.extend(power.map(|power| (fact, power)));
    }
    let (phases, on_phase) = of_phases(&of, site, answers)?;
    let (asks, why) = ("Standard and edition that it is certified to", "with it the selected region stands for values that nobody reads");
    let (likely, all) = &site.certificates;
    let question = question("certified", asks, why).choices(likely.clone()).example("as-nzs-4777.2/2020-amd2");
    let certified = answers.ask(of("certified"), &question, |text| chosen(all, text))?;
    let named = |key: &'static str| of(key).map(|value| (key, value.to_owned()));
    let identity = ["model", "serial", FIRMWARE].into_iter().filter_map(named).collect();
    Ok(NewDevice { name: name.unwrap_or_default(), is_relay: false, certified, source, powers, phases, on_phase, identity })
}

/// On how many phases it feeds, and on which one alone; clear on a supply of one.
fn of_phases<'g>(
    of: &impl Fn(&str) -> Option<&'g str>,
    site: &OfDevices<'_>,
    answers: &mut Answers<'_>,
) -> io::Result<(Option<u8>, Option<String>)> {
    let most = site.phases.filter(|phases| *phases > 1).or_else(|| of("phases").map(|_| 3));
    let Some(most) = most else { return Ok((None, None)) };
    let question = Question::new("--inverter phases=…", "Phases that it feeds", "currents on each phase count from it");
    let phases = answers.word(of("phases"), &question.choices(Choice::words(1..=most)).need(Need::AnswerOrUnknown))?;
    let phases: Option<u8> = phases.and_then(|phases| phases.parse().ok());
    if phases != Some(1) || site.phases == Some(1) {
        return Ok((phases, None));
    }
    let question = Question::new("--inverter on-phase=…", "On which phase", "limits are held on each phase").need(Need::AnswerOrUnknown);
    let on = answers.word(of("on-phase"), &question.choices(Choice::words((1..=most).map(|phase| format!("L{phase}")))))?;
    Ok((phases, on))
}

fn relay(answers: &mut Answers<'_>) -> io::Result<NewDevice> {
    let question =
        Question::new("--relay", "Name of the relay", "how its sheet and its findings name it").default(Some("relay-1".to_owned()));
    Ok(NewDevice { name: answers.word(None, &question)?.unwrap_or_default(), is_relay: true, ..NewDevice::default() })
}

fn another(site: &OfDevices<'_>, answers: &mut Answers<'_>) -> io::Result<Option<String>> {
    let why = match site.asked_of_relays {
        true => "these requirements also speak of a grid protection relay",
        false => "one file states all devices of the site",
    };
    let question = Question::new("--inverter", "Another device", why).choices(Choice::words(["no", "inverter", "relay"]));
    answers.word(None, &question.default(Some("no".to_owned())))
}
