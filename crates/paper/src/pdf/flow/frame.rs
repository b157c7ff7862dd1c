//! Frames around slabs; one that reaches over a page's end is open there.

use super::{HAIR, PADDING};
use crate::Weight;
use crate::pdf::slab::{Ink, Slab};

/// A notice: its heading and what it says, in a frame of its weight.
pub fn framed(weight: Weight, mut head: Vec<Slab>, mut body: Vec<Slab>, room: f32) -> Vec<Slab> {
    pad(&mut head, if weight == Weight::Stop { 3.0 } else { 6.0 }, 3.0);
    if weight == Weight::Stop {
        // the heading is white on black, from side to side
        head.iter_mut().for_each(|slab| slab.inks.insert(0, Ink::Fill { at: [0.0, 0.0, room, slab.height], grey: 0 }));
    }
    let above = if weight == Weight::Stop { 4.0 } else { 0.0 };
    pad(&mut body, above, PADDING - 3.0);
    // what was free between them belongs to the frame
    body.iter_mut().skip(1).for_each(|slab| {
        let space = std::mem::take(&mut slab.space);
        lower(slab, space);
    });
    let mut all: Vec<Slab> = head.into_iter().chain(body).collect();
    let width = match weight {
        Weight::Calm => HAIR,
        Weight::Mind => 1.3,
        Weight::Stop => 2.2,
    };
    around(&mut all, room, width, if weight == Weight::Calm { 0x88 } else { 0 });
    all.iter_mut().rev().skip(1).for_each(|slab| slab.keeps = true);
    all
}

/// Room above the first slab and below the last.
pub fn pad(slabs: &mut [Slab], above: f32, below: f32) {
    if let Some(first) = slabs.first_mut() {
        lower(first, above);
    }
    if let Some(last) = slabs.last_mut() {
        last.height += below;
    }
}

/// Room above what is on a slab.
fn lower(slab: &mut Slab, by: f32) {
    slab.height += by;
    for ink in &mut slab.inks {
        match ink {
            Ink::Words { y, .. } => *y += by,
            Ink::Rule { ends, .. } => ends.iter_mut().for_each(|end| end.1 += by),
            Ink::Fill { at, .. } => at[1] += by,
            Ink::Picture { at, .. } => at.1 += by,
        }
    }
}

/// A frame.
pub fn around(slabs: &mut [Slab], room: f32, width: f32, grey: u8) {
    // the line lies inside
    let (left, right) = (width / 2.0, room - width / 2.0);
    for slab in slabs.iter_mut() {
        for x in [left, right] {
            slab.inks.push(Ink::Rule { ends: [(x, 0.0), (x, slab.height)], width, grey });
        }
    }
    if let Some(first) = slabs.first_mut() {
        first.inks.push(Ink::across(0.0, room, width / 2.0, width, grey));
    }
    if let Some(last) = slabs.last_mut() {
        last.inks.push(Ink::across(0.0, room, last.height - width / 2.0, width, grey));
    }
}
