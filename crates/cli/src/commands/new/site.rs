//! What a site's file has to state, asked in the order in which one answer decides the next.

use super::answers::Answers;
use super::devices::{self, NewDevice, OfDevices};
use super::question::{Choice, Need, Question, UNKNOWN};
use super::standard::{books, certificates, region};
use crate::args::NewSite;
use jiff::civil::Date;
use rules::assess::Assessor;
use settings_model::catalogue::Equipment;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactValue, Facts, NO_EXPORT};
use settings_model::files::Nominal;
use settings_model::library::{Refusal, Request};
use settings_model::notation;
use settings_model::quantity::Dimension;
use std::io;

/// What was answered of a site.
#[derive(Default)]
pub struct Site {
    pub name: Option<String>,
    pub network: Option<String>,
    pub standard: Option<String>,
    pub installation: Option<String>,
    pub region: Option<String>,
    pub route: Option<String>,
    pub work: Option<String>,
    pub sub_network: Option<String>,
    pub dates: Vec<(FactId, Date)>,
    pub phases: Option<u8>,
    pub nominal: Option<Exact>,
    pub export: Option<(String, Option<Exact>)>,
    pub devices: Vec<NewDevice>,
}

impl Site {
    pub(super) fn request(&self) -> Request<'_> {
        Request {
            network: self.network.as_deref(),
            standard: self.standard.as_deref(),
            installation: self.installation.as_deref(),
            region: self.region.as_deref().unwrap_or_default(),
            ..Request::default()
        }
    }

    pub(super) fn facts(&self, today: Date) -> Facts {
        let mut facts = Facts::default();
        facts.set_date(FactId::Today, today);
        self.dates.iter().for_each(|(fact, date)| facts.set_date(*fact, *date));
        for (fact, word) in [(FactId::Work, &self.work), (FactId::Route, &self.route), (FactId::SubNetwork, &self.sub_network)] {
            let index = word.as_ref().and_then(|word| fact.words().iter().position(|known| known == word));
            index.into_iter().for_each(|index| facts.set(fact, FactValue::Word(index as u8)));
        }
        facts
    }
}

/// Asks for all that a site's file states; what is missing is kept by the answers.
///
/// # Errors
/// Where a terminal cannot be read, or ends before the last answer.
pub fn answered(args: &NewSite, name: Option<&str>, answers: &mut Answers<'_>, assessor: &mut Assessor) -> io::Result<Site> {
    let mut site = Site { name: site_name(args, name, answers)?, ..Site::default() };
    requirements(args, &mut site, answers, assessor)?;
    dates(args, &mut site, answers, assessor)?;
    let standard = region(args, &mut site, answers, assessor)?;
    let books = site.region.is_some().then(|| books(&site, assessor)).flatten();
    let decides = books.as_ref().map(|books| books.facts_that_decide()).unwrap_or_default();
    site.phases = phases(args, answers)?;
    site.nominal = nominal(args, standard.as_ref().and_then(|standard| standard.nominal), standard.is_some(), answers)?;
    for (fact, given, place) in [
        (FactId::SubNetwork, &args.sub_network, &mut site.sub_network),
        (FactId::Route, &args.route, &mut site.route),
        (FactId::Work, &args.work, &mut site.work),
    ] {
        // the kind of work decides whether an older issue is still accepted, too
        if decides.contains(&fact) || given.is_some() || (fact == FactId::Work && answers.can_ask()) {
            let need = if decides.contains(&fact) { Need::AnswerOrUnknown } else { Need::Nothing };
            *place = word(fact, given.as_deref(), need, answers)?;
        }
    }
    site.export = export(args, answers)?;
    let asked_of_relays = books.as_ref().is_some_and(|books| books.on(Equipment::GridProtectionRelay).rulebook.says_anything());
    let of_devices =
        OfDevices { phases: site.phases, decides: &decides, certificates: certificates(standard.as_ref(), assessor), asked_of_relays };
    site.devices = devices::answered(&args.inverters, &args.relays, &of_devices, answers)?;
    Ok(site)
}

fn site_name(args: &NewSite, of_file: Option<&str>, answers: &mut Answers<'_>) -> io::Result<Option<String>> {
    let question = Question::new("--site", "Site", "its own name or number, on every sheet and record").example("larkspur-row-3");
    answers.word(args.site.as_deref(), &question.default(of_file.map(str::to_owned)))
}

/// A network, or the standard of a site without one.
fn requirements(args: &NewSite, site: &mut Site, answers: &mut Answers<'_>, assessor: &mut Assessor) -> io::Result<()> {
    let (networks, standards) = (networks(assessor), standards(assessor));
    let (asks, why) =
        ("Network operator, or the standard where none adds to it", "whose requirements apply; `--profiles FOLDER` adds your own");
    let flag = if args.standard.is_some() { "--standard" } else { "--network" };
    let question = Question::new(flag, asks, why).choices(networks.iter().chain(&standards).cloned().collect());
    let Some(of) = answers.word(args.network.as_deref().or(args.standard.as_deref()), &question)? else { return Ok(()) };
    if networks.iter().any(|choice| choice.word == of) {
        site.network = Some(of);
        return Ok(());
    }
    site.standard = Some(of);
    let question = Question::new("--installation", "Standard of installation", "rules for the whole site, such as its voltage rise");
    let question = question.choices(of_standards(assessor, false)).or_nothing("none");
    site.installation = answers.word(args.installation.as_deref(), &question)?;
    Ok(())
}

/// Networks at hand, each with the title of its newest version.
pub fn networks(assessor: &mut Assessor) -> Vec<Choice> {
    let Assessor { library, sources, .. } = assessor;
    let networks = library.networks();
    let of = |network: String| {
        let newest = library.versions(&network).pop();
        let file = newest.and_then(|version| library.overlay(&network, &version, sources).ok());
        Choice { means: file.map(|overlay| overlay.file.title.clone()).unwrap_or_default(), word: network }
    };
    networks.into_iter().map(of).collect()
}

/// Standards at hand under which a site can stand: those with regions.
pub fn standards(assessor: &mut Assessor) -> Vec<Choice> {
    of_standards(assessor, true)
}

fn of_standards(assessor: &mut Assessor, with_regions: bool) -> Vec<Choice> {
    let Assessor { library, sources, .. } = assessor;
    let keys = library.standards();
    let titled = |key: String| {
        let file = library.standard(&key, sources).ok()?;
        (file.file.regions.0.is_empty() != with_regions).then(|| Choice { means: file.file.title.clone(), word: key })
    };
    keys.into_iter().filter_map(titled).collect()
}

/// The dates of a site, with those that decide which version applies.
const DATES: [(FactId, &str, &str); 4] = [
    (FactId::Applied, "--applied", "Day of the application to connect"),
    (FactId::Approved, "--approved", "Day of the network operator's approval"),
    (FactId::Installed, "--installed", "Day of installation, or the day that is planned"),
    (FactId::Altered, "--altered", "Day of the last alteration"),
];

fn dates(args: &NewSite, site: &mut Site, answers: &mut Answers<'_>, assessor: &mut Assessor) -> io::Result<()> {
    let mut given = [&args.applied, &args.approved, &args.installed, &args.altered].map(|date| date.as_deref());
    loop {
        for (n, (fact, flag, asks)) in DATES.into_iter().enumerate() {
            let facts = site.facts(assessor.today);
            let decides = deciding(site, &facts, assessor).is_ok_and(|deciding| deciding.contains(&fact));
            if fact == FactId::Altered && !decides && given[n].is_none() {
                continue;
            }
            let why = if decides { "decides which issue of the requirements applies" } else { "goes into the record" };
            let question = Question::new(flag, asks, why).example("2026-02-03").need(if decides { Need::Answer } else { Need::Nothing });
            let date = answers.ask(given[n], &question, |text| notation::date(text).map_err(|slip| slip.to_string()))?;
            site.dates.extend(date.map(|date| (fact, date)));
        }
        let facts = site.facts(assessor.today);
        let Err(Refusal::Unknown { says, hint, .. }) = deciding(site, &facts, assessor) else { return Ok(()) };
        answers.say(&format!("{says}; {}", hint.unwrap_or_default()))?;
        if !answers.can_ask() {
            return Ok(());
        }
        site.dates.clear();
        given = [None; 4];
    }
}

/// The facts on which it still depends under which version the site stands.
fn deciding(site: &Site, facts: &Facts, assessor: &mut Assessor) -> Result<Vec<FactId>, Refusal> {
    if site.network.is_none() {
        return Ok(Vec::new());
    }
    assessor.library.undecided_facts(site.request(), facts, &mut assessor.sources)
}

fn phases(args: &NewSite, answers: &mut Answers<'_>) -> io::Result<Option<u8>> {
    let question =
        Question::new("--phases", "Phases of the supply", "limits and sizes are counted by phase").choices(Choice::words([1, 2, 3]));
    let phases = answers.word(args.phases.as_deref(), &question)?;
    Ok(phases.and_then(|phases| phases.parse().ok()))
}

/// Above this, what is called nominal is most likely the voltage between two phases (IEC 60038: 230 V and 277 V from
/// phase to neutral, 400 V and 480 V between phases).
const HIGHEST_USUAL: i64 = 300;

fn nominal(args: &NewSite, usual: Option<Exact>, is_known: bool, answers: &mut Answers<'_>) -> io::Result<Option<Exact>> {
    let question = Question::new("--nominal", "Nominal voltage, from phase to neutral", "what per unit counts from").example("230 V");
    // of a standard that is not known yet, nobody knows whether it has its own
    let question =
        question.default(usual.map(|volts| Dimension::Voltage.show(volts))).need(if is_known { Need::Answer } else { Need::Nothing });
    answers.ask(args.nominal.as_deref(), &question, phase_to_neutral)
}

fn phase_to_neutral(text: &str) -> Result<Exact, String> {
    let is_said = text.trim().ends_with("line-neutral");
    let volts = if is_said { Nominal::parse(text) } else { Nominal::parse(&format!("{} line-neutral", text.trim())) };
    let volts = volts.map_err(|slip| slip.to_string())?.0;
    if !is_said && volts > Exact::from(HIGHEST_USUAL) {
        let volts = Dimension::Voltage.show(volts);
        return Err(format!(
            "{volts} is the voltage between phases on most networks; write the one from phase to neutral, as `230 V line-neutral`"
        ));
    }
    Ok(volts)
}

/// One of the words of a fact.
fn word(fact: FactId, given: Option<&str>, need: Need, answers: &mut Answers<'_>) -> io::Result<Option<String>> {
    let (flag, asks, why) = match fact {
        FactId::SubNetwork => ("--sub-network", "Part of the network", "requirements differ between them"),
        FactId::Route => ("--route", "Route to compliance", "which of several ways to comply the site takes, by its approval"),
        _ => ("--work", "Kind of work", "replacements may be left under an older issue"),
    };
    answers.word(given, &Question::new(flag, asks, why).choices(Choice::words(fact.words())).need(need))
}

/// How export is limited, and what was approved.
fn export(args: &NewSite, answers: &mut Answers<'_>) -> io::Result<Option<(String, Option<Exact>)>> {
    let question =
        Question::new("--export", "Export to the network", "as the approval says it").choices(Choice::words(FactId::ExportKind.words()));
    let read = |text: &str| kind_and_power(&question, text);
    let Some((kind, power)) = answers.ask(args.export.as_deref(), &question, read)? else { return Ok(None) };
    if power.is_some() || kind == NO_EXPORT {
        return Ok(Some((kind, power)));
    }
    let is_left_open = args.export.as_deref().is_some_and(|given| given.contains('='));
    let flag = format!("--export {kind}=…");
    let question = Question::new(flag, "Approved export of the whole site", "what the export limit is held against").example("5 kW");
    let read = |text: &str| FactId::ApprovedExport.read(text).map_err(|slip| slip.to_string());
    let power = answers.ask(is_left_open.then_some(UNKNOWN), &question.need(Need::AnswerOrUnknown), read)?;
    Ok(Some((kind, power)))
}

/// `none`, `fixed`, `fixed=5kW`, `fixed=unknown`.
fn kind_and_power(question: &Question<'_>, text: &str) -> Result<(String, Option<Exact>), String> {
    let (kind, power) = text.split_once('=').map_or((text, None), |(kind, power)| (kind, Some(power)));
    let kind = question.word(kind)?;
    let power = power.filter(|power| !power.trim().eq_ignore_ascii_case(UNKNOWN));
    if let (Some(power), NO_EXPORT) = (power, kind.as_str()) {
        return Err(format!("export `none` has no power beside it; write `none`, or `fixed={power}`"));
    }
    let power = power.map(|power| FactId::ApprovedExport.read(power).map_err(|slip| slip.to_string())).transpose()?;
    Ok((kind, power))
}
