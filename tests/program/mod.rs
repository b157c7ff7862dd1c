//! The program, run as a person runs it.
#![allow(dead_code, reason = "each test file uses its own part")]

pub mod logs;

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub const DAY: &str = "2026-11-25";

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// From the root of the repository, whatever the surroundings are set to.
pub fn asleft(arguments: &[&str]) -> Output {
    with_columns(160, arguments)
}

/// On a terminal of so many columns.
pub fn with_columns(columns: u32, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", columns.to_string()).env("NO_COLOR", "1").stdin(Stdio::null());
    command.env_remove("ASLEFT_PROFILES").env_remove("ASLEFT_REGISTER").args(arguments).output().unwrap()
}

/// The text of an answer.
pub fn text(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("no text: {value}")).to_owned()
}
