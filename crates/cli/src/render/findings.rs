//! A finding on a terminal: what, where, and the line that says so.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use settings_model::finding::{Finding, Outcome};
use settings_model::source::{Place, Source, SourceId, Sources};
use terminal::{escaped, own, visible};

/// A finding as people read it, in at most `width` columns.
pub fn finding(finding: &Finding, sources: &Sources, width: usize, colour: bool) -> String {
    let level = match finding.outcome {
        Outcome::Unusable | Outcome::DoesNotComply => Level::ERROR,
        Outcome::NotProven => Level::WARNING,
        Outcome::Remark => Level::INFO,
    };
    let words = finding.outcome.phrase();
    let level = level.with_name(words);
    // the renderer sets later lines of a title beneath its first word
    let before = words.len() + finding.name.len() + "[]: ".len();
    let headline = super::wrapped(&escaped(&finding.headline), width.saturating_sub(before).max(30), 0);
    let mut unshown: Vec<String> = Vec::new();
    let mut group = Group::with_title(level.primary_title(headline.as_str()).id(finding.name));
    let places = places(finding);
    for of_source in places.chunk_by(|a, b| a.place.source == b.place.source) {
        let Some(source) = sources.get(of_source[0].place.source) else { continue };
        for marks in near(of_source) {
            let Some(shown) = Shown::around(marks, source) else {
                unshown.extend(marks.iter().filter_map(|mark| Some(escaped(&format!("at {}", sources.locate(mark.place)?)).into_owned())));
                continue;
            };
            let annotations = marks.iter().map(|mark| mark.annotation(shown.text, shown.before, width));
            let snippet = Snippet::source(shown.text).path(escaped(&source.name)).line_start(source.first_line + shown.lines_before);
            group = group.element(snippet.annotations(annotations));
        }
    }
    for place in &unshown {
        group = group.element(Level::NOTE.message(place.as_str()));
    }
    let room = width - beside(&places, sources);
    let origins = finding.because.iter().filter_map(|line| line.text.as_deref().map(visible));
    let notes = finding.notes.iter().map(|note| visible(note));
    let said = origins.map(|text| super::wrapped(&text, room, 0)).chain(folded(finding, room));
    let said: Vec<String> = said.chain(notes.map(|text| super::wrapped(&text, room, 0))).collect();
    for text in &said {
        group = group.element(Level::NOTE.message(text.as_str()));
    }
    let hint = finding.hint.as_ref().map(|hint| super::wrapped(&visible(hint), room, 0));
    if let Some(hint) = &hint {
        group = group.element(Level::HELP.with_name("to do").message(hint.as_str()));
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    // all text from outside is escaped above, or by the renderer where it cites a file
    own(&renderer.term_width(width).decor_style(DecorStyle::Ascii).render(&[group]))
}

/// Columns beside a note: the line numbers, and `= to do:` with the spaces around it.
fn beside(places: &[Mark<'_>], sources: &Sources) -> usize {
    let lines = places.iter().filter_map(|mark| sources.locate(mark.place)).map(|located| located.line);
    10 + lines.max().unwrap_or_default().to_string().len().max(2)
}

/// Consequences, in one sentence if there is one and in one list if there are more.
fn folded(finding: &Finding, width: usize) -> Option<String> {
    match &finding.folded[..] {
        [] => None,
        [one] => Some(super::wrapped(&format!("with it: {}", escaped(&one.to_string())), width, 0)),
        many => {
            let lines = many.iter().map(|line| format!("\n- {}", super::wrapped(&escaped(&line.to_string()), width - 2, 2)));
            Some(format!("with it:{}", lines.collect::<String>()))
        }
    }
}

/// Marks that are shown in one piece of their text; in a file of megabytes, each by itself.
fn near<'m, 'f>(marks: &'m [Mark<'f>]) -> std::slice::Chunks<'m, Mark<'f>> {
    const FAR: u32 = 1 << 18;
    let ends = |of: fn(u32, u32) -> u32| marks.iter().map(|mark| mark.place.start).reduce(of).unwrap_or_default();
    let is_near = ends(u32::max) - ends(u32::min) <= FAR;
    marks.chunks(if is_near { marks.len() } else { 1 })
}

/// The whole lines of a text in which marks begin: the renderer looks at every line that it is given.
struct Shown<'t> {
    text: &'t str,
    /// Bytes before it.
    before: usize,
    /// Lines before it.
    lines_before: usize,
}

/// Bytes of a text that are given to the renderer, and those behind the last place.
const MOST_SHOWN: usize = 1 << 19;
const MOST_BEHIND: usize = 1 << 12;

impl<'t> Shown<'t> {
    /// `None` where a line is longer than anybody reads.
    fn around(marks: &[Mark<'_>], source: &'t Source) -> Option<Self> {
        let whole = &*source.text;
        let beginning = whole.len() - whole.trim_start_matches(BYTE_ORDER_MARK).len();
        let at = |place: Option<u32>| whole.floor_char_boundary((place.unwrap_or_default() as usize).max(beginning));
        let first = at(marks.iter().map(|mark| mark.place.start).min());
        let last = at(marks.iter().map(|mark| mark.place.start).max());
        let before = whole[..first].rfind('\n').map_or(beginning, |newline| newline + 1);
        // of a long line, what stands behind the place is cut off by the renderer anyway
        let most = whole.ceil_char_boundary((last + MOST_BEHIND).min(whole.len()));
        let end = whole[last..most].find('\n').map_or(most, |newline| last + newline + 1);
        let lines_before = source.lines_before(before);
        (end - before <= MOST_SHOWN).then(|| Self { text: &whole[before..end], before, lines_before })
    }
}

struct Mark<'f> {
    place: Place,
    label: Option<&'f str>,
    kind: AnnotationKind,
}

/// Some editors begin a file with it; it is not a column.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// Columns that the renderer takes for line numbers, at most.
const GUTTER: usize = 8;

impl<'f> Mark<'f> {
    /// Over a text that is shown without what stands before it.
    fn annotation(&self, text: &str, before: usize, width: usize) -> Annotation<'f> {
        let at = |byte: u32| (byte as usize).saturating_sub(before).min(text.len());
        let start = text.floor_char_boundary(at(self.place.start));
        let end = text.ceil_char_boundary(at(self.place.end)).max(start);
        // a group that runs over lines is pointed at where it begins
        let end = text[start..end].find(['\r', '\n']).map_or(end, |newline| start + newline);
        let end = start + self.underlined(&text[start..end], text[..start].lines().last().unwrap_or_default(), width);
        self.kind.span(start..end).label(self.label.map(escaped))
    }

    /// How many bytes of the marked text are underlined: so many that the label still fits beside it.
    fn underlined(&self, marked: &str, before: &str, width: usize) -> usize {
        let Some(label) = self.label else { return marked.len() };
        let room = width.saturating_sub(GUTTER + before.chars().count() + label.chars().count());
        marked.char_indices().nth(room.max(1)).map_or(marked.len(), |(at, _)| at)
    }
}

/// The finding's own place first, then the others, file by file.
fn places(finding: &Finding) -> Vec<Mark<'_>> {
    let own = Mark { place: finding.place, label: finding.label.as_deref(), kind: AnnotationKind::Primary };
    let others = finding.because.iter().filter(|line| line.place.is_known());
    let others = others.map(|line| Mark { place: line.place, label: Some(line.label.as_str()), kind: AnnotationKind::Context });
    let mut places: Vec<Mark<'_>> = finding.place.is_known().then_some(own).into_iter().chain(others).collect();
    let order = |source: SourceId| (source != finding.place.source, source);
    places.sort_by_key(|mark| order(mark.place.source));
    places
}
