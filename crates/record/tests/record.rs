//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "every_site.rs"]
mod every_site;
#[path = "golden.rs"]
mod golden;
#[path = "register.rs"]
mod register;
#[path = "rfc8785.rs"]
mod rfc8785;
#[path = "seals.rs"]
mod seals;
#[path = "site_tests.rs"]
mod site_tests;
#[path = "tampered_register.rs"]
mod tampered_register;

// what several of them use
mod common;
#[path = "../../../benches/register/made.rs"]
mod made;
