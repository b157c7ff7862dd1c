//! Time in which nothing can happen is passed over at once: what a device does is the same as where every cycle of the
//! network is played. Every shipped drill, and drawn courses on drawn devices. `ASLEFT_LEAPS=2000` draws so many.

use crate::courses::{course_of, shipped};
use crate::drilled;

use drilled::{S, device, of_moments, protection, stage};
use response::course::{Course, DENSEST, Signal, Stretch};
use response::device::Device;
use response::line::Line;
use response::timeline::{Ceasing, DropOff, Micros, Player, Protection, Reconnection, Relay, Sample, Side, Values, Watched};

/// A plain generator of random numbers (xorshift), so that every run draws the same.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[(self.unit() * all.len() as f64) as usize]
    }
}

fn sample(at: Micros, signal: Signal) -> Sample {
    let Signal { voltage, frequency, available, own_use } = signal;
    Sample { at, voltage, frequency, available, load: own_use }
}

/// A device that plays a course, and how often something was played.
fn played<'d>(course: &Course, device: &'d Device, protection: &'d Protection, phases: usize, leap: Micros) -> (Player<'d>, usize) {
    let mut player = Player::new(device, protection, Some(true), Values { phases, are_means: false, prove_means: true });
    player.assume(0, course.stretches[0].begins.voltage[0]);
    let mut times = 0;
    for stretch in &course.stretches {
        let value = |at: Micros| sample(at, stretch.at(at));
        let mut next = Some(stretch.from);
        while let Some(mut at) = next {
            player.push(value(at));
            times += 1;
            loop {
                let until = stretch.leap(at, leap);
                if until - at <= DENSEST || !player.stays_quiet_until(&value(until)) {
                    break;
                }
                player.glide((at + DENSEST..=until).step_by(DENSEST as usize).map(value));
                times += 1;
                at = until;
            }
            next = stretch.next(at);
        }
    }
    let last = course.stretches.last().unwrap();
    player.push(sample(last.to, last.ends));
    (player, times)
}

/// The same happenings, states and means; the same energy to a ten-thousandth of what the device could have given.
fn does_the_same(course: &Course, device: &Device, protection: &Protection, phases: usize, leap: Micros, what: &str) -> [usize; 2] {
    let (dense, all) = played(course, device, protection, phases, 0);
    let (leaping, few) = played(course, device, protection, phases, leap);
    assert_eq!(leaping.story(), dense.story(), "{what}");
    assert_eq!(leaping.changes(), dense.changes(), "{what}");
    assert_eq!(leaping.states(), dense.states(), "{what}");
    for n in 0..protection.stages.len() {
        assert_eq!((leaping.mean(n), leaping.highest_mean(n)), (dense.mean(n), dense.highest_mean(n)), "{what}: stage {n}");
    }
    for (one, other) in leaping.energy().iter().zip(&dense.energy()) {
        let is_near = |one: f64, other: f64| (one - other).abs() <= 1e-4 * device.ratings.active * course.end() as f64;
        assert!(is_near(one.given, other.given) && is_near(one.available, other.available), "{what}: {one:?} {other:?}");
        assert!(is_near(one.charged, other.charged), "{what}: {one:?} {other:?}");
        // a sample at which nothing at all is available loses nothing, and a leap that begins with it does
        let takes_as_long = |one: Micros, other: Micros| (one - other).abs() <= 10 * DENSEST;
        assert!(one.drop_outs == other.drop_outs && takes_as_long(one.held_back, other.held_back), "{what}: {one:?} {other:?}");
        assert!(one.lost.keys().eq(other.lost.keys()), "{what}: {one:?} {other:?}");
        for (cause, lost) in &one.lost {
            let same = &other.lost[cause];
            let as_long = takes_as_long(lost.lasted, same.lasted) && (0..2).all(|n| takes_as_long(lost.between[n], same.between[n]));
            assert!(as_long && lost.times == same.times, "{what}: {cause:?} {lost:?} {same:?}");
            assert!(is_near(lost.energy, same.energy), "{what}: {cause:?} {lost:?} {same:?}");
        }
    }
    [all, few]
}

/// From all of 5 kW down to a fifth of it at 260 V.
fn volt_watt(from: i64) -> Line {
    Line::of(&vec![(from.into(), 5_000.into()), (260.into(), 1_000.into())], 1.0).unwrap()
}

#[test]
fn every_shipped_drill_happens_as_it_does_cycle_by_cycle() {
    let watts = Device { volt_watt: Some(volt_watt(253)), ..device() };
    for (name, text) in shipped() {
        let course = course_of(&text);
        for (device, which) in [(&device(), "bare"), (&watts, "volt-watt")] {
            let [all, few] = does_the_same(&course, device, &protection(), 1, S, &format!("{name}, {which}"));
            println!("{name:<36} {which:<10} {all:>8} {few:>8}");
            assert!(name != "noon-creep" || few < 20_000, "{name}: {few} of {all}");
        }
    }
}

fn drawn_course(random: &mut Random) -> Course {
    const VOLTS: [f64; 16] =
        [230.0, 230.0, 240.0, 245.0, 250.0, 252.9, 253.1, 256.0, 257.9, 259.0, 264.0, 268.0, 280.0, 204.0, 178.0, 60.0];
    const HERTZ: [f64; 9] = [50.0, 50.0, 50.0, 50.0, 50.1, 50.2, 51.0, 52.5, 46.8];
    let mut signal = Signal { voltage: [230.0; 3], frequency: 50.0, available: 4_000.0, own_use: 0.0 };
    let (mut now, mut stretches) = (0, Vec::new());
    for _ in 0..2 + (random.unit() * 8.0) as usize {
        let lasts = (random.one_of(&[0.005, 0.3, 3.0, 12.0, 70.0, 200.0, 700.0]) * (0.5 + random.unit()) * 1e6) as Micros;
        let before = signal;
        let volts = random.one_of(&VOLTS);
        signal.voltage = [volts, if random.unit() < 0.2 { random.one_of(&VOLTS) } else { volts }, volts];
        signal.frequency = if random.unit() < 0.4 { random.one_of(&HERTZ) } else { 50.0 };
        signal.available = random.one_of(&[0.0, 1_500.0, 4_000.0, 6_000.0]);
        let begins = if random.unit() < 0.5 { before } else { signal };
        stretches.push(Stretch { from: now, to: now + lasts, begins, ends: signal, says: None, links: Vec::new() });
        now += lasts;
    }
    Course { stretches }
}

/// As the drills' device is, with a shorter window, behind a relay, ceasing, or with responses.
fn drawn_device(random: &mut Random) -> (Device, Protection, usize) {
    let mut stages = of_moments();
    let window = random.one_of(&[6 * S, 60 * S, 600 * S]);
    stages.push(stage("sustained-overvoltage", Watched::MeanOfAnyPhase(window), Side::Above, 255.0, [0.0, 3.0]));
    let observation = random.one_of(&[[5 * S; 2], [60 * S; 2], [5 * S, 12 * S]]);
    let ramp = random.one_of(&[0, 20 * S, 360 * S]);
    let reconnection = Reconnection { voltage: [205.0, 253.0], frequency: [47.5, 50.15], observation, random: 0, ramp };
    let mut relays = Vec::new();
    if random.unit() < 0.3 {
        let own = stage("overvoltage-1", Watched::AnyPhase, Side::Above, 262.0, [2.0, 2.5]);
        stages.push(response::timeline::Stage { relay: Some(0), drop_off: DropOff { at: [262.0, 258.0], reset: [0, 300_000] }, ..own });
        relays.push(Relay { phases: 3, reconnection: Reconnection { ramp: 0, ..reconnection } });
    }
    let ceasing = if random.unit() < 0.3 { Ceasing { below: 200.0, above: 261.0 } } else { Ceasing::default() };
    let mut device = device();
    if random.unit() < 0.6 {
        device.volt_watt = Some(volt_watt(250));
    }
    if random.unit() < 0.3 {
        device.export_limit = Some(2_000.0);
    }
    (device, Protection { stages, reconnection, ceasing, relays }, random.one_of(&[1, 1, 3]))
}

#[test]
fn drawn_courses_happen_as_they_do_cycle_by_cycle() {
    let drawn: u64 = std::env::var("ASLEFT_LEAPS").map_or(60, |number| number.parse().unwrap());
    let (mut all, mut few) = (0, 0);
    for seed in 1..=drawn {
        let mut random = Random(0x9e37_79b9_7f4a_7c15 ^ seed.wrapping_mul(0x2545_f491_4f6c_dd1d));
        let course = drawn_course(&mut random);
        let (device, protection, phases) = drawn_device(&mut random);
        let leap = random.one_of(&[60_000, 500_000, S]);
        let [dense, leaping] = does_the_same(&course, &device, &protection, phases, leap, &format!("seed {seed}"));
        (all, few) = (all + dense, few + leaping);
    }
    println!("{drawn} courses: {all} values, {few} played");
    assert!(few * 3 < all * 2, "{few} of {all}: hardly anything is passed over");
}
