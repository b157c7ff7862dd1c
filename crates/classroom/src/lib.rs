//! A page for the class, served to this machine's own browser.
//!
//! Everything is worked out here; the page's script only sends where the sliders stand and puts back what
//! was rendered. Nothing is written to disk, nothing is sent elsewhere, nothing ever reaches a device.
//!
//! [`choices`] is what may be looked at, [`answers`] what is answered to each address, [`server`] who is let
//! in. What settings do is told and drawn by `views`, the same as every verb tells it.

pub mod answers;
pub mod choices;
mod difference;
mod document;
mod lesson;
mod loaded;
mod opening;
mod overlaid;
mod panel;
mod pictures;
mod position;
mod reasons;
mod sentence;
pub mod server;

use rules::assess::Assessor;
use rules::sheet;
use settings_model::finding::Finding;
use settings_model::source::Sources;
use std::io;

/// What to mind, on the page and before it.
pub const CAUTIONS: [&str; 4] = [
    sheet::CAUTIONS[0],
    "The network operator's own document and the connection approval decide; this page does not replace them.",
    sheet::CAUTIONS[2],
    sheet::CAUTIONS[3],
];

/// What a check prints of a site's text, by the name of its file, without colour.
pub type Checked = dyn Fn(&str, &str) -> io::Result<String>;

/// What the page asks of the program that serves it.
pub struct Program {
    /// An assessor over the profiles at hand, for the day asked about.
    pub assessor: Box<dyn Fn() -> io::Result<Assessor>>,
    /// What a check prints of a site's text, by the name of its file, without colour.
    pub checked: Box<Checked>,
    /// A finding as people read it.
    pub finding: fn(&Finding, &Sources) -> String,
}
