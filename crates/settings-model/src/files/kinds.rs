//! The kinds of file: a row each. What a schema cannot say of one is looked for by its reader (`reader`).

use super::{
    AttestationFile, ColumnMapFile, CommissioningFile, ExerciseKeyFile, ExportMapFile, LabelMapFile, OverlayFile, RegisterImageFile,
    ScenarioFile, SiteFile, StandardFile,
};
use schemars::{JsonSchema, Schema, schema_for};
use serde::Deserialize;

/// What there is to say of a kind of file.
struct Row {
    /// The word in files.
    word: &'static str,
    /// What such a file says, as a heading of its schema.
    title: &'static str,
    /// The folder that its files are kept in where they are profiles.
    folder: Option<&'static str>,
    /// What to do where a file of another kind was found.
    instead: &'static str,
    /// The shape of its type.
    schema: fn() -> Schema,
}

macro_rules! kinds {
    ($($about:literal $kind:ident $row:tt)+) => {
        /// The kinds of file, as the key `kind` names them.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
        #[serde(rename_all = "kebab-case")]
        pub enum Kind { $(#[doc = $about] $kind,)+ }

        impl Kind {
            /// Every kind.
            pub const ALL: [Self; [$($about),+].len()] = [$(Self::$kind),+];

            /// What such a file is, in a phrase without an end.
            #[must_use]
            pub fn about(self) -> &'static str {
                match self { $(Self::$kind => $about,)+ }
            }

            fn row(self) -> Row {
                match self { $(Self::$kind => Row $row,)+ }
            }
        }
    };
}

kinds! {
    "A base standard, one edition"
    Standard {
        word: "standard",
        title: "asleft standard: one edition of a base standard",
        folder: Some("standards"),
        instead: "move the file out of `standards/`, or write `kind: standard` if it is one",
        schema: || schema_for!(StandardFile),
    }
    "A network operator's requirements, one version"
    Overlay {
        word: "overlay",
        title: "asleft overlay: one version of a network operator's requirements",
        folder: Some("overlays"),
        instead: "move the file out of `overlays/`, or write `kind: overlay` if it is one",
        schema: || schema_for!(OverlayFile),
    }
    "One site and what its devices hold"
    Site {
        word: "site",
        title: "asleft site: its facts, devices and what they hold",
        folder: None,
        instead: "name a site's file; standards and overlays are read from the folder given as `--profiles`",
        schema: || schema_for!(SiteFile<'static>),
    }
    "What the display of a family of devices says"
    LabelMap {
        word: "label-map",
        title: "asleft label map: what the display of a family of devices says",
        folder: Some("labels"),
        instead: "move the file out of `labels/`, or write `kind: label-map` if it is one",
        schema: || schema_for!(LabelMapFile),
    }
    "What an office calls the columns of its sheets"
    ColumnMap {
        word: "column-map",
        title: "asleft column map: what an office calls the columns of its sheets",
        folder: None,
        instead: "name a file that begins `kind: column-map`",
        schema: || schema_for!(ColumnMapFile),
    }
    "What an office read in its licensed copy"
    Attestation {
        word: "attestation",
        title: "asleft attestation: what an office read in its licensed copy",
        folder: Some("attestations"),
        instead: "move the file out of `attestations/`, or write `kind: attestation` if it is one",
        schema: || schema_for!(AttestationFile),
    }
    "What happens to a device in a lesson"
    Scenario {
        word: "scenario",
        title: "asleft scenario: what happens to a device in a lesson",
        folder: Some("scenarios"),
        instead: "name a file that begins `kind: scenario`, or a scenario that `asleft list scenarios` shows",
        schema: || schema_for!(ScenarioFile),
    }
    "The answers of an exercise"
    ExerciseKey {
        word: "exercise-key",
        title: "asleft exercise key: which faults each student's site has, and what is right",
        folder: None,
        instead: "name the answer key that `exercise new` wrote",
        schema: || schema_for!(ExerciseKeyFile<'static>),
    }
    "What is known of the work at a site"
    Commissioning {
        word: "commissioning",
        title: "asleft commissioning: who did the work at a site, with what, and what proves it",
        folder: None,
        instead: "name a file that begins `kind: commissioning`",
        schema: || schema_for!(CommissioningFile),
    }
    "In what columns an operator wants to be told of sites"
    ExportMap {
        word: "export-map",
        title: "asleft export map: in what columns an operator wants to be told of sites",
        folder: None,
        instead: "name a file that begins `kind: export-map`",
        schema: || schema_for!(ExportMapFile),
    }
    "Registers of a device, as `capture --raw` keeps them"
    RegisterImage {
        word: "register-image",
        title: "asleft register image: registers of a device, as they were read",
        folder: None,
        instead: "name a file of registers that `capture --raw` wrote",
        schema: || schema_for!(RegisterImageFile),
    }
}

impl Kind {
    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        self.row().word
    }

    /// The kind of this word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// What such a file says, as a heading of its schema.
    #[must_use]
    pub fn title(self) -> &'static str {
        self.row().title
    }

    /// The folder that its files are kept in; `None` where they are no profiles.
    #[must_use]
    pub fn folder(self) -> Option<&'static str> {
        self.row().folder
    }

    /// What to do where a file of another kind was found in its place.
    #[must_use]
    pub fn instead(self) -> &'static str {
        self.row().instead
    }

    /// The shape of its type, before anything is made plainer.
    #[must_use]
    pub fn schema(self) -> Schema {
        (self.row().schema)()
    }
}

#[cfg(test)]
mod tests {
    use super::Kind;

    #[test]
    fn a_word_is_the_word_in_files() {
        for kind in Kind::ALL {
            let read: Kind = serde_json::from_value(kind.word().into()).unwrap();
            assert_eq!(read, kind);
            assert_eq!(Kind::named(kind.word()), Some(kind));
        }
    }
}
