//! What of a sheet somebody at the site has to act on: the one page that a crew carries.

use super::{DeviceSheet, Row, Task};
use crate::provenance::Standing;

impl DeviceSheet {
    /// Whether somebody at the site has to act on a row: enter it, work it out, or read it back because the selected
    /// region does not stand for it. All other rows comply without a hand on them, on a device on which the required
    /// region is selected.
    #[must_use]
    pub fn is_acted_on(&self, row: &Row) -> bool {
        match row.task {
            Task::Enter | Task::WorkOut => true,
            Task::Verify => !self.region_stands || row.known_by.is_some() || row.standing == Some(Standing::Disputed),
            Task::TypeTest | Task::NotChecked => false,
        }
    }
}
