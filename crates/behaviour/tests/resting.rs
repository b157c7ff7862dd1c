//! Most rows lie where nothing is asked and nothing was done. They are passed over without being tried under every error:
//! of drawn rows none that is passed over would have told anything.

use crate::simulated::chance::Chance;
use crate::simulated::device::Fault;
use crate::simulated::{Like, drawn, first_seed, how_many};
use behaviour::band::{Errors, Judge};
use behaviour::reading::{Became, Readings};

#[test]
fn what_is_passed_over_tells_nothing() {
    let (mut passed_over, mut tried) = (0, 0);
    for seed in first_seed()..first_seed() + how_many(40) {
        let fault = [Fault::None, Fault::ReactiveOff, Fault::CapOff, Fault::ReactiveShare(0.5)][(seed % 4) as usize];
        let log = drawn(seed, Like::draw(&mut Chance::of(seed ^ 0x4e57)), fault);
        let judges = log.rules.iter().map(|rule| Judge::new(rule.clone(), &log.rules, &log.grid, &log.setup, log.margins));
        let judges: Vec<Judge<'_>> = judges.collect();
        let mut look = |became: Became<'_>| {
            let Became::Reading(reading, _) = became else { return };
            for judge in judges.iter().filter(|judge| judge.uses(reading)) {
                let kinds = judge.kinds();
                tried += 1;
                if !judge.rests(reading, &kinds) {
                    continue;
                }
                passed_over += 1;
                let errors = judge.grid.all.iter().map(Errors::Constant).chain(kinds.iter().map(Errors::Any));
                for stands in errors.map(|errors| judge.stands(reading, errors)) {
                    let is_outside = stands.is_above() || (stands.is_below() && !judge.rule.answers.is_cap());
                    let tells = stands.is_informative || stands.is_exposed || is_outside;
                    assert!(!tells, "{:?}, {reading:?}: {stands:?}; {}", judge.rule.function, log.told);
                }
            }
        };
        let mut readings = Readings::new(&log.setup);
        log.rows.iter().for_each(|row| readings.push(row, &mut look));
        readings.end(&mut look);
    }
    println!("{passed_over} of {tried} rows of rules passed over");
    assert!(passed_over * 10 > tried, "{passed_over} of {tried}");
}
