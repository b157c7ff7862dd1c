//! Many lawful devices on many supplies that a log allows, against what is told of the log.
//!
//! A log is drawn from a supply: dense or coarse, with noise, irregular rows, gaps, values at the very
//! threshold, two events at once. Supplies that agree with the log at each of its rows are drawn anew, and on
//! each a device that uses its freedom by chance (`simulated`). Every trip of every one has to lie in a
//! window that is told, with its stage; what is told as certain has to be so for every one; and windows are
//! hardly longer than what the devices did. `ASLEFT_DRAWN_LOGS=1000` draws so many logs.

mod simulated;

use response::device::Device;
use response::timeline::{
    Ceasing, DropOff, Happening, Merged, Micros, Player, Protection, Reconnection, Ridden, RideThrough, Sample, Side, Stage, State, Sure,
    Values, Watched, micros,
};
use simulated::{Did, Held, simulated};

const MS: Micros = 1_000;
const S: Micros = 1_000_000;
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
    let stage = |function, watched, side, threshold, least: f64, most: f64| Stage {
        function,
        watched,
        side,
        threshold,
        least: micros(least),
        most: micros(most),
        drop_off: DropOff::at_threshold(threshold),
        rides: RideThrough::default(),
        relay: None,
    };
    let mut stages = vec![
        stage("undervoltage-1", Watched::AnyPhase, Side::Below, 180.0, 10.0, 11.0),
        stage("undervoltage-2", Watched::AnyPhase, Side::Below, 70.0, 1.0, 2.0),
        stage("overvoltage-1", Watched::AnyPhase, Side::Above, 265.0, 1.0, 2.0),
        stage("overvoltage-2", Watched::AnyPhase, Side::Above, 275.0, 0.0, 0.2),
        stage("underfrequency-1", Watched::Frequency, Side::Below, 47.0, 1.0, 2.0),
        stage("overfrequency-1", Watched::Frequency, Side::Above, 52.0, 0.0, 0.2),
    ];
    if rides_by_depth {
        stages[0].least = 3 * S;
        stages[0].rides = RideThrough::of(vec![Ridden { from: 180.0, to: 120.0, least: [8 * S, 3 * S] }]);
    }
    let observation = random.one_of(&[[5 * S; 2], [60 * S; 2], [5 * S, 12 * S]]);
    let reconnection = Reconnection { voltage: [205.0, 253.0], frequency: [47.5, 50.15], observation, random: 0, ramp: 20 * S };
    Protection { stages, reconnection, ceasing: Ceasing::default(), relays: Vec::new() }
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

/// A log: its rows, and the gaps after rows at these places.
struct Log {
    rows: Vec<Row>,
    gaps: Vec<usize>,
    spacing: Micros,
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
    Log { rows, gaps, spacing }
}

/// What is told of a log.
struct Told {
    story: Vec<Merged>,
    states: [State; 2],
    given: [f64; 2],
    end: Micros,
}

fn told(log: &Log, protection: &Protection) -> Told {
    let device = Device::bare(RATED);
    let mut player = Player::new(&device, protection, Some(true), Values { phases: 1, are_means: false, prove_means: true });
    for (n, row) in log.rows.iter().enumerate() {
        player.push(Sample {
            at: row.at,
            voltage: [row.volts, f64::NAN, f64::NAN],
            frequency: row.hertz,
            available: AVAILABLE,
            load: f64::NAN,
        });
        if log.gaps.contains(&n) {
            player.gap(row.at);
        }
    }
    let given = player.energy().map(|energy| energy.given);
    Told { story: player.story(), states: player.states(), given, end: log.rows.last().unwrap().at }
}

/// A supply that agrees with the log at each of its rows.
fn supply(log: &Log, protection: &Protection, random: &mut Random) -> Vec<Held> {
    let is_gradual = random.unit() < 0.25;
    // a supply that turns early, late, or anyhow
    let habit = random.share();
    let mut supply = Vec::new();
    for (n, pair) in log.rows.windows(2).enumerate() {
        let [row, next] = [pair[0], pair[1]];
        let lasts = next.at - row.at;
        supply.push(Held { from: row.at, volts: row.volts, hertz: row.hertz });
        if log.gaps.contains(&n) {
            let mut at = row.at + 1;
            while at < next.at {
                let volts = random.one_of(&[230.0, 230.0, 60.0, 280.0, 175.0]);
                supply.push(Held { from: at, volts, hertz: random.one_of(&[50.0, 50.0, 50.0, 46.5]) });
                at += micros(random.between(0.1, 14.0));
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

/// What is wrong in what is told of a log, by one device; and which trips lie in which window.
fn faults(told: &Told, did: &Did, log: &Log, seen: &mut [Vec<Micros>]) -> Vec<String> {
    let mut faults = Vec::new();
    let holds = |merged: &Merged, at: Micros| merged.earliest <= at && at <= merged.latest;
    for (at, stage) in &did.trips {
        let mut is_told = false;
        for (n, merged) in told.story.iter().enumerate().filter(|(_, merged)| holds(merged, *at)) {
            is_told |= match &merged.what {
                Happening::Tripped(stages, _) => stages.contains(stage),
                Happening::LeftUnseen => true,
                _ => false,
            };
            if matches!(merged.what, Happening::Tripped(..)) {
                seen[n].push(*at);
            }
        }
        if !is_told {
            faults.push(format!("a trip by stage {stage} at {at} is not told"));
        }
    }
    for merged in &told.story {
        let (was_on, span) = (did.was_on(merged.earliest), merged.earliest..=merged.latest);
        let tripped = did.trips.iter().any(|(at, _)| span.contains(at));
        let connected = did.connects.iter().any(|at| span.contains(at));
        let is_wrong = match (&merged.what, merged.sure) {
            (Happening::Tripped(..), Sure::Certain) => !was_on || !tripped,
            (Happening::Tripped(..), Sure::LatestOnly) => was_on && !tripped,
            (Happening::Connected, Sure::Certain) => was_on || !connected,
            // by then at the latest
            (Happening::Connected, Sure::SoonestOnly) => !was_on && !connected,
            _ => false,
        };
        if is_wrong {
            faults.push(format!("not so: {merged:?}"));
        }
    }
    let is_on = did.was_on(told.end + 1);
    if (is_on && !told.states[1].is_on()) || (!is_on && told.states[0].is_on()) {
        faults.push(format!("it ends on: {is_on}, told {:?}", told.states));
    }
    // what a row says is available holds until the next; in a gap nothing is counted
    let slack = 1e-6 * told.given[1] + RATED * log.spacing as f64 * 0.01;
    if log.gaps.is_empty() && !(told.given[0] - slack..=told.given[1] + slack).contains(&did.given) {
        faults.push(format!("gave {}, told {:?}", did.given, told.given));
    }
    faults
}

#[test]
fn no_lawful_device_contradicts_what_is_told() {
    let logs: u64 = std::env::var("ASLEFT_DRAWN_LOGS").ok().map_or(60, |many| many.parse().expect("a number of logs"));
    let (mut wrong, mut excess, mut trips, mut certain) = (Vec::new(), Vec::new(), 0, 0);
    for seed in 1..=logs {
        let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        (0..5).for_each(|_| {
            random.unit();
        });
        let protection = protection(&mut random);
        let log = log(&mut random);
        let told = told(&log, &protection);
        let mut seen: Vec<Vec<Micros>> = vec![Vec::new(); told.story.len()];
        for n in 0..DEVICES {
            let supply = supply(&log, &protection, &mut random);
            let bold = random.share();
            let mut choose = || if random.unit() < 0.6 { bold } else { random.share() };
            let least_at = |place: usize, value: f64| least_at(&protection, place, value);
            // the last row counts
            let did = simulated(&supply, told.end + 1, &protection, &least_at, [AVAILABLE, RATED], &mut choose);
            trips += did.trips.len();
            let faults = faults(&told, &did, &log, &mut seen);
            wrong
                .extend(faults.into_iter().map(|fault| format!("log {seed}, device {n}: {fault}\n  told {:?}\n  did {did:?}", told.story)));
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
    assert!(wrong.is_empty(), "{} contradict, such as\n{}", wrong.len(), wrong.iter().take(3).cloned().collect::<Vec<_>>().join("\n"));
    assert!(trips as u64 > 50 * logs && certain as u64 > logs / 3, "{trips} {certain}");
    assert!(at(0.5) <= 2.0, "{}", at(0.5));
}
