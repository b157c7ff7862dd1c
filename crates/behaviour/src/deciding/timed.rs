//! Answers of what has to happen at a time: one clear event decides, and how many there were is told.

use super::{Answer, Known, RestsOn, Sure, Verdict};
use crate::counters::{Counters, Day};
use crate::function::Function;
use crate::happened::{Happened, Often};
use crate::hypotheses::Place;
use crate::needs::Lacks;

/// What decides a function: what shows that it departs, and what that it behaves.
struct By {
    departs: &'static [Happened],
    behaves: &'static [Happened],
}

fn by(function: Function) -> Option<By> {
    match function {
        Function::Trips => Some(By { departs: &[Happened::StayedOn], behaves: &[Happened::Left] }),
        Function::Reconnection => Some(By { departs: &[Happened::CameBackEarly, Happened::RoseTooFast], behaves: &[Happened::Waited] }),
        Function::OverFrequencyResponse => {
            Some(By { departs: &[Happened::AboveAtHighFrequency], behaves: &[Happened::FellAtHighFrequency] })
        }
        _ => None,
    }
}

/// What is lacking where nothing happened: `lacks`.
#[must_use]
pub fn decide_timed(function: Function, counters: &Counters, known: &Known, lacks: Lacks) -> Option<Verdict> {
    let By { departs, behaves } = by(function)?;
    let total = counters.numbers();
    let days = |of: &[Happened]| counters.days.values().filter(|day| often(day, of).times > 0).count() as u32;
    let (departed, behaved) = (often(&total, departs), often(&total, behaves));
    let answer = match () {
        () if departed.times > 0 => Answer::Departs,
        () if behaved.times > 0 => Answer::Behaves,
        () => Answer::NotShown,
    };
    let rests_on: Vec<RestsOn> = [(known.accuracy.is_assumed(), RestsOn::Accuracy), (known.place != Place::Terminals, RestsOn::Place)]
        .into_iter()
        .filter(|(rests, _)| *rests && answer != Answer::NotShown)
        .map(|(_, on)| on)
        .collect();
    let sure = if rests_on.is_empty() { Sure::Certain } else { Sure::Likely };
    Some(Verdict {
        function,
        answer,
        sure: (answer != Answer::NotShown).then_some(sure),
        rests_on,
        size: None,
        usable: total.read,
        informative: behaved.lasted,
        outside: departed.lasted,
        blocks: if answer == Answer::Departs { departed.times } else { behaved.times },
        days: days(if answer == Answer::Departs { departs } else { behaves }),
        shown_over: None,
        reached: None,
        explained_by: Vec::new(),
        needs: (answer == Answer::NotShown).then_some(lacks),
        change: None,
    })
}

fn often(day: &Day, of: &[Happened]) -> Often {
    let all = of.iter().filter_map(|happened| day.happened.get(happened));
    all.fold(Often::default(), |sum, often| Often { times: sum.times + often.times, lasted: sum.lasted + often.lasted })
}
