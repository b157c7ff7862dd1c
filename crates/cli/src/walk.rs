//! Sites, one after another, each judged and handed on.
//!
//! A line is read straight into its type. Only when something is to be said about it are places
//! looked up, and only a line that is not sound is read again, for all its faults at once.

use crate::report::judged::Judged;
use crate::report::{Known, layers};
use crate::texts::Block;
use rules::assess::{Assessor, NotJudged, Reservations};
use rules::filled_sheet::FilledSheet;
use rules::provenance::Judgement;
use rules::wording;
use serde::Deserialize;
use settings_model::document::Node;
use settings_model::files::training::NOTICE;
use settings_model::files::{Answerable, SiteFile, Text};
use settings_model::finding::Finding;
use settings_model::places::JsonLine;
use settings_model::reader;
use settings_model::source::{Place, SourceId};
use std::io::{self, IsTerminal, Write};
use terminal::escaped;

/// Judges every site of a block, in order. With `full`, sites of a file of lines that comply are
/// handed on whole; without, only counted. A sheet filled by hand says what the devices hold, in place
/// of the site's file.
pub fn each_site(
    block: Block,
    assessor: &mut Assessor,
    over: Option<&FilledSheet>,
    full: bool,
    take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>,
) -> io::Result<()> {
    block.each_text(&mut |found| {
        let judged = match (found.text, found.line) {
            (Err(says), line) => Judged { line, ..could_not_tell(found.name, None, vec![unreadable(says)], None) },
            (Ok(text), None) => judge_text(found.name, text, 1, over, assessor),
            (Ok(text), Some(number)) => one_line(found.name, text, number, full, assessor),
        };
        hand_on(judged, assessor, take)
    })
}

/// What cannot be read, or laid over anything, and why.
pub fn unread(name: &str, says: String) -> Judged {
    could_not_tell(name, None, vec![unreadable(says)], None)
}

fn unreadable(says: String) -> Finding {
    Finding::unusable("unreadable", Place::NOWHERE, says)
}

fn could_not_tell(file: &str, id: Option<String>, findings: Vec<Finding>, text: Option<SourceId>) -> Judged {
    Judged {
        id,
        training: None,
        file: file.to_owned(),
        line: None,
        judgement: Judgement::COULD_NOT_TELL,
        known_by: Known::default(),
        under: String::new(),
        layers: Vec::new(),
        not_checked: Vec::new(),
        not_judged: Vec::new(),
        reservations: Reservations::default(),
        is_stopped_by_profile: false,
        findings,
        answerable: Default::default(),
        text,
    }
}

/// Hands a site on, and then gives its text back, so that a fleet needs no memory. A text that
/// profiles were read after stays with them.
fn hand_on(judged: Judged, assessor: &mut Assessor, take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>) -> io::Result<()> {
    let text = judged.text;
    take(judged, assessor)?;
    if let Some(text) = text.filter(|text| text.0 as usize + 1 == assessor.sources.len()) {
        assessor.sources.forget_after(text.0 as usize);
    }
    Ok(())
}

/// Reads a text with places, and judges it.
fn judge_text(name: &str, text: &str, first_line: usize, over: Option<&FilledSheet>, assessor: &mut Assessor) -> Judged {
    let source = assessor.sources.add_from_line(name, text, first_line);
    let unusable = |findings| unusable(name, text, findings, source);
    let root = match assessor.read_site_with(source, text, over) {
        Ok(root) => root,
        Err(findings) => return unusable(findings),
    };
    match reader::typed::<SiteFile<'_>>(&root) {
        Ok(site) => Judged { text: Some(source), ..judge(name, &site, &root, assessor) },
        Err(findings) => unusable(findings),
    }
}

/// A text that cannot be used: the site's name and who answers for it, if it can be read that far.
fn unusable(name: &str, text: &str, findings: Vec<Finding>, source: SourceId) -> Judged {
    let training = is_of_training(text, source).then_some(NOTICE);
    let (id, answerable) = match serde_json::from_str::<Heading<'_>>(text) {
        Ok(Heading { site, answerable }) => (site.map(|site| site.to_string()), who(answerable.as_ref())),
        Err(_) => heading_of_tree(text, source),
    };
    Judged { answerable, training, ..could_not_tell(name, id.filter(|id| !id.is_empty()), findings, Some(source)) }
}

/// Whether a text that cannot be used says that it was made for a lesson.
fn is_of_training(text: &str, source: SourceId) -> bool {
    // most texts do not so much as have the word
    text.contains("training")
        && settings_model::document::parse(source, text, &mut Vec::new()).is_some_and(|root| root.get("training").is_some())
}

/// What a line says of itself, whatever else it says.
#[derive(Deserialize)]
struct Heading<'a> {
    #[serde(borrow)]
    site: Option<Text<'a>>,
    #[serde(borrow)]
    answerable: Option<Answerable<'a>>,
}

/// The name of a site and who answers for it, of a text that is no sound JSON, whatever else it says.
pub fn heading_of_tree(text: &str, source: SourceId) -> (Option<String>, [String; 3]) {
    let root = settings_model::document::parse(source, text, &mut Vec::new());
    // what is refused may be refused for just this: a name that would make lines of its own
    let said = |node: Option<&Node>| node.map(|node| escaped(node.text()).into_owned()).unwrap_or_default();
    let who = root.as_ref().and_then(|root| root.get("answerable"));
    let answerable = ["company", "branch", "crew"].map(|part| said(who.and_then(|who| who.get(part))));
    (Some(said(root.as_ref().and_then(|root| root.get("site")))), answerable)
}

fn judge(name: &str, site: &SiteFile<'_>, root: &Node, assessor: &mut Assessor) -> Judged {
    let assessment = assessor.assess(site);
    Judged {
        id: Some(site.site.to_string()),
        training: site.training_notice(),
        file: name.to_owned(),
        line: None,
        judgement: assessment.judgement(),
        known_by: Known::at(&assessment),
        under: assessment.under(),
        layers: layers(&assessment),
        not_checked: assessment.not_checked(),
        not_judged: assessment.not_judged.iter().flat_map(NotJudged::paths).collect(),
        reservations: Reservations::of(&assessment),
        is_stopped_by_profile: !assessment.profile_findings.is_empty(),
        findings: wording::findings(&assessment, root),
        answerable: who(site.answerable.as_ref()),
        text: None,
    }
}

/// A line that is sound is read once; of a fault, only the places are looked up.
fn one_line(name: &str, line: &str, number: usize, full: bool, assessor: &mut Assessor) -> Judged {
    let Some(site) = SiteFile::of_line(line) else {
        return Judged { line: Some(number), ..judge_text(name, line, number, None, assessor) };
    };
    let assessment = assessor.assess(&site);
    let (answerable, judgement) = (who(site.answerable.as_ref()), assessment.judgement());
    if assessment.has_nothing_to_say() && !full {
        let counted = could_not_tell("", None, Vec::new(), None);
        return Judged { line: Some(number), training: site.training_notice(), judgement, answerable, ..counted };
    }
    let source = assessor.sources.add_from_line(name, line, number);
    Judged {
        id: Some(site.site.to_string()),
        training: site.training_notice(),
        file: name.to_owned(),
        line: Some(number),
        judgement,
        known_by: Known::at(&assessment),
        under: assessment.under(),
        layers: layers(&assessment),
        not_checked: assessment.not_checked(),
        not_judged: assessment.not_judged.iter().flat_map(NotJudged::paths).collect(),
        reservations: Reservations::of(&assessment),
        is_stopped_by_profile: !assessment.profile_findings.is_empty(),
        findings: wording::findings(&assessment, &JsonLine { source, text: line }),
        answerable,
        text: Some(source),
    }
}

/// The company, branch and crew that answer for a site.
pub fn who(answers: Option<&Answerable<'_>>) -> [String; 3] {
    let Some(one) = answers else { return Default::default() };
    [&one.company, &one.branch, &one.crew].map(|name| name.as_ref().map(ToString::to_string).unwrap_or_default())
}

/// Writes what keeps files from being used to standard error.
pub fn write_messages(findings: &[Finding], sources: &settings_model::source::Sources) -> io::Result<()> {
    let colour = io::stderr().is_terminal() && crate::render::colour_allowed();
    for finding in findings {
        writeln!(terminal::stderr(), "{}\n", crate::render::findings::finding(finding, sources, crate::render::width(), colour))?;
    }
    Ok(())
}
