//! Responses as curves: whose, read where, as columns and as a figure.

pub mod columns;
pub mod picture;
pub mod places;
pub mod series;
pub mod subjects;
