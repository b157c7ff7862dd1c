//! A paper as one file of HTML: nothing is fetched, nothing runs.

mod figure;
mod table;

use crate::{Block, Paper, Part, Run, Size, Text, Weight, quantity};
use figure::Figures;
use maud::{DOCTYPE, Markup, PreEscaped, html as page};

/// How the page looks, on screens and printed.
const STYLE: &str = include_str!("html/page.css");

/// Styles are the page's own; nothing else may be loaded, run, sent or framed by what is in the page.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

/// The paper as a page that stands by itself, to read on a telephone or a screen and to print on the size.
///
/// The standing and the footer are on every printed page: everything is laid out as a table, whose head and foot
/// browsers say again; page numbers stand where a browser prints margin boxes (CSS Paged Media Level 3).
pub fn html(paper: &Paper, size: Size) -> String {
    let figures = Figures::of(paper);
    let styles = format!("{}{STYLE}{}", page_size(size), figures.style());
    let loudness = class_of(paper.standing.weight);
    let mut writer = Writer { figures, count: 0 };
    let parts: Vec<Markup> = paper.parts.iter().map(|part| writer.part(part)).collect();
    page! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="color-scheme" content="light dark";
                title { (paper.title) @if !paper.standing.says.is_empty() { ": " (paper.standing.says) } }
                style { (PreEscaped(styles)) }
            }
            body {
                div.sheet {
                    header.head {
                        div.running {
                            span.of { (paper.title) }
                            @if !paper.standing.says.is_empty() { strong class={ "standing " (loudness) } { (paper.standing.says) } }
                        }
                    }
                    main {
                        h1 { (paper.title) }
                        @for part in &parts { (part) }
                    }
                    footer.foot { div.tie { (paper.footer) } }
                }
            }
        }
    }
    .into_string()
}

/// The size of pages, and how tall pictures may be there, so that their words have room below them.
fn page_size(size: Size) -> String {
    let (name, tallest) = match size {
        Size::A4 => ("A4", "200mm"),
        Size::Letter => ("letter", "180mm"),
    };
    format!("@page{{size:{name}}}\n:root{{--tallest:{tallest}}}\n")
}

fn class_of(weight: Weight) -> &'static str {
    match weight {
        Weight::Calm => "calm",
        Weight::Mind => "mind",
        Weight::Stop => "stop",
    }
}

/// What is written so far: names inside the page are its own.
struct Writer {
    figures: Figures,
    count: usize,
}

impl Writer {
    /// A name that nothing else in the page has.
    fn name(&mut self) -> String {
        self.count += 1;
        format!("n{}", self.count)
    }

    fn part(&mut self, part: &Part) -> Markup {
        let name = self.name();
        page! {
            section aria-labelledby=[is_said(&part.title).then_some(&name)] class=[part.starts_page.then_some("starts-page")] {
                @if is_said(&part.title) { h2 id=(name) { (part.title) } }
                @for block in &part.blocks { (self.block(block)) }
            }
        }
    }

    fn block(&mut self, block: &Block) -> Markup {
        match block {
            Block::Heading(words) => page! { @if is_said(words) { h3 { (words) } } },
            Block::Words(words) => page! { p { (text(words)) } },
            Block::List(points) => list(points),
            Block::Facts(facts) => page! {
                dl { @for (name, what) in facts { div { dt { (name) } dd { (text(what)) } } } }
            },
            Block::Table(table) => table::written(table),
            Block::Notice(weight, title, points) => self.notice(*weight, title, points),
            Block::Picture(picture) => self.figures.written(picture),
            Block::ToSign(lines) => page! {
                ul.to-sign { @for line in lines { li { (line) } } }
            },
        }
    }

    fn notice(&mut self, weight: Weight, title: &str, points: &[Text]) -> Markup {
        let name = self.name();
        page! {
            div class={ "notice " (class_of(weight)) } role="note" aria-labelledby=[is_said(title).then_some(&name)] {
                @if is_said(title) { h3 id=(name) { (title) } }
                @if let [point] = points { p { (text(point)) } } @else { (list(points)) }
            }
        }
    }
}

/// A heading that says nothing is none.
fn is_said(words: &str) -> bool {
    !words.trim().is_empty()
}

fn list(points: &[Text]) -> Markup {
    page! {
        @if !points.is_empty() { ul { @for point in points { li { (text(point)) } } } }
    }
}

/// Words in a row.
fn text(words: &[Run]) -> Markup {
    page! {
        @for run in words {
            @match run {
                Run::Plain(words) => { (unbroken(words)) }
                Run::Strong(words) => { strong { (unbroken(words)) } }
                Run::Code(words) => { code { (words) } }
            }
        }
    }
}

/// Words of which numbers stay with their units.
fn unbroken(words: &str) -> Markup {
    page! {
        @for (words, is_bound) in quantity::pieces(words) {
            @if is_bound { span.of-a-piece { (words) } } @else { (words) }
        }
    }
}
