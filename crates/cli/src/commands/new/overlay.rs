//! `asleft new overlay`: a network operator's first requirements, with what to fill in next.

use super::answers::Answers;
use super::question::{Choice, Question, chosen, one_line};
use super::site::{networks, standards};
use super::{STANDARD_OUTPUT, kept, taken, with_answers};
use crate::Exit;
use crate::args::NewOverlay;
use crate::commands::template::rows_of;
use crate::commands::{assessor, refused};
use crate::render::{self, wrapped};
use crate::walk::write_messages;
use rules::assess::Assessor;
use rules::book::Books;
use rules::exercise::text::scalar;
use rules::lint::lint;
use rules::sheet::Row;
use settings_model::catalogue::{Equipment, Shape};
use settings_model::entry::Who;
use settings_model::facts::Facts;
use settings_model::library::{Profile, Request};
use settings_model::notation;
use std::fmt::Write as _;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What was answered of an overlay.
#[derive(Default)]
struct Overlay {
    network: String,
    title: String,
    extends: String,
    /// The versions of the network that it extends; `None` where that is a standard.
    range: Option<semver::Version>,
    regions: Vec<String>,
    issue: String,
    published: String,
    in_force: (String, String),
    document: String,
}

/// The version of a first file.
const VERSION: &str = "1.0.0";

/// Writes the file below a folder of requirements, or prints it.
pub fn run(args: &NewOverlay) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let answered = with_answers(|answers| {
        let folder = folder(args, answers)?;
        let overlay = answered(args, answers, &mut assessor)?;
        let file = file(&folder, &overlay.network);
        taken(&file).map_or(Ok(()), |says| answers.say(&says))?;
        Ok((answers.refusal("the overlay"), (folder, file, overlay)))
    })?;
    let Some((folder, file, overlay)) = answered else { return Ok(Exit::CouldNotTell) };
    let text = text(&overlay, &mut assessor);
    let key = format!("overlays/{}/{VERSION}", overlay.network);
    let profile = Profile { path: format!("{key}.yaml"), name: terminal::path(&file), text: text.as_str().into(), shipped: false };
    assessor.library.add(profile);
    let linted = lint(&[key], &mut assessor);
    if !linted.findings.is_empty() {
        write_messages(&linted.findings, &assessor.sources)?;
        return refused(&format!("{} was not written", terminal::path(&file)));
    }
    if file.as_os_str() != STANDARD_OUTPUT {
        file.parent().map_or(Ok(()), std::fs::create_dir_all)?;
    }
    if let Some(says) = kept(&file, &text)? {
        return refused(&says);
    }
    if file.as_os_str() != STANDARD_OUTPUT {
        let (file, folder, network) = (terminal::path(&file), terminal::path(&folder), &overlay.network);
        let mut out = terminal::stderr();
        let next = format!("next: fill in what {} asks differently, behind `# settings:` in the file; then", overlay.title);
        writeln!(out, "written: {file}\n{}", wrapped(&next, render::width(), 2))?;
        writeln!(out, "  asleft lint {network}/{VERSION} --profiles {folder}")?;
        writeln!(out, "  asleft new my-site.yaml --network {network} --profiles {folder}")?;
    }
    Ok(Exit::Fine)
}

fn folder(args: &NewOverlay, answers: &mut Answers<'_>) -> io::Result<PathBuf> {
    let question = Question::new("FOLDER", "Your folder of requirements", "the file goes below it, as `overlays/NETWORK/1.0.0.yaml`");
    let given = args.folder.as_ref().map(|folder| folder.to_string_lossy());
    let folder = answers.word(given.as_deref(), &question.default(Some("requirements".to_owned())))?;
    Ok(PathBuf::from(folder.unwrap_or_default()))
}

fn file(folder: &Path, network: &str) -> PathBuf {
    match folder.as_os_str() == STANDARD_OUTPUT {
        true => folder.to_owned(),
        false => folder.join("overlays").join(network).join(format!("{VERSION}.yaml")),
    }
}

fn answered(args: &NewOverlay, answers: &mut Answers<'_>, assessor: &mut Assessor) -> io::Result<Overlay> {
    let known = networks(assessor);
    let network = Question::new("--network", "Network operator, as a key", "its folder, and how sites name it").example("hollowmere");
    let network = answers.ask(args.network.as_deref(), &network, |text| key(text, &known))?;
    let title = Question::new("--title", "Its name in print", "how sheets and findings name it").example("Hollowmere Networks");
    let title = answers.word(args.title.as_deref(), &title)?;
    let (asks, why) = ("Standard, or network whose rules it adds to", "what is not said differently is inherited from it");
    let below = standards(assessor).into_iter().chain(known).collect();
    let extends = answers.word(args.extends.as_deref(), &Question::new("--extends", asks, why).choices(below))?;
    let range = extends.as_ref().and_then(|network| assessor.library.versions(network).pop());
    let regions = regions(args, extends.as_deref(), range.as_ref(), answers, assessor)?;
    let issue = Question::new("--issue", "Name of this issue", "how people cite it").example("Issue 1");
    let issue = answers.word(args.issue.as_deref(), &issue)?;
    let published = Question::new("--published", "Day of its publication", "it governs no site before that day").example("2026-01-15");
    let published = answers.ask(args.published.as_deref(), &published, date)?;
    let in_force = Question::new("--in-force", "Which sites it governs", "by the day of what: applied, approved, installed or altered");
    let in_force = answers.ask(args.in_force.as_deref(), &in_force.example("applied from 2026-02-01"), window)?;
    let document = Question::new("--document", "Document that the figures are from", "every figure names its source");
    let document = answers.word(args.document.as_deref(), &document.example("Hollowmere connection notes"))?;
    Ok(Overlay {
        network: network.unwrap_or_default(),
        title: title.unwrap_or_default(),
        extends: extends.unwrap_or_default(),
        range,
        regions,
        issue: issue.unwrap_or_default(),
        published: published.unwrap_or_default(),
        in_force: in_force.unwrap_or_default(),
        document: document.unwrap_or_default(),
    })
}

/// A key that is not taken yet.
fn key(text: &str, known: &[Choice]) -> Result<String, String> {
    let key = one_line(text)?;
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if !key.chars().all(is_plain) {
        return Err(format!("`{key}` is no key; use small letters, digits and hyphens, as `hollowmere`"));
    }
    match known.iter().any(|choice| choice.word == key) {
        true => Err(format!(
            "`{key}` has requirements already; copy its newest version under a new number, as docs/writing-an-overlay.md shows"
        )),
        false => Ok(key),
    }
}

fn date(text: &str) -> Result<String, String> {
    notation::date(text).map(|date| date.to_string()).map_err(|slip| slip.to_string())
}

/// `applied from 2026-02-01`.
fn window(text: &str) -> Result<(String, String), String> {
    const KINDS: [&str; 5] = ["applied", "approved", "installed", "altered", "today"];
    let (kind, days) = text.trim().split_once(char::is_whitespace).unwrap_or((text.trim(), ""));
    let kind = chosen(&Choice::words(KINDS), kind)?;
    notation::date_interval(days).map_err(|slip| slip.to_string())?;
    Ok((kind, days.trim().to_owned()))
}

/// The regions that its sites may stand under; none where any may.
fn regions(
    args: &NewOverlay,
    extends: Option<&str>,
    range: Option<&semver::Version>,
    answers: &mut Answers<'_>,
    assessor: &mut Assessor,
) -> io::Result<Vec<String>> {
    let choices = Choice::words(regions_of(extends, range, assessor));
    let question = Question::new("--region", "Regions of its sites", "of several, with commas between; each is linted");
    let question = question.choices(choices).or_nothing("every region that the rules below it have");
    let given = (!args.regions.is_empty()).then(|| args.regions.join(","));
    let read = |text: &str| text.split(',').map(|region| question.word(region)).collect::<Result<Vec<_>, _>>();
    Ok(answers.ask(given.as_deref(), &question, read)?.unwrap_or_default())
}

fn regions_of(extends: Option<&str>, range: Option<&semver::Version>, assessor: &mut Assessor) -> Vec<String> {
    let Assessor { library, sources, .. } = assessor;
    match (extends, range) {
        (Some(network), Some(version)) => library.regions_below(network, version, sources).unwrap_or_default(),
        (Some(standard), None) => library
            .standard(standard, sources)
            .map(|file| file.file.regions.iter().map(|(key, _)| key.to_owned()).collect())
            .unwrap_or_default(),
        (None, _) => Vec::new(),
    }
}

fn text(overlay: &Overlay, assessor: &mut Assessor) -> String {
    let Overlay { network, title, extends, range, regions, issue, published, in_force: (by, days), document } = overlay;
    let below = match range {
        Some(version) => format!("network: {extends}, version: ^{}.{}", version.major, version.minor),
        None => format!("standard: {extends}"),
    };
    let mut text = String::new();
    let about = format!("What {title} asks differently from `{extends}`, or on top of it. What is not said here is inherited.");
    wrapped(&about, 98, 0).lines().for_each(|line| text.push_str(&format!("# {line}\n")));
    let _ = writeln!(
        text,
        "kind: overlay\nnetwork: {network}\ntitle: {}\nversion: {VERSION}\nissue: {{ name: {}, published: {published} }}\nextends: {{ {below} }}",
        scalar(title),
        scalar(issue)
    );
    if !regions.is_empty() {
        let _ = writeln!(text, "regions: [{}]", regions.join(", "));
    }
    let _ = writeln!(
        text,
        "in-force:\n  - {{ {by}: {days} }}\nsources:\n  # `basis: published` once somebody held this file against the document; `clause` is where it says so\n  own: {{ document: {}, basis: memory }}",
        scalar(document)
    );
    write_left_to_it(&mut text, overlay, assessor);
    text
}

/// Behind `#`, what the layers below leave to the network operator, and what most operators ask besides.
fn write_left_to_it(text: &mut String, overlay: &Overlay, assessor: &mut Assessor) {
    text.push_str(
        "# Fill in what is asked: write a value for `…`, and take the `# ` away from its line and from the lines above it\n\
         # that lead to it. `require` is the value to set; `comply: at most 5 kW` is what complies.\n# settings:\n",
    );
    let all = regions_of(Some(&overlay.extends), overlay.range.as_ref(), assessor);
    let Some(region) = overlay.regions.first().or(all.first()) else { return };
    let rows = rows_below(overlay, region, assessor);
    let is_left = |row: &&Row| row.moved_by.0 == Who::NetworkOperator && row.moved_by.1.is_some();
    let mut last = "";
    for row in rows.iter().filter(is_left) {
        let function = row.setting.function();
        if function.key != last {
            last = function.key;
            let _ = writeln!(text, "#   {}: # {}", function.key, function.title.to_lowercase());
        }
        let value = if matches!(row.setting.parameter().shape, Shape::Curve { .. }) { "[[…, …], …]" } else { "…" };
        let within = row.moved_by.1.as_deref().unwrap_or_default();
        let now = if row.set.is_some() { format!("{} in {region}; ", row.required) } else { String::new() };
        for line in wrapped(&format!("{now}yours to set within {within}"), 92, 0).lines() {
            let _ = writeln!(text, "#     # {line}");
        }
        let _ = writeln!(text, "#     {}: {{ require: {value}, source: own }}", row.setting.parameter().key);
    }
    if last != "export-limit" {
        text.push_str("#   export-limit: # export limit\n#     site-total: { comply: at most … kW, source: own }\n");
    }
}

fn rows_below(overlay: &Overlay, region: &str, assessor: &mut Assessor) -> Vec<Row> {
    let Assessor { library, sources, .. } = assessor;
    let rulebooks = match &overlay.range {
        Some(version) => library.rulebooks_of((&overlay.extends, version), region, sources),
        None => {
            let request = Request { standard: Some(&overlay.extends), region, ..Request::default() };
            library.rulebooks(request, &Facts::default(), sources)
        }
    };
    let books = rulebooks.and_then(|rulebooks| Books::usable(rulebooks, None));
    books.map(|books| rows_of(&books, Equipment::Inverter, assessor)).unwrap_or_default()
}
