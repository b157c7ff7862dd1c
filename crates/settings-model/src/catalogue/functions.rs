//! The table as a whole: every function, in the order in which files and sheets list them.

use super::{Function, Group, connection, frequency_response, installation, limits, trips, voltage_response, withstand};

const GROUPS: [(Group, &[Function]); 7] = [
    (Group::Trip, trips::FUNCTIONS),
    (Group::Withstand, withstand::FUNCTIONS),
    (Group::Connection, connection::FUNCTIONS),
    (Group::VoltageResponse, voltage_response::FUNCTIONS),
    (Group::FrequencyResponse, frequency_response::FUNCTIONS),
    (Group::Limit, limits::FUNCTIONS),
    (Group::Installation, installation::FUNCTIONS),
];

/// Every function. A new setting of a known shape is a row in one of the groups.
pub const FUNCTIONS: &[Function] = &in_one().0;

/// The group of each function, in the same order.
pub(super) const GROUP_OF: &[Group] = &in_one().1;

const fn in_one() -> ([Function; count()], [Group; count()]) {
    let mut functions = [GROUPS[0].1[0]; count()];
    let mut groups = [GROUPS[0].0; count()];
    let (mut at, mut group) = (0, 0);
    while group < GROUPS.len() {
        let (name, own_functions) = GROUPS[group];
        let mut own = 0;
        while own < own_functions.len() {
            functions[at] = own_functions[own];
            groups[at] = name;
            at += 1;
            own += 1;
        }
        group += 1;
    }
    (functions, groups)
}

const fn count() -> usize {
    let (mut total, mut group) = (0, 0);
    while group < GROUPS.len() {
        total += GROUPS[group].1.len();
        group += 1;
    }
    total
}
