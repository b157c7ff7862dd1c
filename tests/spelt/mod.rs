//! Drawing sites in other words and other forms, and values that no requirement admits.
#![allow(dead_code, reason = "each test file uses its own part")]

pub mod chance;
pub mod forms;
pub mod outside;
pub mod quantities;
