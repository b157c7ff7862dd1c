//! Marks as they are shown: for people, for a spreadsheet, for programs.

use super::mark::{Answer, NotMarked};
use crate::render::spreadsheet::Spreadsheet;
use crate::render::{self, table, wrapped};
use crate::report::exercise::{CorrectedReport, FaultMarkReport, MarkReport, MarkSummary, StudentFaultReport, StudentReport};
use rules::exercise::Draft;
use rules::exercise::drawing::said;
use rules::exercise::faults::FAULTS;
use rules::exercise::marking::MarkedFault;
use settings_model::files::ExerciseKeyFile;
use settings_model::files::training::NOTICE;
use std::io::{self, Write};

/// Everything that is said of a class.
pub fn report(key: &ExerciseKeyFile<'_>, answers: &[Answer], not_marked: Vec<String>) -> MarkReport {
    let students: Vec<StudentReport> = answers.iter().map(student).collect();
    let of = |outcome: &str| students.iter().filter(|student| student.outcome == outcome).count();
    let summary = MarkSummary {
        students: students.len(),
        all_right: of("all-right"),
        not_all_right: of("not-all-right"),
        could_not_tell: of("could-not-tell"),
        not_handed_in: of("not-handed-in"),
    };
    MarkReport {
        training: NOTICE,
        exercise: key.exercise.to_string(),
        made_from: key.made_from.to_string(),
        as_of: key.as_of.0.to_string(),
        summary,
        faults: by_fault(&students),
        students,
        not_marked,
    }
}

fn student(answer: &Answer) -> StudentReport {
    let none = StudentReport {
        student: answer.student.clone(),
        file: answer.file.clone(),
        outcome: "not-handed-in",
        marks: 0,
        out_of: 2 * answer.expected.len(),
        verdict: None,
        faults: Vec::new(),
        named_in_error: Vec::new(),
        newly_broken: Vec::new(),
        left_out: Vec::new(),
        altered: Vec::new(),
    };
    match &answer.marked {
        Err(NotMarked::NotHandedIn) => none,
        Err(NotMarked::CouldNotTell) => StudentReport { outcome: "could-not-tell", ..none },
        Ok(marked) => StudentReport {
            outcome: if marked.is_all_right() { "all-right" } else { "not-all-right" },
            marks: marked.marks(),
            verdict: Some(marked.verdict.word()),
            faults: marked.faults.iter().map(|fault| of_fault(fault, answer)).collect(),
            named_in_error: marked.not_there.clone(),
            newly_broken: marked.newly_broken.iter().map(ToString::to_string).collect(),
            left_out: marked.left_out.iter().map(ToString::to_string).collect(),
            altered: marked.altered.clone(),
            ..none
        },
    }
}

fn of_fault(fault: &MarkedFault, answer: &Answer) -> StudentFaultReport {
    let handed_in = Draft(answer.handed_in.clone());
    let rights = answer.expected.iter().flat_map(|expected| &expected.touched);
    let right = |spot| rights.clone().find(|(other, _)| other == spot).and_then(|(_, right)| right.clone());
    StudentFaultReport {
        fault: fault.fault.clone(),
        found: fault.is_found,
        settings_named: fault.named,
        mended: fault.is_mended(),
        settings: fault
            .settings
            .iter()
            .map(|(spot, correction)| CorrectedReport {
                setting: spot.to_string(),
                outcome: correction.word(),
                found: answer.found.get(spot).cloned(),
                left: said(&handed_in, spot),
                right: right(spot),
            })
            .collect(),
    }
}

/// The faults of the class, those that were missed most first; where as many missed them, those that fewer mended.
fn by_fault(students: &[StudentReport]) -> Vec<FaultMarkReport> {
    let of_kind = |name: &'static str| {
        let having: Vec<&StudentFaultReport> =
            students.iter().flat_map(|student| &student.faults).filter(|fault| fault.fault == name).collect();
        FaultMarkReport {
            fault: name.to_owned(),
            students: having.len(),
            found: having.iter().filter(|fault| fault.found).count(),
            mended: having.iter().filter(|fault| fault.mended).count(),
            named_in_error: students.iter().filter(|student| student.named_in_error.iter().any(|other| other == name)).count(),
        }
    };
    let mut faults: Vec<FaultMarkReport> = FAULTS.iter().map(|kind| of_kind(kind.name)).collect();
    faults.retain(|fault| fault.students + fault.named_in_error > 0);
    faults.sort_by_key(|fault| {
        let missed = fault.students - fault.found;
        (std::cmp::Reverse(missed), std::cmp::Reverse(fault.students - fault.mended), std::cmp::Reverse(fault.named_in_error))
    });
    faults
}

/// For programs.
pub fn write_json(out: &mut dyn Write, report: &MarkReport) -> io::Result<()> {
    render::json(&mut *out, report)
}

/// For a spreadsheet: a row for each fault of each student, and for each that was named in error.
pub fn write_csv(out: &mut dyn Write, report: &MarkReport) -> io::Result<()> {
    let mut table = Spreadsheet::to(out);
    table.row([
        "training",
        "student",
        "outcome",
        "marks",
        "out of",
        "fault",
        "diagnosis",
        "mended",
        "right",
        "wrong",
        "not stated",
        "remarks",
    ])?;
    for student in &report.students {
        let head = [NOTICE, &student.student, student.outcome, &student.marks.to_string(), &student.out_of.to_string()].map(str::to_owned);
        let mut rows: Vec<[String; 7]> = Vec::new();
        for fault in &student.faults {
            let of = |outcome: &str| {
                let settings = fault.settings.iter().filter(|setting| setting.outcome == outcome);
                settings.map(|setting| setting.setting.as_str()).collect::<Vec<_>>().join("; ")
            };
            let mended = if fault.mended { "yes" } else { "no" };
            let diagnosis = if fault.found { "found" } else { "missed" };
            rows.push([
                fault.fault.clone(),
                diagnosis.to_owned(),
                mended.to_owned(),
                of("right"),
                of("wrong"),
                of("not-stated"),
                String::new(),
            ]);
        }
        for fault in &student.named_in_error {
            rows.push([fault, "not there", "", "", "", "", ""].map(str::to_owned));
        }
        for (words, spots) in beside(student) {
            rows.push(["", "", "", "", "", "", &format!("{words}: {}", spots.join("; "))].map(str::to_owned));
        }
        if rows.is_empty() {
            rows.push(Default::default());
        }
        for row in rows {
            table.row(head.iter().chain(&row))?;
        }
    }
    table.flush()
}

/// What is amiss beside the faults of the exercise.
fn beside(student: &StudentReport) -> impl Iterator<Item = (&'static str, &Vec<String>)> {
    let all = [
        ("newly broken", &student.newly_broken),
        ("left out", &student.left_out),
        ("changed beside as-left, and judged as it was issued", &student.altered),
    ];
    all.into_iter().filter(|(_, spots)| !spots.is_empty())
}

/// For people.
pub fn write_text(out: &mut dyn Write, report: &MarkReport) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{NOTICE}")?;
    writeln!(out, "Exercise {}  marked as of {}", report.exercise, report.as_of)?;
    write_students(out, report, width)?;
    write_faults(out, report, width)?;
    for student in report.students.iter().filter(|student| student.outcome == "not-all-right") {
        write_student(out, student, width)?;
    }
    for file in &report.not_marked {
        writeln!(out, "\nnot marked: {file}")?;
    }
    let MarkSummary { students, all_right, not_all_right, could_not_tell, not_handed_in } = report.summary;
    let counts = [
        (all_right, "all right"),
        (not_all_right, "not all right"),
        (could_not_tell, "could not be read"),
        (not_handed_in, "not handed in"),
    ];
    let counts: Vec<String> = counts.iter().filter(|(count, _)| *count > 0).map(|(count, words)| format!("{count} {words}")).collect();
    writeln!(out, "\n{students} students: {}", counts.join(", "))
}

fn write_students(out: &mut dyn Write, report: &MarkReport, width: usize) -> io::Result<()> {
    render::heading(out, "MARKS", "+1 for each fault found or mended, -1 for each invented or newly made")?;
    let mut table = table::table(["Student", "Marks", "Found", "Mended", "Not there", "Broken", "Left out", "Outcome"], width - 2);
    table::whole(&mut table, 0, report.students.iter().map(|student| student.student.as_str()));
    for student in &report.students {
        let is_marked = student.verdict.is_some();
        let count = |count: usize| if is_marked { count.to_string() } else { "-".to_owned() };
        let of = |count: usize, all: usize| if is_marked { format!("{count} of {all}") } else { "-".to_owned() };
        let found = student.faults.iter().filter(|fault| fault.found).count();
        let mended = student.faults.iter().filter(|fault| fault.mended).count();
        table.add_row(
            [
                student.student.clone(),
                of(student.marks, student.out_of),
                of(found, student.faults.len()),
                of(mended, student.faults.len()),
                count(student.named_in_error.len()),
                count(student.newly_broken.len()),
                count(student.left_out.len()),
                student.outcome.replace('-', " "),
            ]
            .map(|cell| render::unbroken(&cell)),
        );
    }
    writeln!(out, "{}", table::lines(&table, &[]))
}

fn write_faults(out: &mut dyn Write, report: &MarkReport, width: usize) -> io::Result<()> {
    if report.faults.is_empty() {
        return Ok(());
    }
    render::heading(out, "BY FAULT", "of the files that were marked, most missed first")?;
    let mut table = table::table(["Fault", "Students", "Missed", "Mended", "Named where it is not"], width - 2);
    for fault in &report.faults {
        let cells = [fault.students, fault.students - fault.found, fault.mended, fault.named_in_error].map(|count| count.to_string());
        table.add_row(std::iter::once(fault.fault.clone()).chain(cells));
    }
    writeln!(out, "{}", table::lines(&table, &[]))
}

fn write_student(out: &mut dyn Write, student: &StudentReport, width: usize) -> io::Result<()> {
    render::heading(out, &student.student, &format!("{} of {} marks", student.marks, student.out_of))?;
    let mut line = |text: String, indent: usize| writeln!(out, "{:indent$}{}", "", wrapped(&text, width - indent, indent + 2));
    for fault in student.faults.iter().filter(|fault| !fault.found || !fault.mended) {
        let diagnosis = if fault.found { "found" } else { "missed" };
        let mended = if fault.mended { "mended" } else { "not mended" };
        line(format!("{}: {diagnosis}, {mended}", fault.fault), 2)?;
        if !fault.found {
            let spots: Vec<&str> = fault.settings.iter().map(|setting| setting.setting.as_str()).collect();
            line(format!("shows at {}", spots.join(", ")), 4)?;
        }
        for setting in fault.settings.iter().filter(|setting| setting.outcome != "right") {
            let found = setting.found.as_deref().unwrap_or("nothing stated");
            let left = setting.left.as_deref().unwrap_or("nothing");
            let right = setting.right.as_ref().map(|right| format!(", right is {right}")).unwrap_or_default();
            line(format!("{}: found {found}, left {left}{right}", setting.setting), 4)?;
        }
    }
    if !student.named_in_error.is_empty() {
        line(format!("named, and not there: {}", student.named_in_error.join(", ")), 2)?;
    }
    beside(student).try_for_each(|(words, spots)| line(format!("{words}: {}", spots.join(", ")), 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Marks and their parts are those of the model; a class's order is by what was missed.
    #[test]
    fn most_missed_first() {
        let fault = |name: &str, found, mended| StudentFaultReport {
            fault: name.to_owned(),
            found,
            settings_named: 0,
            mended,
            settings: Vec::new(),
        };
        let of = |faults| StudentReport {
            student: String::new(),
            file: None,
            outcome: "not-all-right",
            marks: 0,
            out_of: 0,
            verdict: None,
            faults,
            named_in_error: vec!["stage-off".to_owned()],
            newly_broken: Vec::new(),
            left_out: Vec::new(),
            altered: Vec::new(),
        };
        let students = [
            of(vec![fault("sensor-reversed", true, true), fault("digits-swapped", false, true)]),
            of(vec![fault("sensor-reversed", true, false), fault("digits-swapped", false, false)]),
        ];
        let order: Vec<(String, usize, usize)> = by_fault(&students).into_iter().map(|one| (one.fault, one.found, one.mended)).collect();
        let expected = [("digits-swapped", 0, 1), ("sensor-reversed", 2, 1), ("stage-off", 0, 0)];
        assert_eq!(order, expected.map(|(name, found, mended)| (name.to_owned(), found, mended)));
    }
}
