//! Reads a log on one thread and plays it on another, block by block.

use super::overview::Overview;
use crate::commands::acting::Equipment;
use crate::logs::{Fault, Layout, Log, Plausible, Row};
use response::timeline::{Micros, Player, Sample};
use std::sync::mpsc::sync_channel;
use std::thread;

/// Blocks that wait to be played.
const WAITING: usize = 4;

/// Plays every row of a log on every device; the first rows are read already, and moved by `shift`.
pub fn play(
    mut log: Log,
    first: Vec<Row>,
    shift: Micros,
    plausible: &mut Plausible,
    overview: &mut Overview,
    played: &mut [(&Equipment, Player<'_>)],
) -> Result<(), Fault> {
    let layout = log.layout.clone();
    thread::scope(|scope| {
        let (put, take) = sync_channel(WAITING);
        let reading = scope.spawn(move || {
            let mut rows = first;
            while !rows.is_empty() && put.send(rows).is_ok() {
                rows = log.more()?;
                plausible.volts(&mut rows, &log.layout)?;
                // means that are stamped with their end hold from their beginning
                if shift != 0 {
                    rows.iter_mut().for_each(|row| row.at -= shift);
                }
            }
            plausible.end(&log.layout)
        });
        for rows in take {
            play_block(&rows, &layout, overview, played);
        }
        reading.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}

fn play_block(rows: &[Row], layout: &Layout, overview: &mut Overview, played: &mut [(&Equipment, Player<'_>)]) {
    let (has_frequency, phases) = (layout.has_frequency(), layout.phases());
    for row in rows {
        let gap = overview.look(row, has_frequency);
        let is_blank = row.values[..phases].iter().all(|v| v.is_nan());
        for (equipment, player) in played.iter_mut() {
            if let Some(from) = gap {
                player.gap(from);
            }
            match is_blank {
                // a row without a voltage says no more than a row that is not there
                true => player.gap(row.at),
                false => player.push(sample(row, equipment)),
            }
        }
    }
}

fn sample(row: &Row, equipment: &Equipment) -> Sample {
    let mut voltage = [f64::NAN; 3];
    // its own phases first: a relay before it looks at all of them
    let others = (0..voltage.len()).filter(|phase| !equipment.phases.contains(phase));
    for (to, from) in voltage.iter_mut().zip(equipment.phases.iter().copied().chain(others)) {
        *to = row.values[from];
    }
    let available = if equipment.is_rated { row.available() } else { f64::NAN };
    Sample { at: row.at, voltage, frequency: row.frequency(), available }
}
