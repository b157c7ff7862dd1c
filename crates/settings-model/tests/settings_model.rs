//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "curves.rs"]
mod curves;
#[path = "european_codes.rs"]
mod european_codes;
#[path = "great_britain.rs"]
mod great_britain;
#[path = "labels.rs"]
mod labels;
#[path = "reference.rs"]
mod reference;
#[path = "shipped_profiles.rs"]
mod shipped_profiles;
