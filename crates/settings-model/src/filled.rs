//! Sheets filled by hand: a table with what each setting was found and left with, in place of what a
//! site's file says of its devices.
//!
//! The rows become the same tree that a site's file is read from, each value at the place of its cell;
//! so everything that is said of a site is said of the sheet, at the right cell. No row is dropped: one
//! that matches nothing is a finding.

mod cells;
mod columns;
mod entries;

use crate::catalogue::SettingId;
use crate::document::{Kind, Node};
use crate::files;
use crate::finding::{Finding, MOST_FAULTS, in_order};
use crate::labels::LabelMap;
use crate::library::NotUsed;
use crate::reader;
use crate::source::{Place, SourceId};
use cells::{Cell, rows};
pub use columns::Columns;
use columns::Positions;
pub(crate) use columns::same_column;
pub use entries::OF_HOLDING;
use entries::{About, Entry, INSTALLATION, of_another_site};
use std::cmp::Ordering;
use std::rc::Rc;

/// Finds the label map of a device by its name in the site's file.
pub type LabelsOf<'l> = dyn Fn(&str) -> Result<Option<Rc<LabelMap>>, NotUsed> + 'l;

/// Lays a filled sheet over a site's tree, and checks what came of it: devices that the sheet speaks of
/// hold what it says, and nothing else. A row may name its setting in the words of the device's display,
/// which `labels` knows; its value is then as the display shows it, for [`crate::labels::displayed()`].
///
/// # Errors
/// Every row and column that cannot be used, and every value that does not fit its setting.
pub fn laid_over(site: &Node, source: SourceId, text: &str, columns: &Columns, labels: &LabelsOf<'_>) -> Result<Node, Vec<Finding>> {
    let table = rows(source, text).map_err(|finding| vec![*finding])?;
    let mut findings = Vec::new();
    let Some((heading, table)) = table.split_first() else {
        let place = Place { source, start: 0, end: 0 };
        return Err(vec![
            Finding::unusable("empty-sheet", place, "the sheet is empty").hint("`asleft sheet SITE --format csv` prints one to fill in"),
        ]);
    };
    let Some(positions) = Positions::of(heading, columns, &mut findings) else {
        return Err(heading_below(text, columns).map_or(findings, |line| vec![above_the_heading(heading, line)]));
    };
    let (mut filled, mut others): (Vec<Holdings>, Vec<(&Cell, usize)>) = (Vec::new(), Vec::new());
    for row in table {
        if findings.len() > MOST_FAULTS {
            break; // more than anybody is told
        }
        if let Some(finding) = misshapen(row, heading) {
            findings.push(finding);
            continue;
        }
        if let Some(named) = of_another_site(row, &positions, site) {
            match others.iter_mut().find(|(other, _)| other.text == named.text) {
                Some((_, rows)) => *rows += 1,
                None => others.push((named, 1)),
            }
            continue;
        }
        if let Some(entry) = Entry::of(row, &positions, (site, labels), &mut findings) {
            put(&entry, &mut filled, &mut findings);
        }
    }
    findings.extend(others.into_iter().map(|(named, rows)| rows_of_another_site(named, rows, site)));
    if filled.is_empty() && findings.is_empty() {
        let place = heading.first().map_or(Place::NOWHERE, |cell| cell.place);
        let finding = Finding::unusable("nothing-filled-in", place, "nothing is filled in on this sheet");
        findings.push(finding.hint("write what was found and what was left in its two columns"));
    }
    match reader::checked(with_holdings(site, &filled), files::Kind::Site) {
        Ok(site) if findings.is_empty() => Ok(site),
        checked => {
            findings.extend(checked.err().unwrap_or_default());
            Err(in_order(findings))
        }
    }
}

/// The line in which a heading stands after all, below a title or notes.
fn heading_below(text: &str, columns: &Columns) -> Option<usize> {
    /// So many lines from the top are looked at.
    const LOOKED_AT: usize = 20;
    let mut start = 0;
    for (number, line) in text.split_inclusive('\n').enumerate().take(LOOKED_AT) {
        let table = rows(SourceId(0), line).ok();
        let is_heading = table.and_then(|table| Positions::of(table.first()?, columns, &mut Vec::new())).is_some();
        if is_heading && start > 0 {
            return Some(number + 1);
        }
        start += line.len();
    }
    None
}

fn above_the_heading(first: &[Cell], line: usize) -> Finding {
    let place = first.first().map_or(Place::NOWHERE, |cell| cell.place);
    let finding =
        Finding::unusable("title-above-heading", place, format!("the heading of the columns stands in line {line}, and not at the top"));
    finding.hint("delete the rows above it, and save the sheet again")
}

/// One message for all rows of a site that is not the one that the sheet is laid over.
fn rows_of_another_site(named: &Cell, rows: usize, site: &Node) -> Finding {
    let own = site.get("site").map(Node::text).unwrap_or_default();
    let are = if rows == 1 { "1 row of this sheet is".to_owned() } else { format!("{rows} rows of this sheet are") };
    let finding = Finding::unusable("another-site", named.place, format!("{are} of the site `{}`", named.text));
    finding.hint(format!("it was laid over the file of `{own}`; name the file of `{}` instead, or take its rows out", named.text))
}

/// A row of more or fewer cells than the heading: a value in it may stand in a column that it is not meant for.
fn misshapen(row: &[Cell], heading: &[Cell]) -> Option<Finding> {
    let (cells, columns) = (row.len(), heading.len());
    let place = row.get(columns).or(row.last()).map_or(Place::NOWHERE, |cell| cell.place);
    let cells_of_it = if cells == 1 { "1 cell".to_owned() } else { format!("{cells} cells") };
    let finding = Finding::unusable("row-of-another-shape", place, format!("this row has {cells_of_it}, and the heading has {columns}"));
    match cells.cmp(&columns) {
        Ordering::Equal => None,
        Ordering::Greater => {
            Some(finding.hint("write decimals with a point, and put a cell with the separator in it into quotation marks"))
        }
        Ordering::Less => Some(finding.hint("keep every column of the sheet, empty where nothing was seen")),
    }
}

/// How many rows a sheet has below its heading, how many of them say what was found or left, and what is passed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rows {
    /// All but empty ones.
    pub read: usize,
    /// Those with a value as found or as left.
    pub with_value: usize,
    /// The names of columns that nobody reads.
    pub columns_not_read: Vec<String>,
}

/// Counts the rows of a sheet; `None` where it is no table with the columns that are needed.
#[must_use]
pub fn count(text: &str, columns: &Columns) -> Option<Rows> {
    let table = rows(SourceId(0), text).ok()?;
    let (heading, table) = table.split_first()?;
    let positions = Positions::of(heading, columns, &mut Vec::new())?;
    let says = |row: &&Vec<Cell>| positions.moments.iter().any(|position| row.get(*position).is_some_and(Cell::is_filled));
    let not_read = heading.iter().enumerate().filter(|(position, cell)| !positions.has(*position) && !cell.text.is_empty());
    let columns_not_read = not_read.map(|(_, cell)| cell.text.clone()).collect();
    Some(Rows { read: table.len(), with_value: table.iter().filter(says).count(), columns_not_read })
}

/// The site that the first row of a sheet names.
#[must_use]
pub fn site_named(text: &str, columns: &Columns) -> Option<String> {
    let table = rows(SourceId(0), text).ok()?;
    let (heading, table) = table.split_first()?;
    let site = Positions::of(heading, columns, &mut Vec::new())?.site?;
    let mut named = table.iter().filter_map(|row| row.get(site)).filter(|cell| cell.is_filled());
    named.next().map(|cell| cell.text.clone())
}

/// What one device was found and left with.
struct Holdings {
    device: String,
    moments: [Vec<FilledValue>; 2],
}

/// One thing that a device held.
struct FilledValue {
    about: About,
    /// Where the sheet names it.
    named: Place,
    node: Node,
}

fn put(entry: &Entry<'_>, filled: &mut Vec<Holdings>, findings: &mut Vec<Finding>) {
    let at = filled.iter().position(|holdings| holdings.device == entry.device.text).unwrap_or_else(|| {
        filled.push(Holdings { device: entry.device.text.clone(), moments: [Vec::new(), Vec::new()] });
        filled.len() - 1
    });
    let stated = match entry.nodes() {
        Ok(stated) => stated,
        Err(finding) => return findings.push(*finding),
    };
    for (moment, nodes) in filled[at].moments.iter_mut().zip(stated) {
        for (about, node) in nodes {
            match moment.iter().find(|held| held.about == about) {
                Some(first) => {
                    let finding = Finding::unusable("row-twice", node.place, format!("`{}` is stated twice", entry.setting.text));
                    findings.push(finding.because(first.node.place, "here first").hint("keep one of the two rows"));
                }
                None => moment.push(FilledValue { about, named: entry.setting.place, node }),
            }
        }
    }
}

fn text(text: &str, place: Place) -> Node {
    Node { place, kind: Kind::Text(text.to_owned()) }
}

/// The site's tree with what the sheet states.
fn with_holdings(site: &Node, filled: &[Holdings]) -> Node {
    let mut site = site.clone();
    let Kind::Map(entries) = &mut site.kind else { return site };
    if let Some(stated) = filled.iter().find(|holdings| holdings.device == INSTALLATION).map(|holdings| &holdings.moments[1])
        && let Some(first) = stated.first()
    {
        entries.retain(|(key, _)| key.text() != INSTALLATION);
        entries.push((text(INSTALLATION, first.named), by_function(stated, first.named)));
    }
    let Some((_, devices)) = entries.iter_mut().rfind(|(key, _)| key.text() == "devices") else { return site };
    let Kind::Map(devices) = &mut devices.kind else { return site };
    for (name, device) in devices {
        let Some(holdings) = filled.iter().find(|holdings| holdings.device == name.text()) else { continue };
        let Kind::Map(parts) = &mut device.kind else { continue };
        // what it was left with before says nothing of a device that was found anew
        if holdings.moments[1].is_empty() {
            parts.retain(|(own, _)| own.text() != "as-left");
        }
        for (key, stated) in ["as-found", "as-left"].into_iter().zip(&holdings.moments) {
            if let Some(first) = stated.first() {
                let open = parts.iter().find(|(own, _)| own.text() == key).and_then(|(_, holding)| left_open_by_a_reading(holding));
                parts.retain(|(own, _)| own.text() != key);
                parts.push((text(key, first.named), holding(stated, open, first.named)));
            }
        }
    }
    site
}

/// What a program that read the device could not tell stays open, whatever somebody types beside it.
fn left_open_by_a_reading(holding: &Node) -> Option<(Node, Node)> {
    let (key, captured) = holding.entry("captured")?;
    let is_open = captured.get("left-open").is_some_and(|open| !open.items().is_empty());
    is_open.then(|| (key.clone(), captured.clone()))
}

fn holding(stated: &[FilledValue], open: Option<(Node, Node)>, place: Place) -> Node {
    let whole = stated.iter().filter_map(|held| match held.about {
        About::Holding(word) => Some((text(word, held.named), held.node.clone())),
        About::Setting(_) | About::Displayed(_) => None,
    });
    let mut parts: Vec<(Node, Node)> = whole.chain(open).collect();
    parts.push((text("settings", place), by_function(stated, place)));
    let displayed = stated.iter().filter_map(|held| match &held.about {
        About::Displayed(label) => Some((text(label, held.named), held.node.clone())),
        About::Setting(_) | About::Holding(_) => None,
    });
    let displayed: Vec<(Node, Node)> = displayed.collect();
    if !displayed.is_empty() {
        parts.push((text("displayed", place), Node { place, kind: Kind::Map(displayed) }));
    }
    Node { place, kind: Kind::Map(parts) }
}

/// Settings under their functions, as a site's file has them.
fn by_function(stated: &[FilledValue], place: Place) -> Node {
    let map = |entries| Node { place, kind: Kind::Map(entries) };
    let mut functions: Vec<(Node, Vec<(Node, Node)>)> = Vec::new();
    for held in stated {
        let About::Setting(setting) = held.about else { continue };
        let entry = (text(setting.parameter().key, held.named), held.node.clone());
        match functions.iter_mut().find(|(function, _)| function.text() == function_key(setting)) {
            Some((_, entries)) => entries.push(entry),
            None => functions.push((text(function_key(setting), held.named), vec![entry])),
        }
    }
    map(functions.into_iter().map(|(key, entries)| (key, map(entries))).collect())
}

fn function_key(setting: SettingId) -> &'static str {
    setting.function().key
}
