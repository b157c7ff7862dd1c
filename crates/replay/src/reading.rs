//! Reads a log on one thread and plays it on another, block by block.

use crate::overview::Overview;
use crate::playing::{Playing, Shape, play_row};
use logs::{Log, LogError, Plausible, Row};
use response::timeline::Micros;
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
    played: &mut [Playing<'_>],
) -> Result<(), LogError> {
    let shape = Shape { phases: log.layout.phases(), has_frequency: log.layout.has_frequency(), is_net: log.layout.is_net() };
    thread::scope(|scope| {
        let (put, take) = sync_channel(WAITING);
        // blocks that are played go back, so that their memory is not asked of the system again and again
        let (give_back, done) = sync_channel(WAITING + 2);
        let reading = scope.spawn(move || {
            let mut rows = first;
            while !rows.is_empty() && put.send(rows).is_ok() {
                rows = log.more_into(done.try_recv().unwrap_or_default())?;
                plausible.volts(&mut rows, &log.layout)?;
                // means that are stamped with their end hold from their beginning
                if shift != 0 {
                    rows.iter_mut().for_each(|row| row.at -= shift);
                }
            }
            plausible.end(&log.layout)
        });
        for rows in take {
            rows.iter().for_each(|row| play_row(row, shape, overview, played));
            let _ = give_back.try_send(rows);
        }
        reading.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}
