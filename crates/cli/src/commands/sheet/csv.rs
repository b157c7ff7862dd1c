//! The sheet for a spreadsheet, which `--filled` reads back.

use super::blank::Blank;
use crate::render::spreadsheet::Spreadsheet;
use settings_model::files::SiteFile;
use settings_model::filled::Columns;
use std::io::{self, Write};

/// Writes every line of every device, with empty places for what was found and left.
pub fn write(out: &mut dyn Write, site: &SiteFile<'_>, blanks: &[Blank]) -> io::Result<()> {
    let Columns { device, setting, as_found, as_left, photo, site: site_column, unit, initials } = Columns::default();
    let mut table = Spreadsheet::to(out);
    // a row that is copied elsewhere takes its mark along
    let training = site.training_notice();
    let mark = |cell: &'static str| training.map(|_| cell).into_iter();
    let head = [
        &*site_column,
        &device,
        "task",
        "function",
        "meaning",
        &setting,
        "required",
        "complies within",
        &unit,
        &as_found,
        &as_left,
        &photo,
        &initials,
        "evidence asked",
        "may be changed by",
        "basis",
        "from",
    ];
    table.row(mark("training").chain(head))?;
    for blank in blanks {
        for line in &blank.lines {
            let place = if line.is_to_fill { "" } else { "-" };
            let row = [
                &*site.site,
                &blank.device,
                &line.task.to_lowercase(),
                line.title.0,
                &line.title.1,
                &line.key,
                &line.required,
                &line.complies_within,
                &line.unit,
                place,
                place,
                place,
                place,
                &line.evidence,
                &line.moved_by,
                line.basis,
                &line.from,
            ];
            table.row(training.into_iter().chain(row))?;
        }
    }
    table.flush()
}
