//! A log in several files that follow one another, read as one.

use super::{Layout, Log, LogError, Owner, ReadOptions, Row, Source};
use std::collections::VecDeque;
use std::path::PathBuf;

/// Files of one log: what is open, and what comes after it.
struct Chained {
    open: Box<dyn Source>,
    layout: Layout,
    rest: VecDeque<PathBuf>,
    /// Which of the later files is open.
    name: Option<String>,
    options: ReadOptions,
    last: Option<Row>,
}

impl Log {
    /// The same log with the files that follow it: of the same columns, each later than all before.
    #[must_use]
    pub fn followed_by(self, files: &[PathBuf], options: &ReadOptions) -> Self {
        if files.is_empty() {
            return self;
        }
        let Self { layout, source } = self;
        let rest = files.iter().cloned().collect();
        let chained = Chained { open: source, layout: layout.clone(), rest, name: None, options: options.clone(), last: None };
        Self { layout, source: Box::new(chained) }
    }
}

impl Chained {
    fn open_next(&mut self, file: PathBuf) -> Result<(), LogError> {
        let name = terminal::path(&file);
        let Log { layout, source } = Log::open(&file, &self.options).map_err(|fault| of_file(fault, &name))?;
        if !layout.is_like(&self.layout) {
            let says = format!("{name}: its columns or its clock differ from those of the files before it");
            let help = "export all parts of one log with the same columns and the same zone";
            return Err(LogError::new("parts-differ", says, help));
        }
        (self.open, self.name) = (source, Some(name));
        Ok(())
    }
}

/// A fault of a later file says which.
fn of_file(fault: LogError, name: &str) -> LogError {
    let line = fault.place.as_ref().map_or_else(String::new, |(line, ..)| format!(":{line}"));
    LogError { says: format!("{name}{line}: {}", fault.says), place: None, ..fault }
}

impl Source for Chained {
    fn more(&mut self, rows: &mut Vec<Row>) -> Result<(), LogError> {
        loop {
            let read = self.open.more(rows);
            read.map_err(|fault| self.name.as_deref().map_or(fault.clone(), |name| of_file(fault, name)))?;
            if let (Some(first), Some(last), Some(name)) = (rows.first(), self.last, &self.name)
                && first.at <= last.at
            {
                let says = format!("{name} begins before the file before it ends");
                let help = "name files so that their order is that of time, and have each time in one of them";
                return Err(LogError::new("time-goes-back", says, help));
            }
            self.last = rows.last().copied().or(self.last);
            match (rows.is_empty(), self.rest.pop_front()) {
                (true, Some(file)) => self.open_next(file)?,
                (_, next) => {
                    next.into_iter().for_each(|file| self.rest.push_front(file));
                    return Ok(());
                }
            }
        }
    }

    fn next_owner(&mut self) -> Result<Option<Owner>, LogError> {
        Ok(None)
    }
}

impl Layout {
    /// Whether rows of both can stand in one log.
    fn is_like(&self, other: &Self) -> bool {
        let columns = |layout: &Self| -> Vec<_> {
            let of = |column: &super::Column| (column.slot, column.scale == 0.0, column.is_line_to_line, column.is_absorbed);
            layout.columns.iter().map(of).collect()
        };
        self.clock == other.clock && columns(self) == columns(other)
    }
}
