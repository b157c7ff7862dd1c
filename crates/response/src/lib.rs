//! What equipment does with its settings: each response as a function of what is measured, what a
//! device gives at one voltage and frequency, and where it settles behind its cables.
//!
//! Knows nothing of requirements: what is required and what a device holds are both just settings
//! here, so that they are compared like with like.

pub mod characteristic;
pub mod course;
pub mod device;
pub mod line;
pub mod lock_in;
pub mod network;
pub mod operating_point;
pub mod supply;
pub mod timeline;
