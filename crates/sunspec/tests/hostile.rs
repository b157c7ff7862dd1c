//! Whatever registers a device, or somebody in its place, gives: reading ends, takes no more memory than registers exist,
//! and never states a value that no file could hold.

use crate::images;

use proptest::prelude::*;
use settings_model::catalogue::Shape;
use settings_model::exact::Exact;
use settings_model::value::Value;
use std::collections::HashSet;
use sunspec::walk::{MARK, MOST_MODELS, walk};
use sunspec::{Against, Captured, Failure, Image, Options, Registers};

/// Registers that are made up as they are asked for, and what was asked.
struct Endless<F> {
    word: F,
    requests: usize,
    registers: usize,
}

impl<F: FnMut(u16) -> u16> Registers for Endless<F> {
    fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure> {
        assert!((1..=Options::default().at_once).contains(&count), "{count} registers at once");
        self.requests += 1;
        self.registers += usize::from(count);
        (0..count).map(|n| at.checked_add(n).map(&mut self.word).ok_or(Failure::Refused(2))).collect()
    }
}

/// Reads it all, and holds what comes of it against what can be.
fn read(word: impl FnMut(u16) -> u16) -> Option<Captured> {
    let mut endless = Endless { word, requests: 0, registers: 0 };
    let walked = walk(&mut endless, &Options { everything: true, ..Options::default() }, &mut |_| {});
    // every address twice, and the heads
    assert!(endless.registers <= 4 * 65_536 && endless.requests <= 4 * 65_536);
    let walk = walked.ok()?;
    assert!(walk.blocks.len() <= MOST_MODELS);
    let captured = sunspec::mapping::captured(&walk, &Against::default());
    captured.readings.iter().for_each(can_be_written);
    Some(captured)
}

/// A file could hold it: nine digits, and a dimension's own unit.
fn can_be_written(reading: &sunspec::mapping::Reading) {
    let setting = reading.setting;
    let parses = |dimension: settings_model::quantity::Dimension, text: &str| assert!(dimension.parse(text).is_ok(), "{setting}: {text}");
    match (&reading.known.value, setting.parameter().shape) {
        (Value::Quantity(amount), Shape::Quantity(dimension)) => parses(dimension, &amount.show(dimension)),
        (Value::Curve(points), Shape::Curve { x, y }) => {
            points.iter().for_each(|point| {
                parses(x, &point.x.show(x));
                parses(y, &point.y.show(y));
            });
        }
        (Value::Word(word), Shape::Choice(words)) => assert!(usize::from(*word) < words.len()),
        (value, shape) => panic!("{setting}: {value:?} of {shape:?}"),
    }
    if let Some(step) = reading.known.step.as_deref() {
        assert!(step.size > Exact::ZERO && step.level.is_none_or(|level| level > Exact::ZERO), "{setting}: {step:?}");
        if let Shape::Quantity(dimension) | Shape::Curve { x: dimension, .. } = setting.parameter().shape {
            parses(dimension, &dimension.show(step.size));
        }
    }
}

/// The registers of an image, from its base on.
fn words(name: &str) -> (u16, Vec<u16>) {
    let base = images::walked(name).unwrap().base;
    let image = images::image(name);
    (base, (base..).map_while(|at| image.get(at)).collect())
}

#[test]
fn one_word_repeated_for_ever_ends() {
    for word in [0, 1, 2, 3, 0x53, 705, 707, 0x7fff, 0x8000, 0xffff] {
        read(|at| {
            if at == 40_000 {
                MARK[0]
            } else if at == 40_001 {
                MARK[1]
            } else {
                word
            }
        });
    }
}

/// A chain of the shortest models that there can be.
#[test]
fn a_chain_without_end_ends() {
    let captured = read(|at| match at.wrapping_sub(40_000) {
        0 => MARK[0],
        1 => MARK[1],
        n if n % 3 == 2 => 64_000,
        _ => 1,
    });
    assert!(captured.unwrap().troubles.iter().any(|trouble| trouble.kind == sunspec::TroubleKind::TooManyModels));
}

/// The largest counts that fit into a register, in every model that counts.
#[test]
fn counts_of_65534_take_no_room() {
    for id in [126, 129, 132, 134, 135, 705, 706, 707, 709, 711, 712] {
        for length in [1, 13, 200, 25_000] {
            read(|at| match at.wrapping_sub(40_000) {
                0 => MARK[0],
                1 => MARK[1],
                2 => id,
                3 => length,
                _ => 65_534,
            });
        }
    }
}

/// A register that says a setting says it: put it up or down by one, and the setting is another, or is not told.
#[test]
fn every_register_of_a_reading_counts() {
    for name in ["conforming", "older-only"] {
        let (base, words) = words(name);
        let sound = read(|at| words.get(usize::from(at.wrapping_sub(base))).copied().unwrap_or(0xffff)).unwrap();
        let mut seen = HashSet::new();
        for reading in &sound.readings {
            let is_plain = reading.from.raw.len() <= 2;
            for n in 0..reading.from.raw.len() {
                let address = usize::from(reading.from.register - base) + n;
                if !is_plain || !seen.insert((address, reading.setting)) {
                    continue;
                }
                for by in [1, u16::MAX] {
                    let mut altered = words.clone();
                    altered[address] = altered[address].wrapping_add(by);
                    let now = read(|at| altered.get(usize::from(at.wrapping_sub(base))).copied().unwrap_or(0xffff)).unwrap();
                    let other = now.reading(reading.setting);
                    let is_another = other.is_none_or(|other| other.known.value != reading.known.value);
                    // a setting that was put beyond its rating is told by the rating's own register, and by no other
                    let is_at_rating =
                        other.is_some_and(|other| other.from.point.contains("Rtg") && other.from.register != reading.from.register);
                    // how many points are in use says that there is no further stage: one more is one, one less is none
                    let counts_points = reading.from.point.ends_with("ActPt");
                    assert!(is_another || counts_points || is_at_rating, "{name}: {} by {by}: {other:?}", reading.setting);
                }
            }
        }
        assert!(seen.len() > 30, "{}", seen.len());
    }
}

/// One register that is another at the second look: its model is not used, wherever it lies; times that run down are
/// no change.
#[test]
fn a_register_that_changes_is_noticed() {
    let (base, words) = words("conforming");
    for (address, is_change) in [(40_433, true), (40_381, true), (40_491, true), (40_372, false), (40_073, false)] {
        let mut seen = 0;
        let captured = read(|at| {
            seen += u32::from(at == address);
            let word = words.get(usize::from(at.wrapping_sub(base))).copied().unwrap_or(0xffff);
            if at == address && seen == 1 { word.wrapping_add(1) } else { word }
        });
        let changed = captured.unwrap().troubles.iter().any(|trouble| trouble.kind == sunspec::TroubleKind::ChangedWhileRead);
        assert_eq!(changed, is_change, "{address}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    /// Random registers behind a mark, with small numbers often.
    #[test]
    fn random_registers_end(seed: u64, small in 0..4_u16) {
        let mut state = seed | 1;
        let noise = |at: u16| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(u64::from(at) * 2 + 1);
            let word = (state >> 40) as u16;
            if word % 4 < small { word % 40 } else { word }
        };
        let mut noise = noise;
        read(|at| match at.wrapping_sub(40_000) { 0 => MARK[0], 1 => MARK[1], _ => noise(at) });
    }

    /// Sound images with some registers altered: the chain and the layouts stay near to what they were.
    #[test]
    fn altered_images_end(which in 0..6_usize, alterations in prop::collection::vec((any::<u16>(), any::<u16>(), 0..4_u8), 1..12)) {
        let name = ["conforming", "older-only", "nine-points", "many-registers", "three-phase", "two-curves"][which];
        let (base, mut words) = words(name);
        for (at, word, how) in alterations {
            let at = usize::from(at) % words.len();
            words[at] = match how { 0 => word, 1 => 0xffff, 2 => 0x8000, _ => words[at] ^ (1 << (word % 16)) };
        }
        read(|at| words.get(usize::from(at.wrapping_sub(base))).copied().unwrap_or(0xffff));
    }

    /// What an image keeps comes back, whatever the order in which it was read.
    #[test]
    fn an_image_keeps_what_was_read(reads in prop::collection::vec((0..300_u16, prop::collection::vec(any::<u16>(), 1..30)), 1..20)) {
        let mut image = Image::default();
        let mut plain = std::collections::BTreeMap::new();
        for (at, words) in &reads {
            image.keep(*at, words);
            plain.extend(words.iter().enumerate().map(|(n, word)| (at + n as u16, *word)));
        }
        prop_assert_eq!(image.len(), plain.len());
        for at in 0..340 {
            prop_assert_eq!(image.get(at), plain.get(&at).copied());
        }
        let text = image.file(&sunspec::image::ReadFrom::default(), "");
        let file: settings_model::files::RegisterImageFile = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(Image::of_file(&file), image);
    }
}
