//! From points to settings of the catalogue: each with the device's resolution and with the registers
//! that say it. What no model says, or says so that it cannot be told, is named and never filled in.
//!
//! - `device`: the models that can be used, and what is wrong with the others
//! - `bases`: of what percentages are
//! - `collected`: what was read so far
//! - `states`: absent, off or enabled: four different answers of a device
//! - `trips`, `curves`, `frequency`, `controls`: function by function
//! - `ratings`: categories, reactive power, set to less than rated
//! - `left`: what was not read, and why

mod bases;
mod collected;
mod controls;
mod curves;
mod device;
mod frequency;
mod identity;
mod left;
mod ratings;
mod states;
mod trips;

use crate::trouble::{Trouble, TroubleKind};
use crate::walk::Walk;
use collected::Collected;
use device::DeviceModels;
pub use identity::Identity;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::files::{PercentOf, PowerBase};
use settings_model::settings::Known;

/// What the settings will be held against: of what the site counts per unit and per cent.
#[derive(Clone, Copy, Debug)]
pub struct Against {
    /// The site's nominal voltage to neutral; without it, the one that the device's own comes to.
    pub nominal: Option<Exact>,
    /// Of what the standard takes percentages of power.
    pub percent_of: PercentOf,
}

impl Default for Against {
    /// As most standards do: reactive power of rated apparent power, active power of rated active power.
    fn default() -> Self {
        let percent_of =
            PercentOf { active: PowerBase::RatedActivePower, reactive: PowerBase::RatedApparentPower, frequency_response: None };
        Self { nominal: None, percent_of }
    }
}

/// What a device was read to hold.
#[derive(Clone, Debug, Default)]
pub struct Captured {
    /// Which device it is, as it says itself.
    pub identity: Identity,
    /// The nominal voltage to neutral that per-unit values count from, where the device knows one.
    pub nominal: Option<Exact>,
    /// The settings, in catalogue order.
    pub readings: Vec<Reading>,
    /// Settings of an inverter that were not read, in catalogue order.
    pub not_read: Vec<NotRead>,
    /// What is wrong, or has to be known.
    pub troubles: Vec<Trouble>,
}

impl Captured {
    /// What was read of a setting.
    #[must_use]
    pub fn reading(&self, setting: SettingId) -> Option<&Reading> {
        self.readings.iter().find(|reading| reading.setting == setting)
    }

    /// Whether something is left open, so that nothing is proven by what was read.
    #[must_use]
    pub fn leaves_open(&self) -> bool {
        self.troubles.iter().any(|trouble| trouble.kind.leaves_open())
    }
}

/// A setting as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The setting.
    pub setting: SettingId,
    /// Its value and the device's resolution.
    pub known: Known,
    /// The registers that say it.
    pub from: Origin,
}

/// The registers that say a setting.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// The model.
    pub model: u16,
    /// The point, or the group of points: `Crv.1.MustTrip.Pt.1.V`.
    pub point: String,
    /// The first register.
    pub register: u16,
    /// Its raw value, or those of all points one after another.
    pub raw: Vec<u16>,
}

/// A setting that was not read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotRead {
    /// The setting.
    pub setting: SettingId,
    /// Why.
    pub why: String,
    /// Whether the device has the register, and does not implement it.
    pub not_implemented: bool,
}

/// Which settings of the catalogue the registers of a device are.
#[must_use]
pub fn captured(walk: &Walk, against: &Against) -> Captured {
    let mut collected = Collected::default();
    let device = DeviceModels::of(walk, &mut collected);
    let identity = Identity::of(&device);
    let bases = bases::Bases::of(&device, against, &mut collected);
    trips::read(&device, &bases, &mut collected);
    curves::read(&device, &bases, &mut collected);
    frequency::read(&device, &mut collected);
    controls::read(&device, &bases, &mut collected);
    ratings::read(&device, &bases, &mut collected);
    if collected.is_empty() {
        let says = "none of the models that hold settings lies there, or none can be used";
        collected.trouble(TroubleKind::NothingRead, says, (None, None), &[]);
    }
    left::name(&device, &mut collected);
    collected.captured(identity, bases.nominal())
}
