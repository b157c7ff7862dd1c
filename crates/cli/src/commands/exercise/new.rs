//! `asleft exercise new`: a folder of faulty sites, and the answers.

use super::key::{self, Head};
use super::places;
use super::students::{Student, students};
use crate::Exit;
use crate::args::ExerciseNew;
use crate::commands::operand::{Operand, OperandError, operand, write_fault};
use crate::commands::pin::pinned_profiles;
use crate::commands::{assessor, refused};
use crate::render::{self, table, wrapped};
use rules::assess::Assessor;
use rules::exercise::Draft;
use rules::exercise::chance::Chance;
use rules::exercise::drawing::{Drawn, Order, draw};
use rules::exercise::faults::FAULTS;
use rules::exercise::model::{MadeFor, models};
use rules::exercise::text::of_site;
use settings_model::files::training::NOTICE;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::io::{self, Write};

/// Draws a site for every student, and writes the files.
pub fn run(args: &ExerciseNew) -> io::Result<Exit> {
    let students = match students(&args.students) {
        Ok(students) => students,
        // each name that will not do by itself
        Err(says) => return says.lines().try_fold(Exit::CouldNotTell, |_, line| refused(line)),
    };
    if let Some(says) = places::refuse(&args.out, &args.key) {
        return refused(&says);
    }
    let mut assessor = assessor(&args.under)?;
    let exercise = match made(args, &students, &mut assessor) {
        Ok(exercise) => exercise,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let issued: Vec<String> = exercise.drawn.iter().map(|one| handout(one, &exercise.name)).collect();
    let files: Vec<(String, String)> = students.iter().map(|student| student.file.clone()).zip(issued.iter().cloned()).collect();
    let head = Head {
        exercise: &exercise.name,
        seed: exercise.seed,
        as_of: assessor.today,
        made_from: &args.of,
        faults: args.faults,
        pinned: &exercise.pinned,
    };
    let answers: Vec<(&Drawn, &str, &str)> = exercise
        .drawn
        .iter()
        .zip(&students)
        .zip(&issued)
        .map(|((drawn, student), issued)| (drawn, student.file.as_str(), issued.as_str()))
        .collect();
    places::write(&args.out, &files, &args.key, &key::text(&head, &answers))?;
    write_text(&mut terminal::stdout(), args, &exercise, assessor.today)?;
    Ok(Exit::Fine)
}

/// An exercise that was drawn.
struct Made {
    name: String,
    seed: u64,
    title: String,
    pinned: Vec<(String, String)>,
    drawn: Vec<Drawn>,
}

fn made(args: &ExerciseNew, students: &[Student], assessor: &mut Assessor) -> Result<Made, OperandError> {
    let (of, word, title) = made_for(args, assessor)?;
    let seed = args.seed.unwrap_or_else(|| RandomState::new().build_hasher().finish());
    // it tells exercises apart and does not lead back to the seed, by which anybody could draw the answers
    let name = format!("{word}-{:08x}", Chance::new(seed, u64::MAX).bits() as u32);
    let models = models(&of, assessor).map_err(OperandError::Words)?;
    let order = Order {
        seed,
        exercise: name.clone(),
        students: students.iter().map(|student| student.name.clone()).collect(),
        fewest: usize::from(args.faults.fewest),
        most: usize::from(args.faults.most),
    };
    let drawn = draw(&models, &order, assessor).map_err(OperandError::Words)?;
    let pinned = pins(&models[0], assessor);
    Ok(Made { name, seed, title, pinned, drawn })
}

/// The profiles that a site stands under.
fn pins(model: &Draft, assessor: &mut Assessor) -> Vec<(String, String)> {
    let layers = model.judged(assessor, |assessment, _| assessment.layers());
    pinned_profiles(&layers.unwrap_or_default(), assessor)
}

/// What is named, the word for it in the exercise's name, and its name in print.
fn made_for(args: &ExerciseNew, assessor: &mut Assessor) -> Result<(MadeFor, String, String), OperandError> {
    match operand(&args.of, assessor)? {
        Operand::Site(site) => {
            let tree = site.root.to_json();
            if tree.get("training").is_some() {
                return Err(OperandError::Words(format!("`{}` is an exercise's own file; name a complying site as the model", args.of)));
            }
            let title = tree["site"].as_str().unwrap_or_default().to_owned();
            Ok((MadeFor::Site(tree), "own".to_owned(), format!("the site {title}")))
        }
        Operand::Requirements(requirements) => {
            let (title, _) = requirements.of_one_region(&args.of)?;
            let network =
                requirements.overlay.as_ref().map(|overlay| (overlay.file.network.value.clone(), overlay.file.version.value.clone()));
            let region = requirements.regions.first().map(|(key, ..)| key.clone()).unwrap_or_default();
            if region.is_empty() {
                return Err(OperandError::Words(format!(
                    "{} sets nothing on a device; name the standard of its devices, or a network",
                    requirements.title
                )));
            }
            let word = network
                .as_ref()
                .map_or_else(|| requirements.standard.split('/').next().unwrap_or_default().to_owned(), |(key, _)| key.clone());
            Ok((
                MadeFor::Requirements { network: network.map(|(key, version)| (key, version.0)), standard: requirements.standard, region },
                word,
                title,
            ))
        }
    }
}

/// What a student is given: nothing in it says more than the next one's.
fn handout(drawn: &Drawn, exercise: &str) -> String {
    format!(
        "# {NOTICE}
# An invented site, of the exercise {exercise}. Its devices were found as `as-found` says.
# What is wrong there, and what has to be set? `asleft sheet` says what is required, `asleft exercise
# faults` names what may have happened. Write what you would leave beside `as-found`, as `as-left`:
# the whole of it, not only what you change. Write what you take to be wrong under `training`, fault
# by fault, each with settings that show it:
#   diagnosis: [{{ fault: name-of-a-fault, settings: [device/function/setting, device/region-selected] }}]
# Change nothing else.
{}",
        of_site(&drawn.site)
    )
}

fn write_text(out: &mut dyn Write, args: &ExerciseNew, made: &Made, as_of: jiff::civil::Date) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{NOTICE}")?;
    writeln!(out, "Exercise {}  {} sites", made.name, made.drawn.len())?;
    writeln!(out, "  {}", wrapped(&format!("made for {}, as of {as_of}", made.title), width - 2, 4))?;
    writeln!(out, "  students' files: {}", terminal::path(&args.out))?;
    writeln!(out, "  answers: {} (keep them from the students)", terminal::path(&args.key))?;
    let mut table = table::table(["Students", "Fault"], width - 2);
    for kind in FAULTS {
        let count = made.drawn.iter().filter(|one| one.faults.iter().any(|fault| fault.kind.name == kind.name)).count();
        if count > 0 {
            table.add_row([count.to_string(), kind.name.to_owned()]);
        }
    }
    render::heading(out, "DRAWN", "how many students have each fault")?;
    writeln!(out, "{}", table::lines(&table, &[]))?;
    let (fewest, most) = (args.faults.fewest, args.faults.most);
    let faults = if fewest == most { fewest.to_string() } else { format!("{fewest}..{most}") };
    let again = format!(
        "The same again: `asleft exercise new {} --seed {} --students {} --faults {faults} --as-of {as_of}`, with the same profiles.",
        args.of, made.seed, args.students
    );
    writeln!(out, "\n{}", wrapped(&again, width, 2))?;
    writeln!(
        out,
        "{}",
        wrapped("Whoever knows the seed can draw the answers: leave `--seed` out, or choose one that nobody guesses.", width, 2)
    )
}
