//! Reads and looks at a log on one thread and plays it on another, block by block.

use super::equipment::Equipment;
use super::overview::Overview;
use crate::logs::{Fault, Layout, Log, Plausible, Row};
use response::timeline::{Micros, Player, Sample};
use std::sync::mpsc::sync_channel;
use std::thread;

/// Blocks that wait to be played.
const WAITING: usize = 4;

/// Rows, and where among them rows are missing: before which, and from when on.
struct Block {
    rows: Vec<Row>,
    gaps: Vec<(usize, Micros)>,
}

/// Plays every row of a log on every device; the first rows are read already, and moved by `shift`.
pub fn play(
    mut log: Log,
    first: Vec<Row>,
    shift: Micros,
    plausible: &mut Plausible,
    overview: &mut Overview,
    played: &mut [(&Equipment, Player<'_>)],
) -> Result<(), Fault> {
    let phases = log.layout.phases();
    thread::scope(|scope| {
        let (put, take) = sync_channel(WAITING);
        let reading = scope.spawn(move || {
            let layout = log.layout.clone();
            let mut rows = first;
            while !rows.is_empty() {
                if put.send(looked_at(rows, &layout, overview)).is_err() {
                    break;
                }
                rows = log.more()?;
                plausible.volts(&mut rows, &layout)?;
                // means that are stamped with their end hold from their beginning
                if shift != 0 {
                    rows.iter_mut().for_each(|row| row.at -= shift);
                }
            }
            plausible.end(&layout)
        });
        for block in take {
            play_block(&block, phases, played);
        }
        reading.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}

fn looked_at(rows: Vec<Row>, layout: &Layout, overview: &mut Overview) -> Block {
    let has_frequency = layout.has_frequency();
    let gap = |(n, row): (usize, &Row)| Some((n, overview.look(row, has_frequency)?));
    let gaps = rows.iter().enumerate().filter_map(gap).collect();
    Block { rows, gaps }
}

fn play_block(block: &Block, phases: usize, played: &mut [(&Equipment, Player<'_>)]) {
    for (equipment, player) in played {
        let mut gaps = block.gaps.iter().peekable();
        for (n, row) in block.rows.iter().enumerate() {
            if let Some((_, from)) = gaps.next_if(|(before, _)| *before == n) {
                player.gap(*from);
            }
            match row.values[..phases].iter().all(|v| v.is_nan()) {
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
