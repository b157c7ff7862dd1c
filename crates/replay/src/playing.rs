//! A row, or a moment of a scenario, played on every device.

use crate::acting::Equipment;
use crate::overview::Overview;
use crate::trace::Trace;
use logs::Row;
use response::timeline::{Micros, Player, Sample, Values};

/// A device, as it plays a log or a scenario.
pub struct Playing<'p> {
    /// The device.
    pub equipment: &'p Equipment,
    /// What it does.
    pub player: Player<'p>,
    /// What is drawn of it.
    pub trace: Trace,
}

impl<'p> Playing<'p> {
    /// A device before the first row; `history` is a voltage that is taken to have held for a whole window
    /// before a moment.
    pub fn new(equipment: &'p Equipment, in_service: Option<bool>, values: Values, history: Option<(Micros, f64)>, usual: Micros) -> Self {
        let mut player = Player::new(&equipment.device, &equipment.protection, in_service, values);
        if let Some((at, volts)) = history {
            player.assume(at, volts);
        }
        Self { equipment, player, trace: Trace::new(&equipment.protection.stages, usual) }
    }
}

/// What rows have.
#[derive(Clone, Copy)]
pub struct Shape {
    /// Phases.
    pub phases: usize,
    /// Whether they have frequency.
    pub has_frequency: bool,
    /// Whether they have the net flow at the connection point in place of the site's own use.
    pub is_net: bool,
}

/// Plays a row on every device.
pub fn play_row(row: &Row, shape: Shape, overview: &mut Overview, played: &mut [Playing<'_>]) {
    let gap = overview.look(row, shape.has_frequency, shape.is_net);
    let is_blank = row.values[..shape.phases].iter().all(|v| v.is_nan());
    for Playing { equipment, player, trace } in played.iter_mut() {
        if let Some(from) = gap {
            player.gap(from);
        }
        match is_blank {
            // a row without a voltage says no more than a row that is not there
            true => player.gap(row.at),
            false => player.push(sample(row, equipment, shape.is_net)),
        }
        let available = if equipment.is_rated { row.available() } else { f64::NAN };
        trace.look(row.at, gap, (!is_blank).then_some(available), player);
    }
}

/// Passes over time in which nothing can happen to any device, and everything moves in a straight line: from the row
/// that was played last to another, by all `rows` behind the first. Whether that could be.
pub fn glide(
    [from, to]: [&Row; 2],
    rows: impl Iterator<Item = Row> + Clone,
    shape: Shape,
    overview: &mut Overview,
    played: &mut [Playing<'_>],
) -> bool {
    let is_quiet = |playing: &Playing<'_>| playing.player.stays_quiet_until(&sample(to, playing.equipment, shape.is_net));
    if !overview.are_alike(from, to) || !played.iter().all(is_quiet) {
        return false;
    }
    overview.look(to, shape.has_frequency, shape.is_net);
    for Playing { equipment, player, trace } in played.iter_mut() {
        player.glide(rows.clone().map(|row| sample(&row, equipment, shape.is_net)));
        let available = if equipment.is_rated { to.available() } else { f64::NAN };
        trace.look(to.at, None, Some(available), player);
    }
    true
}

/// What a row says to a device.
pub fn sample(row: &Row, equipment: &Equipment, is_net: bool) -> Sample {
    let mut voltage = [f64::NAN; 3];
    // its own phases first: a relay before it looks at all of them
    let others = (0..voltage.len()).filter(|phase| !equipment.phases.contains(phase));
    for (to, from) in voltage.iter_mut().zip(equipment.phases.iter().copied().chain(others)) {
        *to = row.values[from];
    }
    let available = if equipment.is_rated { row.available() } else { f64::NAN };
    Sample { at: row.at, voltage, frequency: row.frequency(), available, load: row.load(is_net) }
}
