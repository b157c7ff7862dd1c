//! Many lawful devices on many supplies that a log allows, against what is told of the log.
//!
//! A log is drawn from a supply: dense or coarse, with noise, irregular rows, gaps, missing cells, values at the very
//! threshold, two events at once; the device looks at a rolling mean too, sits behind a relay, loses its link. Supplies that agree with the log at each of its rows are drawn anew, and on
//! each a device that uses its freedom by chance (`simulated`). Every trip of every one has to lie in a
//! window that is told, with its stage; what is told as certain has to be so for every one; and windows are
//! hardly longer than what the devices did. `ASLEFT_DRAWN_LOGS=1000` draws so many logs.

use crate::drilled;
mod simulated;

use drilled::{MS, S, of_moments, stage};
use response::device::Device;
use response::timeline::{
    Ceasing, DropOff, Happening, Merged, Micros, Player, Protection, Reconnection, Relay, Ridden, RideThrough, Sample, Side, Stage, State,
    Sure, Values, Watched, micros,
};
use simulated::{BY_LINK, Did, Held, Lost, Supply, simulated};

const AVAILABLE: f64 = 4_000.0;
const RATED: f64 = 5_000.0;
/// Devices on each log, each on a supply of its own.
const DEVICES: usize = 120;

/// A plain generator of random numbers (xorshift), so that every run draws the same.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[(self.unit() * all.len() as f64) as usize]
    }

    /// A share that is often nought or one.
    fn share(&mut self) -> f64 {
        match self.unit() {
            u if u < 0.3 => 0.0,
            u if u < 0.6 => 1.0,
            _ => self.unit(),
        }
    }
}

/// The drills' device (AS/NZS 4777.2:2020, region A, from memory), or one that rides by depth along a slope
/// as in IEEE 1547-2018; it comes back after seconds, so that a log holds many trips. Times are shortened.
fn protection(random: &mut Random) -> Protection {
    let rides_by_depth = random.unit() < 0.4;
    let mut stages = of_moments();
    if rides_by_depth {
        stages[0].least = 3 * S;
        stages[0].rides = RideThrough::of(vec![Ridden { from: 180.0, to: 120.0, least: [8 * S, 3 * S] }]);
    }
    let observation = random.one_of(&[[5 * S; 2], [60 * S; 2], [5 * S, 12 * S]]);
    let reconnection = Reconnection { voltage: [205.0, 253.0], frequency: [47.5, 50.15], observation, random: 0, ramp: 20 * S };
    if random.unit() < 0.4 {
        stages.push(stage("sustained-overvoltage", Watched::MeanOfAnyPhase(WINDOW), Side::Above, 240.0, [0.0, 3.0]));
    }
    let relays = if random.unit() < 0.35 { relay(random, &mut stages) } else { Vec::new() };
    Protection { stages, reconnection, ceasing: Ceasing::default(), relays }
}

/// The window of the mean, shortened like all times.
const WINDOW: Micros = 6 * S;

/// A relay that lets go at its threshold or beyond it, at once or after a reset time (invented, like those of `relays.rs`).
fn relay(random: &mut Random, stages: &mut Vec<Stage>) -> Vec<Relay> {
    let reset = random.one_of(&[0, 0, 300 * MS]);
    let back = random.one_of(&[1.0, 0.97]);
    let of_relay = |stage: Stage, back: f64| {
        let at = stage.threshold * back;
        Stage { relay: Some(0), drop_off: DropOff { at: [at; 2], reset: [reset; 2] }, ..stage }
    };
    stages.push(of_relay(stage("overvoltage-1", Watched::AnyPhase, Side::Above, 260.0, [1.0, 1.2]), back));
    stages.push(of_relay(stage("undervoltage-1", Watched::AnyPhase, Side::Below, 190.0, [1.5, 2.0]), 2.0 - back));
    let observation = random.one_of(&[[3 * S; 2], [10 * S; 2]]);
    vec![Relay { phases: 1, reconnection: Reconnection { voltage: [200.0, 255.0], observation, ..Reconnection::default() } }]
}

/// The least time at a value, reckoned here anew.
fn least_at(protection: &Protection, place: usize, volts: f64) -> Micros {
    let is_sloped = place == 0 && protection.stages[0].least == 3 * S;
    let reach = ((180.0 - volts) / 60.0).clamp(0.0, 1.0);
    if is_sloped { micros(8.0 - 5.0 * reach) } else { protection.stages[place].least }
}

/// A row of a log.
#[derive(Clone, Copy, Debug)]
struct Row {
    at: Micros,
    volts: f64,
    hertz: f64,
}

/// A log: its rows, the gaps after rows at these places, and the rows after which a link may have made the device leave,
/// has, and is back. A value that is missing is not a number.
struct Log {
    rows: Vec<Row>,
    gaps: Vec<usize>,
    spacing: Micros,
    lost: Option<[usize; 3]>,
}

impl Log {
    /// It may be lost after a row: what is due in that very moment is still done.
    fn lost(&self) -> Option<Lost> {
        self.lost.map(|[may, must, back]| Lost { may: self.rows[may].at + 1, must: self.rows[must].at, back: self.rows[back].at })
    }

    /// Whether it says all the time what the supply is.
    fn is_whole(&self) -> bool {
        self.gaps.is_empty() && self.rows.iter().all(|row| !row.volts.is_nan())
    }
}

/// Events of so many seconds: mostly about as long as a stage takes.
fn log(random: &mut Random) -> Log {
    let spacing = random.one_of(&[20 * MS, 100 * MS, 100 * MS, 500 * MS, S, S, 5 * S]);
    let is_irregular = random.unit() < 0.3;
    let noise = if random.unit() < 0.3 { 4.0 } else { 0.0 };
    let mut events: Vec<(f64, f64, f64)> = vec![(random.between(2.0, 20.0), 230.0, 50.0)];
    for _ in 0..1 + (random.unit() * 4.0) as usize {
        let stretched = if spacing > S { 2.0 } else { 1.0 };
        let event = match (random.unit() * 9.0) as usize {
            0 | 1 => (random.between(9.0, 12.0), random.one_of(&[175.0, 130.0, 150.0]), 50.0),
            2 => (random.between(0.5, 2.5), 60.0, 50.0),
            3 => (random.between(0.5, 2.5), random.one_of(&[268.0, 265.0, 280.0]), 50.0),
            4 => (random.between(0.05, 1.0), 280.0, 50.0),
            5 => (random.between(0.5, 2.5), 230.0, random.one_of(&[46.5, 47.0, 52.5])),
            6 => (random.between(0.5, 2.5), 60.0, 46.5),
            7 => (random.between(3.0, 9.0), random.one_of(&[175.0, 140.0, 179.0]), 50.0),
            _ => (random.between(1.0, 6.0), random.one_of(&[200.0, 254.0]), 50.0),
        };
        events.push((event.0 * stretched, event.1, event.2));
        // at times the next follows at once
        if random.unit() < 0.8 {
            events.push((random.one_of(&[1.0, 8.0, 20.0, 70.0]) * random.between(0.8, 1.2), 230.0, 50.0));
        }
    }
    events.push((random.between(5.0, 80.0), 230.0, 50.0));
    let (mut rows, mut at) = (Vec::new(), 0);
    let mut begins = 0;
    for (seconds, volts, hertz) in events {
        let ends = begins + micros(seconds);
        while at < ends {
            rows.push(Row { at, volts: volts + noise * (random.unit() - 0.5), hertz });
            at += if is_irregular { (spacing as f64 * random.between(0.4, 1.8)) as Micros } else { spacing };
        }
        begins = ends;
    }
    let mut gaps = Vec::new();
    if random.unit() < 0.3 && rows.len() > 10 {
        // a piece is cut out
        let from = 3 + (random.unit() * (rows.len() - 8) as f64) as usize;
        let many = ((random.between(1.0, 30.0) * 1e6) as Micros / spacing).max(3) as usize;
        let until = (from + many).min(rows.len() - 3);
        if until > from {
            rows.drain(from..until);
            gaps.push(from - 1);
        }
    }
    if random.unit() < 0.3 {
        missing(random, &mut rows);
    }
    let lost = (random.unit() < 0.25 && rows.len() > 12).then(|| {
        let may = 3 + (random.unit() * (rows.len() - 9) as f64) as usize;
        let later = |from: usize, random: &mut Random| (from + 1 + (random.unit() * 40.0) as usize).min(rows.len() - 2);
        let must = later(may, random);
        // at times it is back before the device has to have left
        let back = if random.unit() < 0.2 { must.saturating_sub(1).max(may + 1) } else { later(must, random) };
        [may, must, back]
    });
    // a row without a voltage is none to act after
    let lost = lost.filter(|[may, must, back]| [may, must, back].iter().all(|at| !rows[**at].volts.is_nan() && !gaps.contains(at)));
    Log { rows, gaps, spacing, lost }
}

/// Cells are emptied: of voltage, or of frequency.
fn missing(random: &mut Random, rows: &mut [Row]) {
    for _ in 0..1 + (random.unit() * 3.0) as usize {
        let from = 2 + (random.unit() * (rows.len().saturating_sub(6)) as f64) as usize;
        let of_voltage = random.unit() < 0.5;
        let many = random.one_of(&[1, 1, 3]);
        for row in rows.iter_mut().skip(from).take(many) {
            if of_voltage { row.volts = f64::NAN } else { row.hertz = f64::NAN }
        }
    }
    // both ends are known
    let last = rows.len() - 1;
    for place in [0, 1, last - 1, last] {
        rows[place] = Row { at: rows[place].at, volts: 230.0, hertz: 50.0 };
    }
}

/// What is told of a log.
struct Told {
    story: Vec<Merged>,
    states: [State; 2],
    given: [f64; 2],
    drop_outs: [u64; 2],
    end: Micros,
}

fn told(log: &Log, protection: &Protection) -> Told {
    let device = Device::bare(RATED);
    let values = Values { phases: 1, are_means: false, prove_means: log.spacing <= PROVES_MEANS };
    let mut player = Player::new(&device, protection, Some(true), values);
    for (n, row) in log.rows.iter().enumerate() {
        let voltage = [row.volts, f64::NAN, f64::NAN];
        // a row without a voltage is played as one that is not there
        match row.volts.is_nan() {
            true => player.gap(row.at),
            false => player.push(Sample { at: row.at, voltage, frequency: row.hertz, available: AVAILABLE, load: f64::NAN }),
        }
        if log.gaps.contains(&n) {
            player.gap(row.at);
        }
        match log.lost {
            Some([may, _, _]) if n == may => player.hold_off(0),
            Some([_, _, back]) if n == back => player.let_go(),
            Some([_, must, back]) if n == must && must < back => player.hold_off(1),
            _ => {}
        }
    }
    let energy = player.energy();
    let (given, drop_outs) = (energy.each_ref().map(|energy| energy.given), energy.each_ref().map(|energy| energy.drop_outs));
    Told { story: player.story(), states: player.states(), given, drop_outs, end: log.rows.last().unwrap().at }
}

/// Values that far apart prove a mean, as `asleft events` has it.
const PROVES_MEANS: Micros = 3 * S;
/// Means are reckoned here in binary numbers, so that their moments may be off by so much.
const OFF: Micros = 3;
/// By so much may what a device did lie beside what is told: runs of a mean are shortened here, and what a device waits
/// for counts on from their ends. The shortest step between rows is a thousand times as long.
const NEAR: Micros = 4 * OFF;

/// When the mean of the values as they are logged, each held until the next, lies above a threshold, from when on a whole
/// window is known.
fn above(log: &Log, window: Micros, threshold: f64) -> Vec<[Micros; 2]> {
    let mut runs: Vec<[Micros; 2]> = Vec::new();
    for known in known(log) {
        let Some(first) = known.first().map(|held| held.from) else { continue };
        let last = known[known.len() - 1].from;
        // the sum over the window bends where a value enters it or leaves it
        let bends = known.iter().flat_map(|held| [held.from, held.from + window]);
        let mut moments: Vec<Micros> = bends.filter(|at| *at >= first + window && *at <= last).collect();
        moments.sort_unstable();
        moments.dedup();
        let sum = |at: Micros| {
            let part = |(n, held): (usize, &Held)| {
                let ends = known.get(n + 1).map_or(Micros::MAX, |next| next.from).min(at);
                held.volts * (ends - held.from.max(at - window)).max(0) as f64
            };
            known.iter().enumerate().map(part).sum::<f64>()
        };
        let limit = threshold * window as f64;
        for pair in moments.windows(2) {
            let [before, after] = [sum(pair[0]) - limit, sum(pair[1]) - limit];
            let crossing = || pair[0] + ((pair[1] - pair[0]) as f64 * before / (before - after)) as Micros;
            let run = match (before > 0.0, after > 0.0) {
                (true, true) => [pair[0], pair[1]],
                (true, false) => [pair[0], crossing()],
                (false, true) => [crossing(), pair[1]],
                _ => continue,
            };
            match runs.last_mut() {
                Some([_, to]) if *to + 2 * OFF >= run[0] => *to = run[1],
                _ => runs.push(run),
            }
        }
    }
    runs.into_iter().map(|[from, to]: [Micros; 2]| [from + OFF, to - OFF]).filter(|[from, to]| from < to).collect()
}

/// The stretches in which the log says what the voltage is: as logged, until the last value of each.
fn known(log: &Log) -> Vec<Vec<Held>> {
    let mut stretches = vec![Vec::new()];
    for (n, row) in log.rows.iter().enumerate() {
        let open = stretches.last_mut().expect("one is open");
        if row.volts.is_nan() {
            // the value before holds until here
            if let Some(before) = open.last().copied() {
                open.push(Held { from: row.at, ..before });
            }
            stretches.push(Vec::new());
            continue;
        }
        open.push(Held { from: row.at, volts: row.volts, hertz: row.hertz });
        if log.gaps.contains(&n) {
            stretches.push(Vec::new());
        }
    }
    stretches
}

/// Pieces of anything, over a stretch of which the log says nothing.
fn anything([from, until]: [Micros; 2], random: &mut Random, supply: &mut Vec<Held>) {
    let mut at = from;
    while at < until {
        let volts = random.one_of(&[230.0, 230.0, 60.0, 280.0, 175.0]);
        supply.push(Held { from: at, volts, hertz: random.one_of(&[50.0, 50.0, 50.0, 46.5]) });
        at += micros(random.between(0.1, 14.0));
    }
}

/// The rows with the frequency of a dead supply, which nobody can measure: it is what it was before.
fn seen(log: &Log) -> Vec<Row> {
    let mut rows = log.rows.clone();
    for n in 1..rows.len() {
        if rows[n].hertz.is_nan() && rows[n].volts < 0.3 * 205.0 && !log.gaps.contains(&(n - 1)) && !rows[n - 1].volts.is_nan() {
            rows[n].hertz = rows[n - 1].hertz;
        }
    }
    rows
}

/// A supply that agrees with the log at each of its rows.
fn supply(log: &Log, protection: &Protection, random: &mut Random) -> Vec<Held> {
    let rows = seen(log);
    let is_gradual = random.unit() < 0.25;
    // a supply that turns early, late, or anyhow
    let habit = random.share();
    let mut supply = Vec::new();
    for (n, pair) in rows.windows(2).enumerate() {
        let [row, next] = [pair[0], pair[1]];
        let lasts = next.at - row.at;
        if row.volts.is_nan() {
            anything([row.at, next.at], random, &mut supply);
            continue;
        }
        let hertz = if row.hertz.is_nan() { supply.last().map_or(50.0, |held| held.hertz) } else { row.hertz };
        supply.push(Held { from: row.at, volts: row.volts, hertz });
        if log.gaps.contains(&n) {
            anything([row.at + 1, next.at], random, &mut supply);
            continue;
        }
        if next.volts.is_nan() {
            continue;
        }
        if row.hertz.is_nan() || next.hertz.is_nan() {
            let turns = row.at + 1 + ((lasts - 1) as f64 * random.unit()) as Micros;
            let mut at = row.at + 1;
            while at < next.at {
                let volts = if at >= turns { next.volts } else { row.volts };
                supply.push(Held { from: at, volts, hertz: random.one_of(&[50.0, 50.0, 46.5, 52.5]) });
                at += ((lasts as f64 * random.between(0.1, 1.2)) as Micros).max(1);
            }
            continue;
        }
        let stands = |row: Row, stage: &Stage| {
            let value = if stage.watched == Watched::Frequency { row.hertz } else { row.volts };
            if stage.side == Side::Above { value > stage.threshold } else { value < stage.threshold }
        };
        let standing: Vec<&Stage> = protection.stages.iter().filter(|stage| stands(row, stage) && stands(next, stage)).collect();
        let may_be_back = !standing.is_empty() && standing.iter().all(|stage| lasts > stage.most);
        if may_be_back && random.unit() < 0.5 {
            // for less than any observation
            let back = (lasts / 3).min(2 * S);
            let from = row.at + 1 + ((lasts - back - 2) as f64 * random.unit()) as Micros;
            supply.push(Held { from, volts: 230.0, hertz: 50.0 });
            supply.push(Held { from: from + back, volts: next.volts, hertz: next.hertz });
            continue;
        }
        if is_gradual {
            let parts = 7;
            for part in 1..parts {
                let share = part as f64 / parts as f64;
                let at = row.at + (lasts as f64 * share) as Micros;
                let volts = row.volts + (next.volts - row.volts) * share;
                supply.push(Held { from: at.max(row.at + 1), volts, hertz: row.hertz + (next.hertz - row.hertz) * share });
            }
            continue;
        }
        let share = if random.unit() < 0.7 { habit } else { random.unit() };
        let turns = row.at + 1 + ((lasts - 1) as f64 * share) as Micros;
        if turns < next.at {
            supply.push(Held { from: turns, volts: next.volts, hertz: next.hertz });
        }
    }
    let last = log.rows[log.rows.len() - 1];
    supply.push(Held { from: last.at, volts: last.volts, hertz: last.hertz });
    supply
}

/// Whether the value that is told of a trip lies past the threshold of the stage that is named first, or none is told.
fn has_a_reason(merged: &Merged, protection: &Protection) -> bool {
    let Happening::Tripped(stages, value) = &merged.what else { return true };
    let stage = &protection.stages[stages[0]];
    let is_past = if stage.side == Side::Above { *value > stage.threshold } else { *value < stage.threshold };
    value.is_nan() || is_past || matches!(stage.watched, Watched::MeanOfAnyPhase(_))
}

/// What is wrong in what is told of a log, by one device; and which trips lie in which window.
fn faults(told: &Told, did: &Did, log: &Log, seen: &mut [Vec<Micros>]) -> Vec<String> {
    let mut faults = Vec::new();
    let holds = |merged: &Merged, at: Micros| merged.earliest - NEAR <= at && at <= merged.latest + NEAR;
    for (at, stage) in &did.trips {
        let mut is_told = false;
        for (n, merged) in told.story.iter().enumerate().filter(|(_, merged)| holds(merged, *at)) {
            is_told |= match &merged.what {
                Happening::Tripped(stages, _) => stages.contains(stage),
                Happening::LeftUnseen => true,
                Happening::LeftByLink => *stage == BY_LINK,
                _ => false,
            };
            if matches!(merged.what, Happening::Tripped(..)) {
                seen[n].push(*at);
            }
        }
        if !is_told {
            let near: Vec<&Row> = log.rows.iter().filter(|row| (row.at - at).abs() < 3 * log.spacing).collect();
            faults.push(format!("a trip by stage {stage} at {at} is not told; rows {near:?}"));
        }
    }
    for merged in &told.story {
        let (was_on, span) = (did.was_on(merged.earliest - NEAR), merged.earliest - NEAR..=merged.latest + NEAR);
        let tripped = did.trips.iter().any(|(at, _)| span.contains(at));
        let connected = did.connects.iter().any(|at| span.contains(at));
        let is_wrong = match (&merged.what, merged.sure) {
            (Happening::Tripped(..), Sure::Certain) => !was_on || !tripped,
            (Happening::Tripped(..), Sure::LatestOnly) => was_on && !tripped,
            // it may have come back in the very moment in which the link is lost
            (Happening::LeftByLink, Sure::Certain) => !tripped,
            (Happening::LeftByLink, Sure::LatestOnly) => was_on && !tripped,
            (Happening::Opened(stage, _), Sure::Certain) => !did.opens.iter().any(|(at, by)| by == stage && span.contains(at)),
            (Happening::Connected, Sure::Certain) => was_on || !connected,
            // by then at the latest
            (Happening::Connected, Sure::SoonestOnly) => !was_on && !connected,
            _ => false,
        };
        if is_wrong {
            faults.push(format!("not so: {merged:?}"));
        }
    }
    // in a gap one may leave more often than is told
    let dropped_out = did.trips.len() as u64;
    if dropped_out < told.drop_outs[0] || (dropped_out > told.drop_outs[1] && log.is_whole()) {
        faults.push(format!("it dropped out {dropped_out} times, told {:?}", told.drop_outs));
    }
    for (at, stage) in &did.opens {
        let is_told = |merged: &Merged| match &merged.what {
            Happening::Opened(by, _) => by == stage,
            // where the log says nothing, or it may have been on, it is told as a trip
            Happening::Tripped(stages, _) => stages.contains(stage),
            _ => false,
        };
        if log.is_whole() && !told.story.iter().any(|merged| holds(merged, *at) && is_told(merged)) {
            faults.push(format!("the relay opens by stage {stage} at {at}, and that is not told"));
        }
    }
    let is_on = did.was_on(told.end + 1);
    if (is_on && !told.states[1].is_on()) || (!is_on && told.states[0].is_on()) {
        faults.push(format!("it ends on: {is_on}, told {:?}", told.states));
    }
    // what a row says is available holds until the next; in a gap nothing is counted
    let slack = 1e-6 * told.given[1] + RATED * log.spacing as f64 * 0.01;
    if log.is_whole() && !(told.given[0] - slack..=told.given[1] + slack).contains(&did.given) {
        faults.push(format!("gave {}, told {:?}", did.given, told.given));
    }
    faults
}

#[test]
fn no_lawful_device_contradicts_what_is_told() {
    let logs: u64 = std::env::var("ASLEFT_DRAWN_LOGS").ok().map_or(60, |many| many.parse().expect("a number of logs"));
    let (mut wrong, mut excess, mut trips, mut certain) = (Vec::new(), Vec::new(), 0, 0);
    let (mut means, mut relays, mut links, mut cells, mut by_relay, mut by_mean, mut by_link) = (0, 0, 0, 0, 0, 0, 0);
    for seed in 1..=logs {
        let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        (0..5).for_each(|_| {
            random.unit();
        });
        let protection = protection(&mut random);
        let log = log(&mut random);
        let told = told(&log, &protection);
        let of_mean = |stage: &Stage| match stage.watched {
            Watched::MeanOfAnyPhase(window) => above(&log, window, stage.threshold),
            _ => Vec::new(),
        };
        let above: Vec<Vec<[Micros; 2]>> = protection.stages.iter().map(of_mean).collect();
        means += usize::from(above.iter().any(|runs| !runs.is_empty()));
        relays += usize::from(!protection.relays.is_empty());
        links += usize::from(log.lost.is_some());
        cells += usize::from(log.rows.iter().any(|row| row.volts.is_nan() || row.hertz.is_nan()));
        let mut seen: Vec<Vec<Micros>> = vec![Vec::new(); told.story.len()];
        let without_reason = told.story.iter().filter(|merged| !has_a_reason(merged, &protection));
        wrong.extend(without_reason.map(|merged| (seed, format!("no reason: {merged:?}"))));
        for n in 0..DEVICES {
            let supply = supply(&log, &protection, &mut random);
            let bold = random.share();
            let mut choose = || if random.unit() < 0.6 { bold } else { random.share() };
            let least_at = |place: usize, value: f64| least_at(&protection, place, value);
            // the last row counts
            let supply = Supply { held: &supply, above: &above, lost: log.lost(), end: told.end + 1 };
            let did = simulated(supply, &protection, &least_at, [AVAILABLE, RATED], &mut choose);
            trips += did.trips.len();
            for (_, stage) in &did.trips {
                match protection.stages.get(*stage) {
                    None => by_link += 1,
                    Some(stage) => {
                        by_relay += usize::from(stage.relay.is_some());
                        by_mean += usize::from(matches!(stage.watched, Watched::MeanOfAnyPhase(_)));
                    }
                }
            }
            let faults = faults(&told, &did, &log, &mut seen);
            wrong.extend(faults.into_iter().map(|fault| (seed, format!("device {n}: {fault}\n  told {:?}\n  did {did:?}", told.story))));
        }
        for (merged, seen) in told.story.iter().zip(&seen) {
            certain += usize::from(merged.sure == Sure::Certain);
            if let (Some(first), Some(last)) = (seen.iter().min(), seen.iter().max()) {
                excess.push(((merged.latest - merged.earliest) - (last - first)) as f64 / log.spacing as f64);
            }
        }
    }
    excess.sort_by(f64::total_cmp);
    let at = |share: f64| excess[((excess.len() - 1) as f64 * share) as usize];
    println!(
        "{logs} logs, {DEVICES} devices on each: {trips} trips, {certain} certain happenings; {} windows longer than the spread by {:.2} rows (median), {:.2} (nine tenths)",
        excess.len(),
        at(0.5),
        at(0.9)
    );
    println!(
        "{means} logs with a mean above its threshold, {relays} behind a relay, {links} with a lost link, {cells} with missing cells; \
         {by_mean} trips by a mean, {by_relay} by a relay, {by_link} by a lost link"
    );
    let found = wrong.len();
    wrong.dedup_by_key(|(seed, _)| *seed);
    let of_each: Vec<String> = wrong.iter().take(8).map(|(seed, fault)| format!("log {seed}, {fault}")).collect();
    assert!(wrong.is_empty(), "{found} contradict, in {} logs:\n{}", wrong.len(), of_each.join("\n"));
    assert!(trips as u64 > 50 * logs && certain as u64 > logs / 3, "{trips} {certain}");
    assert!(at(0.5) <= 2.0, "{}", at(0.5));
}
