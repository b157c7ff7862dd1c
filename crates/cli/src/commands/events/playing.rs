//! Reads a log on one thread and plays it on another, block by block.

use super::equipment::Equipment;
use super::overview::Overview;
use crate::logs::{Fault, Layout, Log, Plausible, Row};
use response::timeline::{Micros, Player, Sample};
use std::sync::mpsc::sync_channel;
use std::thread;

/// Blocks that wait to be played.
const WAITING: usize = 4;

/// Plays every row of a log on every device; the first rows are read already, and moved by `shift`.
pub fn play(
    log: Log,
    first: Vec<Row>,
    shift: Micros,
    plausible: &mut Plausible,
    overview: &mut Overview,
    played: &mut [(&Equipment, Player<'_>)],
) -> Result<(), Fault> {
    let Log { layout, .. } = &log;
    let layout = layout.clone();
    block(&first, &layout, overview, played);
    let result = thread::scope(|scope| {
        let (put, take) = sync_channel(WAITING);
        scope.spawn(move || {
            let mut log = log;
            loop {
                let rows = log.more();
                let is_last = rows.as_ref().map_or(true, Vec::is_empty);
                if put.send(rows).is_err() || is_last {
                    return;
                }
            }
        });
        for rows in take {
            let mut rows = rows?;
            plausible.volts(&mut rows, &layout)?;
            // means that are stamped with their end hold from their beginning
            if shift != 0 {
                rows.iter_mut().for_each(|row| row.at -= shift);
            }
            block(&rows, &layout, overview, played);
        }
        Ok(())
    });
    result.and_then(|()| plausible.end(&layout))
}

fn block(rows: &[Row], layout: &Layout, overview: &mut Overview, played: &mut [(&Equipment, Player<'_>)]) {
    let has_frequency = layout.has_frequency();
    for row in rows {
        let gap = overview.look(row, has_frequency);
        let is_blank = row.values[..layout.phases()].iter().all(|v| v.is_nan());
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
    for (to, from) in voltage.iter_mut().zip(&equipment.phases) {
        *to = row.values[*from];
    }
    let available = if equipment.is_rated { row.available() } else { f64::NAN };
    Sample { at: row.at, voltage, frequency: row.frequency(), available }
}
