//! A picture on the page, with everything that says the same without seeing it.

use maud::{Markup, PreEscaped, html};
use plot::svg::Key;

/// A picture, and what stands around it.
pub struct Picture<'p> {
    /// Its heading.
    pub title: &'p str,
    /// Its name in the page.
    pub id: &'p str,
    /// What its inks stand for.
    pub keys: &'p [Key],
    /// How many of its figures nobody verified.
    pub warning: Option<String>,
    /// The picture itself.
    pub svg: Markup,
    /// What it says at the position.
    pub now: Markup,
    /// The same as a table.
    pub table: Markup,
}

impl Picture<'_> {
    /// On the page.
    pub fn markup(&self) -> Markup {
        let head = format!("{}-head", self.id);
        html! {
            section.picture aria-labelledby=(head) {
                h3 id=(head) { (self.title) @if self.warning.is_some() { " " span.tag { "unverified figures" } } }
                (self.svg)
                ul.key { @for (sample, words) in self.keys { li { (PreEscaped(sample)) " " (words) } } }
                (self.now)
                @if let Some(says) = &self.warning { p.unverified { (says) } }
                details { summary { "The same as a table" } (self.table) }
            }
        }
    }
}

/// A table that can be scrolled where it is wider than its place; `id` names its rows.
pub fn table(title: &str, headings: &[&str], id: &str, rows: &Markup) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(format!("{title}, as a table")) {
            table {
                thead { tr { @for heading in headings { th scope="col" { (heading) } } } }
                tbody id=(id) { (rows) }
            }
        }
    }
}
