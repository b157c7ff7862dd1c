//! The register tables and the decoding of points against pysunspec2 1.3.7, which reads the same images.

use crate::images;

use std::collections::HashMap;
use sunspec::decode::{Decoded, PointValue, Says};
use sunspec::models::{Kind, MODELS};

/// Each line: model, address, point, and what pysunspec2 reads there before it scales it; `null` where the point is
/// not implemented.
#[test]
fn every_point_lies_where_pysunspec2_reads_it_and_holds_the_same() {
    let mut models = Vec::new();
    for name in ["conforming", "older-only", "nine-stored", "many-registers", "neighbours", "short-identity"] {
        let walk = images::walked(name).unwrap();
        let mut ours = HashMap::new();
        for block in &walk.blocks {
            let Some(decoded) = Decoded::of(block).map(Result::unwrap) else { continue };
            models.push(block.id);
            decoded.parts.each("", &mut |_, held| drop(ours.insert(held.register, held.clone())));
        }
        let theirs = images::text(&format!("{name}.points"));
        let mut compared = 0;
        for line in theirs.lines() {
            let [_, register, point, value] = line.splitn(4, ' ').collect::<Vec<_>>()[..] else { panic!("{line}") };
            let Some(held) = ours.remove(&register.parse().unwrap()) else {
                assert!(matches!(point, "ID" | "L") || line.starts_with("101 "), "{name}: {line}");
                continue;
            };
            compared += 1;
            let same_name = held.point.name == point || point.trim_end_matches(|c: char| c.is_ascii_digit()) == held.point.name;
            assert!(same_name, "{name}: {line} is {}", held.point.name);
            assert_eq!(raw(&held), value, "{name}: {line}");
        }
        assert!(ours.is_empty(), "{name}: pysunspec2 does not have {:?}", ours.keys());
        assert!(compared > 400, "{name}: {compared}");
    }
    models.sort_unstable();
    models.dedup();
    assert_eq!(models, MODELS.map(|model| model.id));
}

/// A point as pysunspec2 prints it.
fn raw(held: &PointValue) -> String {
    let wide = held.raw.iter().fold(0_i64, |wide, word| wide << 16 | i64::from(*word));
    match (&held.says, held.point.kind) {
        (Says::NotImplemented, _) => "null".to_owned(),
        (Says::Text { text, .. }, _) => format!("{text:?}"),
        (_, Kind::I16 | Kind::Scale) => (wide as i16).to_string(),
        (_, Kind::I32) => (wide as i32).to_string(),
        _ => wide.to_string(),
    }
}

/// Lengths of models whose layout is the same in every device, from the definitions.
#[test]
fn fixed_models_have_the_lengths_of_the_definitions() {
    for (id, length) in [(1, 66), (120, 26), (121, 30), (122, 44), (123, 24), (127, 10), (701, 153), (702, 50), (703, 17), (704, 65)] {
        let words: Vec<u16> = [vec![id, length], vec![0; usize::from(length)]].concat();
        let layout = sunspec::layout::of(sunspec::models::model(id).unwrap(), &words);
        assert!(layout.is_ok(), "{id}: {layout:?}");
        let shorter = [&[id, length - 2], &words[2..]].concat();
        assert!(sunspec::layout::of(sunspec::models::model(id).unwrap(), &shorter).is_err(), "{id}");
    }
}
