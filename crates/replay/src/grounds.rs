//! What the levels and times of a scenario are counted from: what is required of the first device.

use crate::acting::{Measured, Values, equipment};
use crate::held::DeviceAtMoment;
use response::course::Grounds;
use response::timeline::{Micros, micros};
use rules::operand::OperandError;
use rules::trip_map::{Stay, TripMap, trip_map};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;

/// What is required of a device.
pub struct Required<'h> {
    held: DeviceAtMoment<'h>,
    facts: Facts,
    nominal_frequency: f64,
    maps: Vec<TripMap>,
}

impl<'h> Required<'h> {
    /// Of this device.
    pub fn of(held: &DeviceAtMoment<'h>) -> Result<Self, OperandError> {
        let Some((book, _)) = &held.asked else {
            let says = format!(
                "what is required of {} cannot be told, and the scenario counts from that; `asleft check SITE` says why",
                held.title
            );
            return Err(OperandError::Words(says));
        };
        let required = held.as_required(held.title.clone(), book);
        let mut facts = held.facts.clone();
        let everything = Measured { phases: 1, frequency: true, available: true, load: true };
        let built = equipment(&required, &[], everything).map_err(OperandError::Words)?;
        if !built.is_rated {
            let says = format!("{}: how much it can give is not known; state its `nameplate`", held.title);
            return Err(OperandError::Words(says));
        }
        let Some(rated) = Exact::nearest(built.device.ratings.active, 3) else {
            return Err(OperandError::Words(format!("{}: its rated power is more than can be reckoned with", held.title)));
        };
        facts.set_number(FactId::RatedPower, rated);
        let Some(nominal_frequency) = book.rulebook.nominal_frequency.map(Exact::approximate) else {
            return Err(OperandError::Words(format!("{}: its standard does not say the nominal frequency", held.title)));
        };
        let counted = required.asked.as_ref().map(|(_, counted)| counted.clone());
        let map = |measured| trip_map(measured, &counted.as_ref()?.requirement, &facts);
        let maps = [Dimension::Voltage, Dimension::Frequency].into_iter().filter_map(map).collect();
        Ok(Self { held: required, facts, nominal_frequency, maps })
    }

    /// The key of the base standard: `as-nzs-4777.2`.
    pub fn standard(&self) -> Option<String> {
        let (book, _) = self.held.asked.as_ref()?;
        Some(book.rulebook.standard.0.clone())
    }

    /// Volts that per unit counts from.
    pub fn nominal_volts(&self) -> f64 {
        self.facts.number(FactId::NominalVoltage).map_or(230.0, Exact::approximate)
    }
}

impl Grounds for Required<'_> {
    fn facts(&self) -> &Facts {
        &self.facts
    }

    fn nominal_frequency(&self) -> f64 {
        self.nominal_frequency
    }

    fn required(&self, setting: SettingId) -> Option<f64> {
        Values::or_as_required(&self.held).exactly(setting.function().key, setting.parameter().key)
    }

    /// Those of the slice of the map that lies right behind the threshold.
    fn times(&self, stage: SettingId) -> Option<[Option<Micros>; 2]> {
        let threshold = self.required(stage)?;
        let map = self.maps.iter().find(|map| stage.parameter().shape == Shape::Quantity(map.measured))?;
        let is_at = |edge: Option<Exact>| edge.is_some_and(|edge| (edge.approximate() - threshold).abs() < 1e-9);
        let acts_here = |slice: &&rules::trip_map::Slice| slice.stages.contains(&stage.function().key);
        let slice = map.slices.iter().filter(acts_here).find(|slice| is_at(slice.from) || is_at(slice.to))?;
        let stays = slice.stays.iter().map(|stay| if let Stay::For(seconds) = stay { Some(micros(seconds.approximate())) } else { None });
        Some([stays.min().flatten(), slice.off_by.map(|seconds| micros(seconds.approximate()))])
    }
}
