//! The students of a class, and the names of their files.

use crate::files;
use std::collections::BTreeMap;
use std::path::Path;

/// A student, and the name of the file.
#[derive(Debug, PartialEq, Eq)]
pub struct Student {
    /// A number, or a name that the trainer chose.
    pub name: String,
    /// The name of the student's file.
    pub file: String,
}

/// The most students of one class: more is a slip of the keyboard.
const MOST: usize = 1000;

/// So many students, or those that a file names, a line each; `#` begins a remark.
///
/// # Errors
/// In words: what is wrong with the number or the names, all of it.
pub fn students(asked: &str) -> Result<Vec<Student>, String> {
    if let Ok(count) = asked.trim().parse::<usize>() {
        if count == 0 || count > MOST {
            return Err(format!("{count} students: name from 1 to {MOST}"));
        }
        let digits = count.to_string().len().max(2);
        let numbered = (1..=count).map(|n| format!("student-{n:0digits$}"));
        return Ok(numbered.map(|name| Student { file: format!("{name}.yaml"), name }).collect());
    }
    let path = Path::new(asked);
    if !path.is_file() {
        return Err(format!("neither a number of students nor a file of their names: `{asked}`"));
    }
    let text = files::text(path).map_err(|error| error.to_string())?;
    named(asked, &text)
}

/// The students of a file of names.
fn named(file: &str, text: &str) -> Result<Vec<Student>, String> {
    let (mut students, mut faults) = (Vec::new(), Vec::new());
    let mut by_file: BTreeMap<String, usize> = BTreeMap::new();
    for (n, line) in text.trim_start_matches('\u{feff}').lines().enumerate().map(|(n, line)| (n + 1, line.trim())) {
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        // a name becomes a file's name and a cell of a spreadsheet
        let is_plain = |c: char| c.is_alphanumeric() || " .-_'".contains(c);
        if !line.chars().all(is_plain) || !line.starts_with(char::is_alphanumeric) || line.chars().count() > 60 {
            let shown: String = line.chars().filter(|c| !c.is_control()).take(60).collect();
            faults.push(format!(
                "{file}:{n}: `{shown}` will not do as a name; use up to 60 letters, digits, spaces and `. - _ '`, with a letter or digit first"
            ));
            continue;
        }
        let slug = slug(line);
        if let Some(earlier) = by_file.insert(slug.clone(), n) {
            faults.push(format!("{file}:{n}: `{line}` would have the same file as line {earlier}; tell the two apart"));
            continue;
        }
        students.push(Student { name: line.to_owned(), file: format!("{slug}.yaml") });
    }
    if students.is_empty() && faults.is_empty() {
        faults.push(format!("{file}: names nobody; write a name a line"));
    }
    if students.len() > MOST {
        faults.push(format!("{file}: {} names; a class has at most {MOST}", students.len()));
    }
    if faults.is_empty() { Ok(students) } else { Err(faults.join("\n")) }
}

/// A name as that of a file.
fn slug(name: &str) -> String {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_names() {
        let names = |students: Vec<Student>| students.into_iter().map(|student| student.file).collect::<Vec<_>>();
        assert_eq!(names(students("2").unwrap()), ["student-01.yaml", "student-02.yaml"]);
        assert_eq!(names(students("100").unwrap())[99], "student-100.yaml");
        assert_eq!(names(named("c", "# a class\nBench 1\n\n bench 2.b \r\n").unwrap()), ["bench-1.yaml", "bench-2-b.yaml"]);
        assert!(students("0").is_err() && students("1001").is_err() && students("nowhere.list").is_err());
    }

    #[test]
    fn every_bad_name_is_told() {
        let said = named("c", "../up\n=1+1\nA b\na-B\nx\u{7}\n").unwrap_err();
        assert_eq!(said.lines().count(), 4, "{said}");
        assert!(said.contains("c:4: `a-B` would have the same file as line 3"), "{said}");
        assert!(named("c", "# nobody\n").is_err());
    }
}
