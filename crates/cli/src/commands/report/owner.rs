//! What an owner gets: for who owns the installation, in plain words.

use super::evidence::name;
use super::outcome::sentence;
use crate::commands::test_sheet::words;
use crate::render::capitalised;
use paper::{Block, Part, Text, Weight, plain};
use record::making::is_with_storage;
use record::{Device, Record, SettingHeld, SettingState, TestResult};
use settings_model::catalogue::Equipment;

const WHY: &str = "An inverter has to protect the network and everybody on it. How it does that is set when it is installed: the network operator and the standards ask for it. This paper says what yours was left with, and how that is known.";

/// What an owner sees of settings that do their work.
const NOTICED: [&str; 3] = [
    "On bright days it may give less than it could, or pause for some minutes: that is how it keeps the voltage of the street where it belongs.",
    "After the supply was interrupted it waits before it comes back, and rises slowly.",
    "If it pauses often, tell your installer when and for how long. The cure is to find out why the voltage is high: the limit is not raised for it.",
];

const STORAGE: &str = "There is a battery: it is live always. Circuits on backup stay live when the network is gone and when the main switch is open. Only a licensed person works on them, and proves them dead first.";

const KEEP: [&str; 3] = [
    "Do not open the inverter. Only a licensed person who is authorised to may change its protection settings: wrong settings can hurt people.",
    "Keep this paper with the papers of the installation. Whoever works on it next will ask for it.",
    "The network operator's own document and your connection approval decide. This paper does not replace them.",
];

/// The part.
pub fn part(record: &Record) -> Part {
    let verdict = Block::Notice(super::standing(record).weight, capitalised(&record.verdict.headline), vec![plain(sentence(record))]);
    let mut blocks = vec![verdict, Block::Words(plain(WHY)), Block::Facts(whose(record))];
    for device in record.devices.iter().filter(|device| device.kind == Equipment::Inverter) {
        let backup = if is_with_storage(record) { " Circuits on backup stay live." } else { "" };
        let says = |(setting, says): &(&str, Says)| {
            let more = if *setting == GONE { backup } else { "" };
            Some(plain(format!("{}{more}", says(&in_force(device, setting)?))))
        };
        let does: Vec<Text> = DOES.iter().filter_map(says).collect();
        if !does.is_empty() {
            blocks.push(Block::Heading(format!("What it does by itself: {}", name(device))));
            blocks.push(Block::List(does));
        }
    }
    blocks.push(Block::Heading("What you may notice".to_owned()));
    blocks.push(Block::List(NOTICED.map(plain).to_vec()));
    let open = still_open(record);
    if !open.is_empty() {
        blocks.push(Block::Heading("What is still to be done".to_owned()));
        blocks.push(Block::List(open));
    }
    let storage = is_with_storage(record).then_some(STORAGE);
    let mind = storage.into_iter().chain(KEEP).map(plain).collect();
    blocks.push(Block::Notice(Weight::Mind, "Please note".to_owned(), mind));
    Part { title: "What it was left with".to_owned(), starts_page: false, blocks }
}

/// Whose installation, and who did the work.
fn whose(record: &Record) -> Vec<(String, Text)> {
    let mut facts = vec![("Installation".to_owned(), plain(&record.site.name))];
    let mut add = |name: &str, says: Option<String>| facts.extend(says.map(|says| (name.to_owned(), plain(says))));
    add("Connection point", record.site.supply.connection_point.clone());
    for device in record.devices.iter().filter(|device| device.kind != Equipment::Installation) {
        let model = device.model.as_ref().map(|model| format!("{}, {model}", device.name));
        add(super::evidence::kind(device), Some(model.unwrap_or_else(|| device.name.clone())));
    }
    if let Some(work) = &record.work {
        let company = record.site.answerable.company.clone();
        let licence = work.licence.as_ref().map(|number| format!("licence {number}"));
        let said = [Some(work.role.clone()), company, licence, Some(format!("ended on {}", work.date))];
        add("Work by", Some(said.into_iter().flatten().collect::<Vec<_>>().join(", ")));
        add("Certificate for it", work.certificate.clone());
    }
    facts
}

/// Says what a setting of this value does.
type Says = fn(&str) -> String;

/// By what a device leaves a network that is gone.
const GONE: &str = "active-anti-islanding/disconnection";

/// What settings do, for who does not know their names.
const DOES: [(&str, Says); 8] = [
    ("export-limit/site-total", |limit| format!("It lets at most {limit} flow out to the network, and gives less where it would be more.")),
    ("generation-limit/soft", |limit| format!("It gives at most {limit}.")),
    ("volt-watt/points", |curve| format!("While the voltage is high it gives less: {curve}.")),
    ("volt-var/points", |_| "It helps to hold the voltage with reactive power, which can cost a little of what it gives.".to_owned()),
    ("sustained-overvoltage/threshold", |limit| {
        format!("It switches off when the voltage at its terminals has been above {limit} on average over ten minutes.")
    }),
    ("over-frequency-response/start", |start| format!("It gives less while the frequency of the network is above {start}.")),
    (GONE, |_| "It stops feeding the network when the network is gone, to protect the people who work on it.".to_owned()),
    ("reconnection/observation-time", |wait| format!("Before it comes back it watches the network for at least {wait}.")),
];

/// The value of a setting that is in force: as left, or as the region or the type test brings it.
fn in_force(device: &Device, setting: &str) -> Option<String> {
    let find = |key: &str| device.settings.iter().find(|held| held.setting == key);
    let state = setting.split_once('/').and_then(|(function, _)| find(&format!("{function}/state")));
    if state.is_some_and(|state| value(state).as_deref() != Some("enabled")) {
        return None;
    }
    value(find(setting)?)
}

fn value(held: &SettingHeld) -> Option<String> {
    let brought = matches!(held.state, SettingState::CoveredByRegion | SettingState::ByTypeTest);
    held.as_left.as_ref().map(|left| left.value.clone()).or_else(|| held.required.clone().filter(|_| brought))
}

/// Tests to be done again, and what has to be told to somebody.
fn still_open(record: &Record) -> Vec<Text> {
    let tests = record.tests.iter().filter(|test| matches!(test.result, TestResult::NotDone | TestResult::NotProven | TestResult::Failed));
    let tests = tests.map(|test| {
        let by = test.retry_by.as_ref().map_or_else(String::new, |day| format!(", by {day}"));
        plain(format!("Test of {}, {}{by}: {}", test.device, test.title.to_lowercase(), words(test.result)))
    });
    let entries = record.registrations.iter().filter(|entry| entry.done.is_none());
    let entries =
        entries.map(|entry| plain(format!("{}, to {}: {}", capitalised(&entry.what), entry.to, entry.stands(&record.made.as_of))));
    tests.chain(entries).collect()
}
