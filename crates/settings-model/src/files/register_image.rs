//! Registers of a device, kept as they were read.

use super::Kind;
use crate::located::At;
use schemars::JsonSchema;
use serde::Deserialize;

/// Registers of one device, as they were read, to be decoded later or elsewhere.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct RegisterImageFile {
    /// Always `register-image`.
    pub kind: Kind,
    /// What else to know: how it was made, or what is odd about the device.
    pub note: Option<String>,
    /// Where and when it was read; missing where it was made otherwise.
    pub read: Option<ImageRead>,
    /// Runs of registers.
    #[schemars(length(min = 1))]
    pub runs: Vec<RegisterRun>,
}

/// Where and when registers were read.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ImageRead {
    /// The peer: `tcp 192.0.2.7:502`, or a serial port.
    pub peer: String,
    /// The unit id.
    pub unit: u8,
    /// When, in UTC: `2026-11-26T09:12:03Z`.
    pub at: String,
    /// The program that read them.
    pub program: String,
}

/// Registers that lie one after another.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct RegisterRun {
    /// The address of the first, as the protocol counts: from 0.
    pub from: u16,
    /// The registers, each as four hexadecimal digits, any number of them in a row: `5375 6e53 0001 0042`.
    #[schemars(length(min = 1))]
    pub registers: Vec<At<String>>,
}
