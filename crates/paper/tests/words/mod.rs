//! Words drawn by lot, and a paper to put them on.

use paper::{Block, Headline, Paper, Part, Run, Text, Weight};
use proptest::prelude::*;

/// A paper of one part.
pub fn paper_of(blocks: Vec<Block>) -> Paper {
    Paper {
        title: "A paper".to_owned(),
        footer: "The foot".to_owned(),
        standing: Headline { says: "NOT PROVEN".to_owned(), weight: Weight::Stop },
        parts: vec![Part { title: "A part".to_owned(), starts_page: false, blocks }],
    }
}

/// What runs say together.
pub fn said(text: &Text) -> String {
    let words = |run: &Run| match run {
        Run::Plain(words) | Run::Strong(words) | Run::Code(words) => words.clone(),
    };
    text.iter().map(words).collect()
}

/// Words, with what means something elsewhere.
pub fn words() -> impl Strategy<Value = String> {
    "[ a-zA-Z0-9.,;/()<>&\"'≤±°φńЖ-]{0,60}"
}

/// Words of every kind.
pub fn text() -> impl Strategy<Value = Text> {
    let run = (words(), 0..3_u8).prop_map(|(words, kind)| match kind {
        0 => Run::Plain(words),
        1 => Run::Strong(words),
        _ => Run::Code(words),
    });
    prop::collection::vec(run, 0..4)
}
