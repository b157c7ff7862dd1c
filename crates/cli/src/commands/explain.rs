//! `asleft explain`: everything about a setting, a function or a rule.

use super::{assessor, refused, site_tree};
use crate::Exit;
use crate::args::Explain;
use crate::render::{self, wrapped};
use crate::walk::write_messages;
use rules::assess::{Assessment, Assessor};
use rules::book::Book;
use rules::phrase::{adjustable, complies_within, known_phrase, origin, reading_phrase};
use rules::practice::{self, RULES};
use rules::sheet::with_unknown;
use settings_model::attested::Reads;
use settings_model::catalogue::{Equipment, HeldBy, MEANINGS_OF_TIME, SettingId, Shape};
use settings_model::claim::{Citation, LayerId, Provenances};
use settings_model::entry::Stated;
use settings_model::facts::Facts;
use settings_model::files::{CitationText, SiteFile};
use settings_model::finding::nearest;
use settings_model::labels::Label;
use settings_model::layer::LayerReader;
use settings_model::library::Request;
use settings_model::reader;
use settings_model::source::Sources;
use settings_model::ties::{Example, TIES, Tie};
use std::io::{self, Write};

/// Explains whatever the word names.
pub fn run(args: &Explain) -> io::Result<Exit> {
    let mut out = terminal::stdout();
    let settings = named(&args.setting);
    if settings.is_empty() {
        return match (TIES.iter().find(|tie| tie.name == args.setting), practice::named(&args.setting)) {
            (Some(tie), _) => write_tie(&mut out, tie).map(|()| Exit::Fine),
            (None, Some(rule)) => write_page(&mut out, rule.name, rule.sentence, rule.source, rule.example).map(|()| Exit::Fine),
            (None, None) => unknown(&args.setting),
        };
    }
    let function = settings[0].function();
    writeln!(out, "{}  ({})", function.title, function.key)?;
    writeln!(out, "  {}", wrapped(function.meaning, render::width() - 2, 2))?;
    for setting in &settings {
        write_meaning(&mut out, *setting)?;
    }
    let ties: Vec<&Tie> = TIES.iter().filter(|tie| speaks_of(tie, &settings)).collect();
    if !ties.is_empty() {
        writeln!(out, "\nRules that tie it to others")?;
    }
    for tie in ties {
        writeln!(out, "  {}", wrapped(&format!("{}: {} ({})", tie.name, tie.sentence, tie.source), render::width() - 2, 4))?;
    }
    match &args.site {
        Some(site) => at_site(&mut out, site, &settings, args),
        None => everywhere(&mut out, &settings, args),
    }
}

fn named(word: &str) -> Vec<SettingId> {
    match SettingId::named(word) {
        Some(setting) => vec![setting],
        None => SettingId::all().filter(|id| id.function().key == word).collect(),
    }
}

fn unknown(word: &str) -> io::Result<Exit> {
    let settings: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
    let known = settings
        .iter()
        .map(String::as_str)
        .chain(SettingId::all().map(|id| id.function().key))
        .chain(TIES.iter().map(|t| t.name))
        .chain(RULES.iter().map(|r| r.name));
    let meant = nearest(word, known).map(|word| format!("did you mean `{word}`?"));
    let hint = meant.unwrap_or_else(|| "`asleft list settings` names them all".to_owned());
    refused(&format!("`{word}` is no setting, function or rule; {hint}"))
}

fn speaks_of(tie: &Tie, settings: &[SettingId]) -> bool {
    let claims = tie.claims(settings_model::claim::ProvenanceId(0));
    claims.iter().flat_map(|claim| claim.on.vars()).any(|var| settings.contains(&var.setting))
}

fn write_tie(out: &mut dyn Write, tie: &Tie) -> io::Result<()> {
    write_page(out, tie.name, tie.sentence, tie.source, tie.example)?;
    writeln!(out, "\nIt ties")?;
    for claim in tie.claims(settings_model::claim::ProvenanceId(0)) {
        let settings: Vec<String> = claim.on.vars().map(|var| var.setting.to_string()).collect();
        writeln!(out, "  {}", settings.join(" to "))?;
    }
    Ok(())
}

/// The page of a rule.
fn write_page(out: &mut dyn Write, name: &str, sentence: &str, source: &str, example: Example) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{name}\n  {}\n  from: {source}", wrapped(sentence, width - 2, 2))?;
    writeln!(out, "\nUnder {}, {}", example.under.standard, example.under.region)?;
    writeln!(out, "\nBreaks it\n  {}", wrapped(example.failing, width - 2, 4))?;
    writeln!(out, "\nKeeps it, only just\n  {}", wrapped(example.near_miss, width - 2, 4))
}

fn write_meaning(out: &mut dyn Write, setting: SettingId) -> io::Result<()> {
    let row = setting.parameter();
    let value = match row.shape {
        Shape::Quantity(dimension) => format!("{}, such as {}", dimension.a_name(), dimension.example()),
        Shape::Choice(words) => format!("one of {}", words.join(", ")),
        Shape::Curve { x, y } => format!("points such as [[{}, {}], …], flat outside its ends", x.example(), y.example()),
    };
    let held = match row.held_by {
        HeldBy::Setting => "",
        HeldBy::TypeTest => "; shown by the type test, not set",
        HeldBy::AmbiguousDisplay => "; for displays that do not say which time they mean",
        HeldBy::Calculated => "; calculated for the site, which states it",
        HeldBy::AddedUp => "; added up from the devices of the site",
    };
    writeln!(out, "\n{setting}\n  {}", wrapped(&format!("{}; {}", row.title, row.meaning), render::width() - 2, 2))?;
    writeln!(out, "  {value}{held}")
}

/// What every standard's regions and every overlay at hand say of the settings.
fn everywhere(out: &mut dyn Write, settings: &[SettingId], args: &Explain) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    writeln!(out, "\nWhat is asked for (with --site: what holds there)")?;
    for key in assessor.library.standards() {
        let Ok(standard) = assessor.library.standard(&key, &mut assessor.sources) else { continue };
        let mut books = Vec::new();
        for (region, _) in standard.file.regions.iter() {
            let request = Request { standard: Some(&key), region, ..Request::default() };
            books.extend(assessor.books(request, &Facts::default()));
        }
        for kind in settings[0].function().held_by {
            let of_kind: Vec<&Book> = books.iter().map(|books| &**books.on(*kind)).collect();
            write_regions(out, &standard.file.title, &of_kind, settings)?;
        }
        if standard.file.regions.0.is_empty() {
            let file = &standard.file;
            let says = |reader: &mut LayerReader<'_>, kind| reader.standard(file, kind, None);
            write_statements(out, &file.title, (&file.sources.0, standard.reads("")), says, settings, &assessor.sources)?;
        }
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            let Ok(overlay) = assessor.library.overlay(&network, &version, &mut assessor.sources) else { continue };
            let file = &overlay.file;
            let title = format!("{}, {}", file.title, file.issue.name);
            let says = |reader: &mut LayerReader<'_>, kind| reader.overlay(file, kind);
            write_statements(out, &title, (&file.sources.0, overlay.reads("")), says, settings, &assessor.sources)?;
        }
    }
    write_displays(out, settings, &mut assessor)?;
    Ok(Exit::Fine)
}

/// The families of devices whose display has words for the settings.
fn write_displays(out: &mut dyn Write, settings: &[SettingId], assessor: &mut Assessor) -> io::Result<()> {
    let mut is_first = true;
    for key in assessor.library.label_maps() {
        let Ok(map) = assessor.library.label_map(&key, &mut assessor.sources) else { continue };
        let alike = with_other_times(settings);
        let of_these = |label: &&Label| label.is_shown() && label.settings().iter().any(|own| alike.contains(own));
        let labels: Vec<&Label> = map.labels.iter().filter(of_these).collect();
        if labels.is_empty() {
            continue;
        }
        if std::mem::take(&mut is_first) {
            writeln!(out, "\nWhat displays call it")?;
        }
        writeln!(out, "  {}", wrapped(&format!("{}; {}", map.name(), map.confirmed()), render::width() - 2, 4))?;
        for label in labels {
            writeln!(out, "    {}", wrapped(&named_on_display(label, settings), render::width() - 4, 6))?;
        }
    }
    Ok(())
}

/// Settings, and of times of a trip stage the others that a display may show in their place.
fn with_other_times(settings: &[SettingId]) -> Vec<SettingId> {
    let others = |setting: SettingId| MEANINGS_OF_TIME.iter().filter_map(move |key| setting.sibling(key)).chain(setting.bare_time());
    let times = settings.iter().copied().filter(|setting| setting.is_meaning_of_time()).flat_map(others);
    settings.iter().copied().chain(times).collect()
}

/// `"Grid aid > Step 1 at": point 1, V line-line, in steps of 0.5 V`; with the setting, where several are
/// asked about or it is another.
fn named_on_display(label: &Label, settings: &[SettingId]) -> String {
    let own = label.settings();
    let named: Vec<String> = match own.iter().any(|own| settings.contains(own)) {
        true if settings.len() == 1 => Vec::new(),
        true => own.iter().filter(|own| settings.contains(own)).map(ToString::to_string).collect(),
        false => own.iter().map(ToString::to_string).collect(),
    };
    let of = if named.is_empty() { String::new() } else { format!(" for {}", named.join(", ")) };
    format!("\"{}\"{of}{}", label.path(), label.counts().map(|counts| format!(": {counts}")).unwrap_or_default())
}

/// What the regions of a standard ask, setting by setting; those that ask the same share a line.
fn write_regions(out: &mut dyn Write, standard: &str, books: &[&Book], settings: &[SettingId]) -> io::Result<()> {
    for setting in settings {
        let mut lines: Vec<(RegionRequirement, Vec<&Book>)> = Vec::new();
        for book in books {
            let Some(asked) = asked_in_region(*setting, book) else { continue };
            match lines.iter_mut().find(|(same, _)| *same == asked) {
                Some((_, regions)) => regions.push(book),
                None => lines.push((asked, vec![book])),
            }
        }
        for (asked, regions) in lines {
            let titles: Vec<&str> = regions.iter().map(|book| book.rulebook.region_title.as_str()).collect();
            let named = if regions.len() > 1 && regions.len() == books.len() { "every region".to_owned() } else { titles.join("; ") };
            let line = format!("{setting}: {}, by {}", asked.what, asked.by.replace(standard, &format!("{standard}, {named}")));
            writeln!(out, "  {}", wrapped(&line, render::width() - 2, 4))?;
            let notes = regions.iter().flat_map(|book| book.rulebook.region_notes.iter().cloned());
            for more in asked.more.into_iter().chain(notes) {
                writeln!(out, "    {}", wrapped(&more, render::width() - 4, 6))?;
            }
        }
    }
    Ok(())
}

/// What a region asks of a setting.
#[derive(PartialEq)]
struct RegionRequirement {
    what: String,
    /// By which line; the region itself is left out of that.
    by: String,
    /// What else is known of the figure.
    more: Vec<String>,
}

fn asked_in_region(setting: SettingId, book: &Book) -> Option<RegionRequirement> {
    let facts = Facts::default();
    let counted = book.requirement(&facts, &[]);
    let entry = &counted.requirement.get(setting)?.entry;
    let what = complies_within(entry, &facts).unwrap_or_else(|| "asked for, but not seen".to_owned());
    let by = entry.decided_by().map(|why| origin(why, &book.rulebook, &[], setting)).unwrap_or_default();
    let line = entry.decided_by().and_then(|why| book.rulebook.whys.get(why));
    let more = line.and_then(|line| line.citation.as_deref()).map(Citation::known).unwrap_or_default();
    Some(RegionRequirement { what, by: by.replace(&format!(", {}", book.rulebook.region_title), ""), more })
}

/// What a file says, case by case; the words are its own.
fn write_statements(
    out: &mut dyn Write,
    title: &str,
    (cited, reads): (&[(String, CitationText)], Reads),
    says: impl Fn(&mut LayerReader<'_>, Equipment) -> Vec<Stated>,
    settings: &[SettingId],
    sources: &Sources,
) -> io::Result<()> {
    let mut whys = Provenances::default();
    let mut reader = LayerReader::new(LayerId(0), cited, &mut whys).with_reads(reads);
    let stated: Vec<Stated> = settings[0].function().held_by.iter().flat_map(|kind| says(&mut reader, *kind)).collect();
    for said in stated.iter().filter(|said| settings.contains(&said.setting)) {
        for case in &said.cases {
            let when: Vec<String> = case.when.iter().map(|c| format!("{} {}", c.fact.row().key, sources.written(c.place))).collect();
            let when = if when.is_empty() { String::new() } else { format!(" where {}", when.join(" and ")) };
            let Some(why) = case.verbs.why.and_then(|why| whys.get(why)) else { continue };
            let citation = why.citation.as_ref().map(|c| {
                format!("{}{}; {}", c.document, c.clause.as_ref().map(|c| format!(", {c}")).unwrap_or_default(), known_phrase(why))
            });
            let words = sources.written(why.place).split_whitespace().collect::<Vec<_>>().join(" ");
            let line = format!("{}: {words}{when}, by {title} ({})", said.setting, citation.unwrap_or_default());
            writeln!(out, "  {}", wrapped(&line, render::width() - 2, 4))?;
            for more in why.citation.as_deref().map(Citation::known).unwrap_or_default() {
                writeln!(out, "    {}", wrapped(&more, render::width() - 4, 6))?;
            }
        }
    }
    Ok(())
}

/// What each layer of a site asks, lowest first, and what came of it.
fn at_site(out: &mut dyn Write, path: &std::path::Path, settings: &[SettingId], args: &Explain) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let Some(root) = site_tree(path, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    let site: SiteFile<'_> = reader::typed(&root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
    let assessment = assessor.assess(&site);
    if assessment.book.is_none() {
        let findings = rules::wording::findings(&assessment, &root);
        return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell);
    }
    writeln!(out, "\nAt {}", site.title())?;
    for note in assessment.book.iter().flat_map(|book| &book.rulebook.region_notes) {
        writeln!(out, "  {}", wrapped(note, render::width() - 2, 4))?;
    }
    for setting in settings {
        write_layers(out, *setting, &assessment, &assessor.sources)?;
    }
    Ok(Exit::Fine)
}

fn write_layers(out: &mut dyn Write, setting: SettingId, assessment: &Assessment<'_>, sources: &Sources) -> io::Result<()> {
    for device in &assessment.devices {
        let book = &device.book;
        let Some(resolved) = device.counted.requirement.get(setting) else { continue };
        writeln!(out, "  {}/{setting}", device.name)?;
        for why in &resolved.entry.trace {
            let line = book.rulebook.whys.get(*why);
            let place = line.and_then(|line| sources.locate(line.place)).map(|at| format!(" at {at}")).unwrap_or_default();
            let says = line.map(|line| sources.written(line.place)).filter(|text| !text.is_empty() && !text.contains('\n'));
            let says = says.map(|text| format!("{text}: ")).unwrap_or_default();
            let from = origin(*why, &book.rulebook, &device.departures, setting);
            writeln!(out, "    {}", wrapped(&format!("{says}{from}{place}"), render::width() - 4, 6))?;
            for more in line.and_then(|line| line.citation.as_deref()).map(Citation::known).unwrap_or_default() {
                writeln!(out, "      {}", wrapped(&more, render::width() - 6, 8))?;
            }
            if let Some(read) = line.and_then(|line| line.read.as_deref()) {
                let place = sources.locate(read.place).map(|at| format!(" at {at}")).unwrap_or_default();
                writeln!(out, "      {}", wrapped(&format!("{}{place}", reading_phrase(read)), render::width() - 6, 8))?;
            }
        }
        let complies = match complies_within(&resolved.entry, &device.facts) {
            None if resolved.entry.no_case().is_none() => "not seen, so not checked".to_owned(),
            complies => with_unknown(&resolved.entry, complies.unwrap_or_default()),
        };
        let line = |text: String| wrapped(&text, render::width() - 4, 6);
        writeln!(out, "    {}", line(format!("complies within: {complies}")))?;
        let range = adjustable(&resolved.entry, &device.facts).map(|range| format!(", {range}")).unwrap_or_default();
        writeln!(out, "    {}", line(format!("may be changed by: {}{range}", resolved.entry.moved_by.word())))?;
        let labels = device.labels.iter().flat_map(|map| &map.labels).filter(|label| label.is_shown());
        let alike = with_other_times(&[setting]);
        for label in labels.filter(|label| label.settings().iter().any(|own| alike.contains(own))) {
            let says = if label.settings().contains(&setting) { "calls this" } else { "has in its place" };
            writeln!(out, "    {}", line(format!("the display {says} {}", named_on_display(label, &[setting]))))?;
        }
        if let Some(known) = device.settings.get(setting) {
            writeln!(out, "    {}", line(format!("the device holds: {}", known.value.show(setting))))?;
        }
    }
    Ok(())
}
