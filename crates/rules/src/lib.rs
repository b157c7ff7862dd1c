//! Deciding: what a list of claims implies, whether it can be kept at all, whether one list admits
//! what another refuses, and whether what a device holds keeps it.
//!
//! Everything here is exact: quantities are compared as decimals or as whole numbers of one small
//! unit, breakpoints of an unknown site fact by cross-multiplication. Nothing passes through binary
//! floating point.
//!
//! The algebra, from the bottom: `zone` solves demands on differences, `settle` does so while one
//! site fact is unknown, `tube` holds a curve between lines, `states` says which claims bind,
//! [`satisfy`] finds an example, and [`range`], [`core`] and [`escape`] are the questions that people
//! ask; [`envelope`] and [`trip_map`] are the answers for pictures.
//!
//! The verdict: [`entitlement`] says whether a layer may do what it does, [`departures`] which
//! approvals hold, [`pairing`] finds stages that are named the other way round, [`judge`] asks whether
//! a device keeps each claim (`judge/times` under another meaning of time), [`hanging`] whether all possible
//! cells agree, [`installation`] adds devices up, [`provenance`] how the deciding figures are known,
//! [`practice`] has the rules that no claim can say, [`identify`] whose values they are, [`misread`] what a wrong
//! value may be instead; [`assess`] gathers a site, and looks for one cause behind many faults; [`outcome`] is what
//! it came to; [`phrase`], [`wording`] and [`sheet`] put it in words.
//!
//! What is asked about: [`operand`], a site or requirements.
//!
//! What moves: [`compare`] says what changed between two versions or two devices, [`revision`] which
//! step a change deserves and whom it strands, by an [`example_site`]; [`lint`] whether files make
//! sense, [`affected`] what a version does to sites.

mod candidate;
mod natural;
mod ratio;
mod settle;
mod sites;
mod states;
mod tube;
mod withstand;
mod zone;

pub mod core;
pub mod escape;
pub mod range;
pub mod satisfy;
pub mod unproven;
pub mod witness;

pub mod affected;
pub mod assess;
pub mod attestation;
pub mod book;
pub mod compare;
pub mod departure;
pub mod departures;
pub mod entitlement;

pub mod envelope;
pub mod example_site;
pub mod exercise;
pub mod filled_sheet;
pub mod hanging;
pub mod identify;
pub mod installation;
pub mod judge;
pub mod lint;
pub mod misread;
pub mod operand;
pub mod order;
pub mod outcome;
pub mod pairing;
pub mod percentages;
pub mod phrase;
pub mod practice;
pub mod provenance;
pub mod revision;
pub mod rise;
pub mod sheet;
pub mod trip_map;
pub mod wording;
