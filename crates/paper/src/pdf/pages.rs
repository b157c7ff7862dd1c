//! Slabs onto pages: what belongs together stays together wherever a page is long enough.

use super::slab::{Slab, height};
use std::rc::Rc;

/// A page.
#[derive(Default)]
pub struct Page {
    /// What is said again at its top.
    pub again: Option<Rc<Vec<Slab>>>,
    /// The slabs on it, and how far below its top each begins.
    pub slabs: Vec<(f32, usize)>,
    /// How far it is filled.
    end: f32,
}

impl Page {
    fn is_empty(&self) -> bool {
        self.slabs.is_empty()
    }

    fn beginning_with(slab: &Slab) -> Self {
        let end = slab.again.as_ref().map_or(0.0, |again| height(again));
        Self { again: slab.again.clone(), slabs: Vec::new(), end }
    }

    fn place(&mut self, n: usize, slab: &Slab) {
        if slab.is_between && self.is_empty() {
            return;
        }
        let top = self.end + if self.is_empty() { 0.0 } else { slab.space };
        self.slabs.push((top, n));
        self.end = top + slab.height;
    }
}

/// The pages for slabs, each with as much room.
pub fn pages(slabs: &[Slab], room: f32) -> Vec<Page> {
    let mut pages = Vec::new();
    let mut page = Page::default();
    let mut start = 0;
    while start < slabs.len() {
        let end = start + 1 + slabs[start..].windows(2).take_while(|two| two[0].keeps && !two[1].starts_page).count();
        let together = &slabs[start..end];
        let needed = height(together);
        let left = room - page.end - together[0].space;
        let fits_a_page = needed + Page::beginning_with(&together[0]).end <= room;
        // what is longer than a page begins here, if a good part of it does
        let is_moved = needed > left && (fits_a_page || left < room / 4.0);
        if !page.is_empty() && (together[0].starts_page || is_moved) {
            pages.push(std::mem::replace(&mut page, Page::beginning_with(&together[0])));
        }
        for (n, slab) in (start..end).zip(together) {
            if page.end + slab.space + slab.height > room && !page.is_empty() {
                pages.push(std::mem::replace(&mut page, Page::beginning_with(slab)));
            }
            page.place(n, slab);
        }
        start = end;
    }
    pages.push(page);
    pages
}
