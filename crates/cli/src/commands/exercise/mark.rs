//! `asleft exercise mark`: what students handed in, read one by one; a file that is at fault stops nobody else.

use super::marked;
use super::places::settled;
use crate::args::{ExerciseMark, MarkFormat};
use crate::commands::refused;
use crate::walk::write_messages;
use crate::{Exit, files};
use rules::assess::{Assessor, GovernedBy};
use rules::exercise::faults::{FAULTS, named};
use rules::exercise::marking::{Expected, Marked, Named, judgeable, mark, pins};
use rules::exercise::trouble::{Spot, What};
use serde_json::Value as Json;
use settings_model::document::{Node, parse};
use settings_model::files::{ExerciseKeyFile, Kind, StudentKey};
use settings_model::finding::{Finding, nearest};
use settings_model::reader;
use settings_model::source::Place;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// A student of the key, and what became of the answer.
pub struct Answer {
    /// The student.
    pub student: String,
    /// What the key says.
    pub expected: Vec<Expected>,
    /// What was found in each spot, for people.
    pub found: BTreeMap<Spot, String>,
    /// The file, and what was handed in.
    pub file: Option<String>,
    /// The site as it was handed in.
    pub handed_in: Json,
    /// What it came to.
    pub marked: Result<Marked, NotMarked>,
}

/// Why an answer was not marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotMarked {
    /// There is no file.
    NotHandedIn,
    /// The file is at fault.
    CouldNotTell,
}

/// Marks every student of the key.
pub fn run(args: &ExerciseMark) -> io::Result<Exit> {
    let text = files::text(&args.key)?;
    let mut sources = settings_model::source::Sources::default();
    let source = sources.add(terminal::path(&args.key), text.as_str());
    let root = match reader::read(source, &text, Kind::ExerciseKey) {
        Ok(root) => root,
        Err(findings) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
    };
    let key: ExerciseKeyFile<'_> = match reader::typed(&root) {
        Ok(key) => key,
        Err(findings) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
    };
    let mut library = files::library(&args.profiles)?;
    library.set_now(crate::commands::clock());
    let mut assessor = Assessor::new(library, key.as_of.0);
    assessor.sources = sources;
    assessor.governed_by = GovernedBy::Pins;
    if let Some(says) = not_at_hand(&key, &assessor) {
        return refused(&says);
    }
    let mut class = match class(&key, &root, &mut assessor) {
        Ok(class) => class,
        Err(findings) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
    };
    let pinned = pins_of(&key);
    if let Some(Err(findings)) = class.first().map(|member| judgeable(&member.issued, &pinned, &mut assessor)) {
        write_messages(&findings, &assessor.sources)?;
        return refused("the sites of this exercise cannot be judged by the profiles at hand, so nobody is marked");
    }
    let handed_in = match paths(args) {
        Ok(paths) => paths,
        Err(says) => return refused(&says),
    };
    let mut not_marked = Vec::new();
    for path in handed_in {
        if let Err(findings) = take(&path, &key, &mut class, &mut assessor) {
            not_marked.push(terminal::path(&path));
            write_messages(&findings, &assessor.sources)?;
        }
    }
    let answers: Vec<Answer> = class.into_iter().map(|member| member.answer).collect();
    let report = marked::report(&key, &answers, not_marked);
    let mut out = terminal::stdout();
    match args.format {
        MarkFormat::Text => marked::write_text(&mut out, &report)?,
        MarkFormat::Csv => marked::write_csv(&mut out, &report)?,
        MarkFormat::Json => marked::write_json(&mut out, &report)?,
    }
    Ok(match (report.not_marked.is_empty(), report.summary.all_right == report.summary.students) {
        (false, _) => Exit::CouldNotTell,
        (true, true) => Exit::Fine,
        (true, false) => Exit::NotFine,
    })
}

/// Says why the sites cannot be judged by what they were made for.
fn not_at_hand(key: &ExerciseKeyFile<'_>, assessor: &Assessor) -> Option<String> {
    key.pinned.iter().find_map(|pin| match assessor.library.profile(&pin.profile) {
        None => Some(format!("`{}`, for which the exercise was made, is not at hand; give the folder that has it as `--profiles`", pin.profile)),
        Some(profile) if *profile.sha256() != *pin.sha256 => Some(format!(
            "`{}` was changed since the exercise was made; give a folder with the version of that day as `--profiles`, or make the exercise anew",
            pin.profile
        )),
        Some(_) => None,
    })
}

/// A student of the key.
struct Member {
    issued: Json,
    file: String,
    answer: Answer,
}

/// Every student of a key; all that is wrong with the key at once.
fn class(key: &ExerciseKeyFile<'_>, root: &Node, assessor: &mut Assessor) -> Result<Vec<Member>, Vec<Finding>> {
    let (mut members, mut findings) = (Vec::new(), Vec::new());
    for (student, answers) in key.students.iter() {
        let node = root.follow(["students", student]).0;
        match member(student, answers, node, assessor) {
            Ok(member) => members.push(member),
            Err(of_student) => findings.extend(of_student),
        }
    }
    if findings.is_empty() { Ok(members) } else { Err(findings) }
}

fn member(student: &str, answers: &StudentKey<'_>, node: &Node, assessor: &mut Assessor) -> Result<Member, Vec<Finding>> {
    let (mut expected, mut found, mut findings) = (Vec::new(), BTreeMap::new(), Vec::new());
    for (fault, at) in answers.faults.iter().zip(node.get("faults").map(Node::items).unwrap_or_default()) {
        if named(&fault.fault).is_none() {
            findings.push(unknown_fault(&fault.fault, at.get("fault").map_or(at.place, |node| node.place)));
        }
        let mut touched = Vec::new();
        for (one, at) in fault.settings.iter().zip(at.get("settings").map(Node::items).unwrap_or_default()) {
            let Some(what) = What::named(&one.setting) else {
                findings.push(unknown_setting(&one.setting, at.get("setting").map_or(at.place, |node| node.place)));
                continue;
            };
            let spot = Spot { device: one.device.to_string(), what };
            found.extend(one.found.as_ref().map(|value| (spot.clone(), value.to_string())));
            touched.push((spot, one.right.as_ref().map(ToString::to_string)));
        }
        expected.push(Expected { fault: fault.fault.to_string(), touched });
    }
    let kept = assessor.sources.len();
    let source = assessor.sources.add("issued", answers.issued.to_string());
    let issued = assessor.read_site(source, &answers.issued);
    assessor.sources.forget_after(kept);
    let place = node.get("issued").map_or(node.place, |node| node.place);
    match issued {
        Ok(issued) if findings.is_empty() => Ok(Member {
            issued: issued.to_json(),
            file: answers.file.to_string(),
            answer: Answer {
                student: student.to_owned(),
                expected,
                found,
                file: None,
                handed_in: Json::Null,
                marked: Err(NotMarked::NotHandedIn),
            },
        }),
        Ok(_) => Err(findings),
        Err(_) => {
            let says = format!("what was issued to {student} is no longer a site's file");
            findings.push(Finding::unusable("issued-altered", place, says).hint("restore the key as `exercise new` wrote it"));
            Err(findings)
        }
    }
}

/// The files that were handed in, in order, each once.
fn paths(args: &ExerciseMark) -> Result<Vec<PathBuf>, String> {
    let mut found = Vec::new();
    for path in &args.handed_in {
        if path.is_dir() {
            let mut listed = files::Listed::default();
            files::list(path, &["yaml", "yml", "json"], &mut listed).map_err(|error| error.to_string())?;
            files::say_left_out(path, ["site", "sites"], &listed.left_out).map_err(|error| error.to_string())?;
            found.append(&mut listed.files);
            if settled(&args.key).starts_with(settled(path)) {
                return Err(format!(
                    "the answers {} lie within the students' folder {}; keep them elsewhere",
                    terminal::path(&args.key),
                    terminal::path(path)
                ));
            }
        } else {
            found.push(path.clone());
        }
    }
    if found.is_empty() {
        return Err("nothing was handed in: no file of that folder is a site's".to_owned());
    }
    let mut seen = Vec::new();
    found.retain(|path| {
        let at = settled(path);
        let is_new = !seen.contains(&at);
        seen.push(at);
        is_new
    });
    Ok(found)
}

/// Takes one file: whose it is, and what it came to.
fn take(path: &Path, key: &ExerciseKeyFile<'_>, class: &mut [Member], assessor: &mut Assessor) -> Result<(), Vec<Finding>> {
    let name = terminal::path(path);
    let at_fault = |class: &mut [Member], root: Option<&Node>| {
        if let Some(member) = whose(class, root, path).filter(|member| member.answer.marked.is_err()) {
            member.answer.marked = Err(NotMarked::CouldNotTell);
            member.answer.file = Some(name.clone());
        }
    };
    let text = match files::text(path) {
        Ok(text) => text,
        Err(error) => {
            at_fault(class, None);
            return Err(vec![Finding::unusable("unreadable", Place::NOWHERE, error.to_string()).hint("have the student hand it in again")]);
        }
    };
    let source = assessor.sources.add(name.as_str(), text.as_str());
    let root = match assessor.read_site(source, &text) {
        Ok(root) => root,
        Err(findings) => {
            at_fault(class, parse(source, &text, &mut Vec::new()).as_ref());
            return Err(findings);
        }
    };
    let member = match belongs(&root, key, class) {
        Ok(member) => member,
        Err(findings) => {
            at_fault(class, None);
            return Err(findings);
        }
    };
    if let Some(earlier) = member.answer.file.clone() {
        let place = root.follow(["training", "student"]).0.place;
        let says = format!("a second answer of {}: {earlier} is one already", member.answer.student);
        return Err(vec![Finding::unusable("handed-in-twice", place, says).hint("leave in the folder the one that counts")]);
    }
    member.answer.file = Some(name.clone());
    let named = match diagnosis(&root, &member.issued) {
        Ok(named) => named,
        Err(findings) => {
            member.answer.marked = Err(NotMarked::CouldNotTell);
            return Err(findings);
        }
    };
    member.answer.handed_in = root.to_json();
    let marked = mark(&member.issued, &pins_of(key), &member.answer.handed_in, &member.answer.expected, &named, assessor);
    let (marked, findings) = match marked {
        Ok(marked) => (Ok(marked), Ok(())),
        Err(findings) => (Err(NotMarked::CouldNotTell), Err(findings)),
    };
    member.answer.marked = marked;
    findings
}

/// What the sites of an exercise are judged by, as a site's file pins it.
fn pins_of(key: &ExerciseKeyFile<'_>) -> Json {
    let pinned: Vec<(String, String)> = key.pinned.iter().map(|pin| (pin.profile.to_string(), pin.sha256.to_string())).collect();
    pins(&pinned)
}

/// Whose a file is that cannot be read: by what it says of itself, or by its name.
fn whose<'c>(class: &'c mut [Member], root: Option<&Node>, path: &Path) -> Option<&'c mut Member> {
    let says = root.and_then(|root| root.get("training")?.get("student")).map(|node| node.text().to_owned());
    let file = path.file_name().map(|name| name.to_string_lossy().into_owned());
    class.iter_mut().find(|member| match &says {
        Some(says) => member.answer.student == *says,
        None => Some(&member.file) == file.as_ref(),
    })
}

/// The student whose file it is.
fn belongs<'c>(root: &Node, key: &ExerciseKeyFile<'_>, class: &'c mut [Member]) -> Result<&'c mut Member, Vec<Finding>> {
    let Some(training) = root.get("training") else {
        let finding = Finding::unusable("no-exercise", root.place, "no exercise's file: it has no `training`");
        let hint = "have the student write the answer into the file that was given out, and change nothing else there";
        return Err(vec![finding.hint(hint)]);
    };
    let exercise = training.get("exercise").unwrap_or(training);
    if exercise.text() != &*key.exercise {
        let says = format!("of the exercise `{}`; the key is that of `{}`", exercise.text(), key.exercise);
        return Err(vec![Finding::unusable("other-exercise", exercise.place, says).hint("mark it by its own key")]);
    }
    let student = training.get("student").unwrap_or(training);
    let known: Vec<String> = class.iter().map(|member| member.answer.student.clone()).collect();
    class.iter_mut().find(|member| member.answer.student == student.text()).ok_or_else(|| {
        let hint = match nearest(student.text(), known.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("known: {}", known.join(", ")),
        };
        vec![Finding::unusable("unknown-student", student.place, format!("the key knows no student `{}`", student.text())).hint(hint)]
    })
}

/// What a student takes to be wrong; every slip in it at once.
fn diagnosis(root: &Node, issued: &Json) -> Result<Vec<Named>, Vec<Finding>> {
    let (mut all, mut findings) = (Vec::new(), Vec::new());
    for one in root.get("training").and_then(|training| training.get("diagnosis")).map(Node::items).unwrap_or_default() {
        let fault = one.get("fault").unwrap_or(one);
        if named(fault.text()).is_none() {
            findings.push(unknown_fault(fault.text(), fault.place));
        }
        let mut settings = Vec::new();
        for said in one.get("settings").map(Node::items).unwrap_or_default() {
            match spot(said.text(), issued) {
                Some(spot) => settings.push(spot),
                None => findings.push(unknown_setting(said.text(), said.place)),
            }
        }
        all.push(Named { fault: fault.text().to_owned(), settings });
    }
    if findings.is_empty() { Ok(all) } else { Err(findings) }
}

/// `overvoltage-1/threshold`, `garage-inverter/overvoltage-1/threshold`, `region-selected`.
fn spot(word: &str, issued: &Json) -> Option<(Option<String>, What)> {
    if let Some(what) = What::named(word) {
        return Some((None, what));
    }
    let (device, what) = word.split_once('/')?;
    issued["devices"].get(device)?;
    Some((Some(device.to_owned()), What::named(what)?))
}

fn unknown_fault(name: &str, place: Place) -> Finding {
    let hint = match nearest(name, FAULTS.iter().map(|kind| kind.name)) {
        Some(meant) => format!("did you mean `{meant}`? `asleft exercise faults` lists them all"),
        None => "`asleft exercise faults` lists them all".to_owned(),
    };
    Finding::unusable("unknown-fault", place, format!("no fault is called `{name}`")).hint(hint)
}

fn unknown_setting(name: &str, place: Place) -> Finding {
    let says = format!("`{name}` is no setting of a device of this site");
    let hint = "write it as `function/setting`, as in `overvoltage-1/threshold`, or `region-selected`, with the device in front where several are there";
    Finding::unusable("unknown-setting", place, says).hint(hint)
}
