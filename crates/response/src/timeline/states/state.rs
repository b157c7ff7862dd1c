//! What a device is doing, and when that changed.

use crate::timeline::Micros;

/// What a device is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// Off, and voltage or frequency lie outside where it may connect.
    Waiting,
    /// Off, and counting how long both have been inside.
    Observing,
    /// On, and giving nothing for a moment.
    Ceased,
    /// On, and coming up.
    Ramping,
    /// On.
    Running,
}

impl State {
    /// Whether it is connected.
    #[must_use]
    pub fn is_on(self) -> bool {
        self >= Self::Ceased
    }
}

/// A state that began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// When.
    pub at: Micros,
    /// What it does from then on.
    pub to: State,
}
