//! The table as a whole: every function, in the order in which files and sheets list them.

use super::{Function, connection, frequency_response, installation, limits, trips, voltage_response, withstand};

const GROUPS: [&[Function]; 7] = [
    trips::FUNCTIONS,
    withstand::FUNCTIONS,
    connection::FUNCTIONS,
    voltage_response::FUNCTIONS,
    frequency_response::FUNCTIONS,
    limits::FUNCTIONS,
    installation::FUNCTIONS,
];

/// Every function. A new setting of a known shape is a row in one of the groups.
pub const FUNCTIONS: &[Function] = &in_one();

const fn in_one() -> [Function; count()] {
    let mut functions = [GROUPS[0][0]; count()];
    let (mut at, mut group) = (0, 0);
    while group < GROUPS.len() {
        let mut own = 0;
        while own < GROUPS[group].len() {
            functions[at] = GROUPS[group][own];
            at += 1;
            own += 1;
        }
        group += 1;
    }
    functions
}

const fn count() -> usize {
    let (mut total, mut group) = (0, 0);
    while group < GROUPS.len() {
        total += GROUPS[group].len();
        group += 1;
    }
    total
}
