//! When a device lay outside of what it is set to do: the longest stretches, and how many there were.

use response::timeline::Micros;

/// One stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneStretch {
    /// From when.
    pub from: Micros,
    /// Until when.
    pub to: Micros,
    /// The farthest from what is asked, in watts or vars.
    pub farthest: f64,
}

/// The longest of them.
#[derive(Clone, Debug, Default)]
pub struct Stretches {
    longest: Vec<OneStretch>,
    open: Option<OneStretch>,
    count: u64,
}

/// How many are kept.
const MOST: usize = 20;

impl Stretches {
    /// A row outside; rows no further apart than twice their step are one stretch.
    pub fn add(&mut self, from: Micros, to: Micros, step: Micros, farthest: f64) {
        match &mut self.open {
            Some(open) if from - open.to <= step => {
                open.to = to;
                open.farthest = open.farthest.max(farthest);
            }
            _ => {
                self.close();
                self.count += 1;
                self.open = Some(OneStretch { from, to, farthest });
            }
        }
    }

    fn close(&mut self) {
        self.longest.extend(self.open.take());
        if self.longest.len() > 2 * MOST {
            self.shorten();
        }
    }

    fn shorten(&mut self) {
        self.longest.sort_by_key(|stretch| (stretch.from - stretch.to, stretch.from));
        self.longest.truncate(MOST);
    }

    /// The longest first, and how many more there were.
    #[must_use]
    pub fn longest(mut self) -> (Vec<OneStretch>, u64) {
        self.close();
        self.shorten();
        let more = self.count - self.longest.len() as u64;
        (self.longest, more)
    }
}
