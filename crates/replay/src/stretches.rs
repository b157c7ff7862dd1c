//! Equal stretches of time, few enough to draw, however long a log is.

use response::timeline::Micros;

/// How many stretches there are at most.
const MOST: usize = 512;

/// What is kept of a stretch.
pub trait Kept: Copy {
    /// Of nothing.
    const NOTHING: Self;
    /// What two neighbours come to.
    fn joined(self, other: Self) -> Self;
}

/// Equal stretches from the first moment on; they become twice as long while there are too many.
#[derive(Clone, Debug)]
pub struct Stretches<T> {
    /// When the first begins.
    from: Micros,
    /// How long each lasts.
    pub width: Micros,
    /// What is kept of each.
    pub all: Vec<T>,
    /// When the last ends.
    ends: Micros,
}

impl<T: Kept> Stretches<T> {
    /// None yet; each as wide as this until there are too many.
    pub fn new(width: Micros) -> Self {
        Self { from: 0, width: width.max(1), all: Vec::with_capacity(MOST), ends: Micros::MIN }
    }

    /// The last stretch, which holds a moment that is no earlier than any before.
    pub fn at(&mut self, at: Micros) -> &mut T {
        if at >= self.ends {
            self.begin(at, T::NOTHING);
        }
        self.all.last_mut().unwrap_or_else(|| unreachable!("one was begun"))
    }

    /// Goes on to a moment; stretches that are passed over have this.
    pub fn hold_until(&mut self, at: Micros, held: impl FnOnce() -> T) {
        if at >= self.ends {
            self.begin(at, held());
        }
    }

    /// The stretch that was begun last, where all of a time lies in it.
    pub fn whole(&mut self, from: Micros, until: Micros) -> Option<&mut T> {
        let is_within = from < until && until <= self.ends && self.ends - self.width <= from;
        self.all.last_mut().filter(|_| is_within)
    }

    /// Calls back with each stretch that time from one moment to another lies in, and how much of it.
    pub fn over(&mut self, from: Micros, until: Micros, mut put: impl FnMut(&mut T, Micros)) {
        if let Some(stretch) = self.whole(from, until) {
            return put(stretch, until - from);
        }
        let mut from = from;
        while from < until {
            self.at(from);
            let to = until.min(self.ends);
            if let Some(stretch) = self.all.last_mut() {
                put(stretch, to - from);
            }
            from = to;
        }
    }

    fn begin(&mut self, at: Micros, passed: T) {
        if self.all.is_empty() {
            self.from = at;
        }
        let mut n = ((at - self.from) / self.width) as usize;
        while n >= MOST {
            self.all = self.all.chunks(2).map(|pair| pair.iter().skip(1).fold(pair[0], |one, other| one.joined(*other))).collect();
            self.width *= 2;
            n = ((at - self.from) / self.width) as usize;
        }
        if n >= self.all.len() {
            self.all.resize(n, passed);
            self.all.push(T::NOTHING);
        }
        self.ends = self.from + (n as Micros + 1) * self.width;
    }
}
