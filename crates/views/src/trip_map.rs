//! Stages against time: whose map, in words and as a picture.

pub mod map;
pub mod words;
