//! What equipment does with its settings: for now, each response as a function of what is measured.
//!
//! Knows nothing of requirements: what is required and what a device holds are both just settings
//! here, so that they are compared like with like.

pub mod characteristic;
