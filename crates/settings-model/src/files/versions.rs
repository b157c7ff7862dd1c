//! Versions, and ranges of them.

use super::pieces::Text;
use crate::slip::Slip;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserialize, Deserializer};
use std::borrow::Cow;
use std::fmt;

/// A version, such as `2.1.0`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version(pub semver::Version);

impl Version {
    /// Reads `2.1.0`.
    ///
    /// # Errors
    /// What is wrong with the text, and how to mend it.
    pub fn parse(text: &str) -> Result<Self, Slip> {
        semver::Version::parse(text)
            .map(Self)
            .map_err(|_| Slip::new(format!("`{text}` is not a version"), "write three numbers, as `2.1.0`"))
    }
}

impl std::ops::Deref for Version {
    type Target = semver::Version;
    fn deref(&self) -> &semver::Version {
        &self.0
    }
}

impl fmt::Display for Version {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl<'de> Deserialize<'de> for Version {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        Self::parse(&text).map_err(de::Error::custom)
    }
}

impl JsonSchema for Version {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "version".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^\\d+\\.\\d+\\.\\d+", "examples": ["2.1.0"], "x-version": true })
    }
}

/// A range of versions, such as `^2.1`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VersionRange(pub semver::VersionReq);

impl VersionRange {
    /// Reads `^2.1`.
    ///
    /// # Errors
    /// What is wrong with the text, and how to mend it.
    pub fn parse(text: &str) -> Result<Self, Slip> {
        let slip = |_| Slip::new(format!("`{text}` is not a range of versions"), "write it as `^2.1`, `~1.3` or `1.x`");
        semver::VersionReq::parse(text).map(Self).map_err(slip)
    }

    /// Whether a version lies in it.
    #[must_use]
    pub fn holds(&self, version: &semver::Version) -> bool {
        self.0.matches(version)
    }
}

impl fmt::Display for VersionRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl<'de> Deserialize<'de> for VersionRange {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        Self::parse(&text).map_err(de::Error::custom)
    }
}

impl JsonSchema for VersionRange {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "version-range".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "examples": ["^2.1"], "x-version-range": true })
    }
}
