//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "affected_agrees.rs"]
mod affected_agrees;
#[path = "as_required.rs"]
mod as_required;
#[path = "asked_first.rs"]
mod asked_first;
#[path = "change_notes.rs"]
mod change_notes;
#[path = "comparing.rs"]
mod comparing;
#[path = "displays.rs"]
mod displays;
#[path = "european_codes.rs"]
mod european_codes;
#[path = "exercises.rs"]
mod exercises;
#[path = "great_britain.rs"]
mod great_britain;
#[path = "laws.rs"]
mod laws;
#[path = "laying.rs"]
mod laying;
#[path = "linting.rs"]
mod linting;
#[path = "moves.rs"]
mod moves;
#[path = "no_case.rs"]
mod no_case;
#[path = "nothing_passed_over.rs"]
mod nothing_passed_over;
#[path = "outside_solver.rs"]
mod outside_solver;
#[path = "passed_in_silence.rs"]
mod passed_in_silence;
#[path = "random_revisions.rs"]
mod random_revisions;
#[path = "reference_model.rs"]
mod reference_model;
#[path = "refusals.rs"]
mod refusals;
#[path = "relative_edges.rs"]
mod relative_edges;
#[path = "remedies.rs"]
mod remedies;
#[path = "resolution.rs"]
mod resolution;
#[path = "revisions.rs"]
mod revisions;
#[path = "ride_through.rs"]
mod ride_through;
#[path = "sheet_agrees.rs"]
mod sheet_agrees;
#[path = "site_as_stated.rs"]
mod site_as_stated;
#[path = "site_rules.rs"]
mod site_rules;
#[path = "small_code.rs"]
mod small_code;
#[path = "trip_maps.rs"]
mod trip_maps;
#[path = "tubes.rs"]
mod tubes;

// what several of them use
mod common;
mod histories;
mod judged_site;
mod revision_drafts;
mod wending;
