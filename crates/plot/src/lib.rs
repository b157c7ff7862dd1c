//! What a picture shows, apart from how it looks: curves, maps of stages and days of a log as meanings
//! ([`figure`], [`regions`], [`timeline`]), drawn as SVG ([`svg`]) or on a terminal ([`braille`], [`blocks`]).
//!
//! Knows nothing of requirements or of the sentences around a picture. Every picture can be read without colour,
//! and has words for those who hear it read.

pub mod blocks;
pub mod braille;
#[cfg(test)]
mod examples;
pub mod figure;
#[cfg(test)]
mod pictures;
pub mod regions;
mod scale;
pub mod svg;
pub mod timeline;
#[cfg(test)]
mod timelines;
