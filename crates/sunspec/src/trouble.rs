//! All that may be wrong with a device's registers, by name.

use settings_model::catalogue::SettingId;

/// Something that keeps values from being read, or has to be known beside them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// What kind.
    pub kind: TroubleKind,
    /// What is wrong, in words.
    pub says: String,
    /// The model, where it is one's.
    pub model: Option<u16>,
    /// The register, where it is one's.
    pub register: Option<u16>,
    /// The settings that are not read because of it.
    pub keeps_from: Vec<SettingId>,
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident $name:literal $open:literal,)*) => {
        /// What kind of trouble.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum TroubleKind {
            $($(#[$doc])* $kind,)*
        }

        impl TroubleKind {
            /// Every kind.
            pub const ALL: &[Self] = &[$(Self::$kind,)*];

            /// Its name, for programs.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $(Self::$kind => $name,)* }
            }

            /// Whether it acts beside the settings, without limiting active power.
            #[must_use]
            pub fn acts_beside(self) -> bool {
                matches!(self, Self::ActsBeside | Self::SetBelowRating)
            }

            /// Whether it leaves open what the device holds: nothing is proven then.
            #[must_use]
            pub fn leaves_open(self) -> bool {
                match self { $(Self::$kind => $open,)* }
            }
        }
    };
}

kinds! {
    /// The chain of models did not come to its end.
    ChainBroken "chain-broken" true,
    /// There are more models than any device has.
    TooManyModels "too-many-models" true,
    /// Not one setting was read.
    NothingRead "nothing-read" true,
    /// Model 1 is not the first.
    NoIdentity "no-identity" false,
    /// A model of settings lies there more than once.
    ModelTwice "model-twice" true,
    /// A model's counts do not come to its length.
    LayoutDoesNotFit "layout-does-not-fit" true,
    /// Part of a model was not read.
    ModelNotRead "model-not-read" true,
    /// Registers changed between two readings.
    ChangedWhileRead "changed-while-read" true,
    /// A number's scale is not implemented.
    ScaleMissing "scale-missing" true,
    /// A number's scale is none of the protocol's.
    ScaleAbsurd "scale-absurd" true,
    /// A number has more than nine digits.
    NumberTooLong "number-too-long" true,
    /// A code that the model does not have.
    CodeUnknown "code-unknown" true,
    /// Text that is no text throughout.
    TextDamaged "text-damaged" false,
    /// More points are in use than lie there.
    PointsBeyondLayout "points-beyond-layout" true,
    /// A function acts, and its curve has no points.
    NoPoints "no-points" true,
    /// A point in use is not implemented.
    PointMissing "point-missing" true,
    /// Points do not go one way.
    PointsOutOfOrder "points-out-of-order" true,
    /// Two trip points at one threshold, or a deeper one that is slower.
    TripPointsUnclear "trip-points-unclear" true,
    /// More trip points than stages.
    MoreStages "more-stages" true,
    /// The curve in force is not marked as it should be, and another is.
    InForceUnclear "in-force-unclear" true,
    /// The curve in force is not marked as such.
    InForceNotMarked "in-force-not-marked" false,
    /// A curve is stored that says something else, and is not in force.
    StoredNotInForce "stored-not-in-force" false,
    /// No curve is in force.
    NoCurveInForce "no-curve-in-force" false,
    /// A change of curve is under way.
    ChangeUnderWay "change-under-way" true,
    /// The last change of curve failed.
    ChangeFailed "change-failed" false,
    /// What is in force ends by itself.
    Temporary "temporary" true,
    /// It is not known of what a percentage is.
    BaseUnknown "base-unknown" true,
    /// The device's nominal voltage is not the site's.
    NominalDiffers "nominal-differs" false,
    /// The device's nominal voltage may be to neutral or between lines.
    NominalUnclear "nominal-unclear" false,
    /// A rating in the device is not the one of the site's file.
    RatingDiffers "rating-differs" true,
    /// Two registers of the device contradict each other.
    Contradiction "contradiction" true,
    /// The device says that it has a function, and its model is not there.
    ModelMissing "model-missing" true,
    /// Which way it goes is not in the register.
    DirectionUnknown "direction-unknown" true,
    /// What the model holds cannot be said in the catalogue's terms.
    NotExpressible "not-expressible" true,
    /// Active power is limited or held by a command, for which the catalogue has no setting.
    PowerLimited "power-limited" false,
    /// The device is set to give less than it is rated for.
    SetBelowRating "set-below-rating" false,
    /// Something acts for which the catalogue has no setting.
    ActsBeside "acts-beside" false,
    /// A trip is switched off.
    TripOff "trip-off" false,
    /// The device follows its own panel, or something local.
    LocalControl "local-control" false,
    /// An older model says the same thing, and was not used.
    OlderModelToo "older-model-too" false,
    /// The site's file says something else than the device holds.
    FileDiffers "file-differs" false,
    /// The site's file names another device.
    AnotherDevice "another-device" true,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_plain_and_none_comes_twice() {
        let mut names: Vec<&str> = TroubleKind::ALL.iter().map(|kind| kind.name()).collect();
        assert!(names.iter().all(|name| name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-')));
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all);
    }
}
