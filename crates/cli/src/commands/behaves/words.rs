//! What an answer is called, what it rests on and what would give one, for people.

use super::Seen;
use behaviour::accuracy::Basis;
use behaviour::deciding::{RestsOn, Size, Verdict};
use behaviour::function::{Answers, Function, Rule, To};
use behaviour::happened::{Happened, OfDay};
use behaviour::hypotheses::Follows;
use behaviour::needs::Lacks;
use behaviour::reading::LeftOut;
use behaviour::thresholds::MINUTE;

/// Its title.
pub fn title(function: Function) -> &'static str {
    match function {
        Function::Trips => "Trips",
        Function::Reconnection => "Reconnection",
        function => replay::acting::title(function.key()),
    }
}

/// What a row was left out for.
pub fn left_out(why: LeftOut) -> (&'static str, &'static str) {
    match why {
        LeftOut::Blank => ("blank", "no voltage or no power in the row"),
        LeftOut::Implausible => ("implausible", "no voltage of a device that gives power"),
        LeftOut::BeyondRating => ("beyond-rating", "more than 1.3 times what the device can ever give"),
        LeftOut::Stuck => ("stuck", "the same to the last digit for 10 minutes and longer"),
        LeftOut::BesideGap => ("beside-gap", "at the beginning, at the end or beside a gap"),
        LeftOut::Off => ("off", "the device gave nothing (below 2 % of its rating)"),
        LeftOut::LowPower => ("low-power", "below 25 % of the rating: no reactive power is judged"),
        LeftOut::Unsteady => ("unsteady", "much less power than in the rows beside it: it may have stopped"),
    }
}

/// What an answer rests on.
pub fn rests_on(on: RestsOn) -> &'static str {
    match on {
        RestsOn::Accuracy => "the accuracy of the meter, which nobody stated or published in full (`--accuracy`)",
        RestsOn::SteadyError => "the meter's error of voltage being the same for the whole log, and voltage moving little within rows",
        RestsOn::Place => "the terminals lying at most 2 % above where it was measured (`--measured-at terminals` rests on nothing)",
        RestsOn::Sign => "reactive power above zero being supplied, which nobody stated (`--q-positive`)",
        RestsOn::Signed => "vars having a sign in this log: none lies clearly below zero, and a log that lost signs looks the same",
        RestsOn::Tolerance => "a tolerance that no standard at hand gives (`--tolerance`)",
        RestsOn::UpperEdge => "the upper edge of power: the log does not say what was available",
        RestsOn::AtLimit => "power staying at the limit, without enough rows in which the device could clearly have given more",
    }
}

/// Who says how exact a meter is.
pub fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Stated => "stated",
        Basis::Published => "published",
        Basis::FromMemory => "from-memory",
        Basis::Assumed => "assumed",
    }
}

/// Which voltage a device follows.
pub fn follows(follows: Follows) -> &'static str {
    match follows {
        Follows::Mean => "mean",
        Follows::Highest => "highest",
        Follows::Lowest => "lowest",
    }
}

/// The unit of what a function answers with.
pub fn unit(answers: Answers) -> &'static str {
    match answers {
        Answers::Vars => "var",
        Answers::Watts | Answers::Charging | Answers::Export => "W",
        Answers::Apparent => "VA",
    }
}

/// The unit of what it answers to, or of what is limited.
pub fn unit_of(rule: &Rule) -> &'static str {
    match rule.to {
        To::Volts => "V",
        To::Watts => "W",
        To::Nothing => unit(rule.answers),
    }
}

/// `less absorbed than set`; `asked` is what the curve asks there, and `against` is `set` or `required`.
pub fn direction(size: &Size, answers: Answers, asks_absorbing: bool, against: &str) -> String {
    let more = if size.is_more { "more" } else { "less" };
    match answers {
        // more vars are fewer absorbed
        Answers::Vars if asks_absorbing => format!("{} absorbed than {against}", if size.is_more { "less" } else { "more" }),
        Answers::Vars => format!("{more} supplied than {against}"),
        Answers::Watts => format!("{more} power than the cap that is {against}"),
        Answers::Charging => format!("{more} charging than the cap that is {against}"),
        Answers::Apparent => format!("{more} apparent power than the limit that is {against}"),
        Answers::Export => format!("{more} net export than the limit that is {against}"),
    }
}

/// What would show it: worked out, and said with what the log reached.
pub fn needs(lacks: &Lacks, verdict: &Verdict, answers: Answers, seen: &Seen) -> String {
    let reached = |is_above: bool, unit: &str, per: f64| {
        let end = verdict.reached.map(|range| range[usize::from(is_above)] / per);
        let end = end.map_or("no row could be used".to_owned(), |value| {
            format!("this log reached {value:.1} {unit}{}", if is_above { " at the most" } else { " at the least" })
        });
        format!("; {end}")
    };
    let side = |is_above: bool| if is_above { "above" } else { "below" };
    match *lacks {
        Lacks::SoundRows => "a log whose rows are measurements: more than half of these are blank, stuck or implausible".to_owned(),
        Lacks::ThisDevice(lasted) => format!(
            "a log of this device: power lies beyond 1.3 times its nameplate for {}; check the unit and the columns of the log, and the \
             rating (`nameplate`) in the site's file",
            minutes(lasted)
        ),
        Lacks::Column(heading) => format!("a column `{heading}`"),
        Lacks::Trip => "voltage or frequency beyond a stage for longer than its time".to_owned(),
        Lacks::Return(step) => {
            let step = if seen.setup.seconds() < step { String::new() } else { format!(", in steps below {step:.0} s") };
            format!("a trip, and the return after it{step}")
        }
        Lacks::Hertz(above, reached) => {
            format!("frequency above {above:.2} Hz with power that the response would hold back; this log reached {reached:.2} Hz")
        }
        Lacks::OwnReactivePower => {
            "the device's own reactive power, logged at its terminals: at the point of supply it is mixed with the site's loads".to_owned()
        }
        Lacks::CountingOfVars => {
            "which way the log counts: either the signs of the device are reversed, or this log counts absorbing as positive \
             (check its manual, then say `--q-positive supplies` or `absorbs`)"
                .to_owned()
        }
        Lacks::Available { beyond, is_above } => {
            format!("a column `available power` beside voltages {} {beyond:.1} V{}", side(is_above), reached(is_above, "V", 1.0))
        }
        Lacks::Volts { reach, is_above, lasting, watts } => {
            let power = if answers == Answers::Vars {
                format!("more than {:.1} kW given", watts / 1e3)
            } else {
                "more available than the cap".to_owned()
            };
            format!("{} {} {reach:.1} V with {power}{}", minutes(lasting), side(is_above), reached(is_above, "V", 1.0))
        }
        Lacks::Watts { reach, lasting } => {
            format!("{} of more than {:.1} kW given{}", minutes(lasting), reach / 1e3, reached(true, "kW", 1e3))
        }
        Lacks::Time { seen: was, lasting } => {
            let days = if seen.days >= behaviour::thresholds::LONG_LOG { ", on two days" } else { "" };
            format!("{} of rows that tell, in three blocks{days}; this log has {}", minutes(lasting), minutes(was))
        }
        Lacks::AtLimit { seen: was, lasting } => {
            format!("{} at the limit while the device could clearly give more; this log has {}", minutes(lasting), minutes(was))
        }
        Lacks::Clearer(outside) => {
            let says = "a longer log: in this one";
            format!("{says} {} lie outside, too little to say that it departs and too much to say that it behaves", minutes(outside))
        }
        Lacks::Accuracy => "a more exact meter: with this one, a device without the function would look the same".to_owned(),
        Lacks::NothingDiffers => "nothing in a log: without the function the device would do the same".to_owned(),
        Lacks::Memory => "nothing in this version: the function locks in and out, so that one row does not say whether it acts".to_owned(),
        Lacks::LimitBelowRating => "nothing in a log: the limit is not below what the device can give".to_owned(),
    }
}

/// `45 min`, `3.2 h`.
pub fn minutes(lasted: u64) -> String {
    match lasted {
        short if short < MINUTE => format!("{:.0} s", short as f64 / 1e3),
        minutes if minutes < 180 * MINUTE => format!("{:.0} min", minutes as f64 / MINUTE as f64),
        hours => format!("{:.1} h", hours as f64 / (60 * MINUTE) as f64),
    }
}

/// What happened at a time, as far as it concerns a function.
pub fn happened(verdict: &Verdict, all: &OfDay) -> Vec<String> {
    let told = all.iter().filter_map(|(happened, often)| {
        let (of, says) = match happened {
            Happened::StayedOn => (Function::Trips, "gave power when its settings ask it to be disconnected"),
            Happened::Left => (Function::Trips, "disconnected when its settings ask for it"),
            Happened::StoppedUnexplained => {
                (Function::Trips, "stopped, and nothing in this log asks it to (cloud, isolator, remote command)")
            }
            Happened::CameBackEarly => (Function::Reconnection, "gave power again before its settings let it connect"),
            Happened::Waited => (Function::Reconnection, "waited as long as it is set to, and came back"),
            Happened::RoseTooFast => (Function::Reconnection, "ramped up faster than it is set to"),
            Happened::RoseInTime => (Function::Reconnection, "ramped up no faster than it is set to"),
            Happened::AboveAtHighFrequency => (Function::OverFrequencyResponse, "gave more at a high frequency than its settings allow"),
            Happened::FellAtHighFrequency => (Function::OverFrequencyResponse, "gave less at a high frequency, as it is set to"),
        };
        let times = if often.times == 1 { "once".to_owned() } else { format!("{} times", often.times) };
        (of == verdict.function).then(|| format!("{says}: {times}"))
    });
    told.collect()
}

/// Where something departs: what to look at, in the order that keeps people safe. It never ends in changing a limit.
pub const LOOK_INTO: [&str; 4] = [
    "The meter: its place, its signs, its ratio, its clock.",
    "The settings: read them back, and judge them with `asleft check SITE`.",
    "The firmware, and what its maker says of this function.",
    "The device, by licensed persons. Voltage comes from the network too: tell the network operator.",
];

/// Of what was asked about and is not there.
pub const NOT_SET: &str = "no log can: it is neither set nor required of this device";

/// What would show what is not judged of several inverters together.
pub const LOG_EACH: &str = "a log of each inverter by itself: nobody knows which of them gave what";

/// The same in one sentence.
pub const LOOK_INTO_BRIEFLY: [&str; 4] = [
    "1. the meter: its place, signs, ratio and clock",
    "2. the settings: read them back, `asleft check SITE`",
    "3. the firmware",
    "4. the device, by licensed persons",
];

/// What nobody should forget.
pub const CAUTIONS: [&str; 3] = [
    "A log shows what was measured, not why: a departure is a reason to look, and no finding against anyone.",
    "Only licensed persons may change settings; never raise a limit because of a log.",
    "This replaces no type test, no commissioning test and no inspection.",
];
