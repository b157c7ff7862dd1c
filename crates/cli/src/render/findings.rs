//! A finding on a terminal: what, where, and the line that says so.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use settings_model::finding::{Finding, Outcome};
use settings_model::source::{Place, SourceId, Sources};

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
    let headline = super::wrapped(&finding.headline, width.saturating_sub(before).max(30), 0);
    let mut group = Group::with_title(level.primary_title(headline.as_str()).id(finding.name));
    let places = places(finding);
    for of_source in places.chunk_by(|a, b| a.place.source == b.place.source) {
        if let Some(source) = sources.get(of_source[0].place.source) {
            let text = source.text.trim_start_matches(BYTE_ORDER_MARK);
            let marks = of_source.iter().map(|mark| mark.annotation(text, source.text.len() - text.len(), width));
            group = group.element(Snippet::source(text).path(source.name.as_str()).line_start(source.first_line).annotations(marks));
        }
    }
    let room = width - beside(&places, sources);
    let origins = finding.because.iter().filter_map(|line| line.text.clone());
    let notes = finding.notes.iter().cloned();
    let said = origins.map(|text| super::wrapped(&text, room, 0)).chain(folded(finding, room));
    let said: Vec<String> = said.chain(notes.map(|text| super::wrapped(&text, room, 0))).collect();
    for text in &said {
        group = group.element(Level::NOTE.message(text.as_str()));
    }
    let hint = finding.hint.as_ref().map(|hint| super::wrapped(hint, room, 0));
    if let Some(hint) = &hint {
        group = group.element(Level::HELP.with_name("to do").message(hint.as_str()));
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    renderer.term_width(width).decor_style(DecorStyle::Ascii).render(&[group])
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
        [one] => Some(super::wrapped(&format!("with it: {one}"), width, 0)),
        many => {
            let lines = many.iter().map(|line| format!("\n- {}", super::wrapped(&line.to_string(), width - 2, 2)));
            Some(format!("with it:{}", lines.collect::<String>()))
        }
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
    /// Over a text that is shown without its first `cut` bytes.
    fn annotation(&self, text: &str, cut: usize, width: usize) -> Annotation<'f> {
        let at = |byte: u32| (byte as usize).saturating_sub(cut).min(text.len());
        let start = text.floor_char_boundary(at(self.place.start));
        let end = text.ceil_char_boundary(at(self.place.end)).max(start);
        // a group that runs over lines is pointed at where it begins
        let end = text[start..end].find(['\r', '\n']).map_or(end, |newline| start + newline);
        let end = start + self.underlined(&text[start..end], text[..start].lines().last().unwrap_or_default(), width);
        self.kind.span(start..end).label(self.label)
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
