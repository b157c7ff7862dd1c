//! The report: what was seen, function by function, against what is set and what is required.

use super::Seen;
use super::asked::{AskedFunction, DeviceQuery, Judged};
use super::looks_like::{Known, looks_like};
use super::words::{self, CAUTIONS, LOOK_INTO, LOOK_INTO_BRIEFLY};
use crate::args::{Behaves, MeasuredAt};
use crate::commands::logged::notes;
use crate::report::behaves::{
    AccuracyReport, BehavesLog, BehavesReport, DeviceAnswer, ExplainedReport, FunctionReport, LeftOutTime, MinutesReport, RangeReport,
    SizeReport, TimesReport, ToleranceReport,
};
use behaviour::deciding::{Answer, Change, Sure, Verdict};
use behaviour::function::{Answers, Rule};
use behaviour::thresholds::MINUTE;
use views::played::log_told::left_out_words;

/// The report on a device.
pub fn report(args: &Behaves, asked: &DeviceQuery, seen: &Seen, known: &Known) -> BehavesReport {
    let functions = functions(args, asked, seen, known);
    let answer = answer(&functions);
    let has_departed = answer == DeviceAnswer::Departs;
    BehavesReport {
        site: asked.site.clone(),
        device: asked.device.clone(),
        settings: asked.moment.word(),
        answer,
        headline: headline(answer).to_owned(),
        log: log(args, seen),
        accuracy: accuracy(seen),
        tolerance: ToleranceReport { percent_of_rating: asked.tolerance.percent, source: asked.tolerance.source.clone() },
        rated: asked.rated,
        together: asked.functions.iter().filter_map(|function| together(function, seen)).collect(),
        functions,
        unverified: asked.unverified.clone(),
        assumed: asked.assumed.clone(),
        look_into: LOOK_INTO.iter().filter(|_| has_departed).map(|step| (*step).to_owned()).collect(),
        look_into_briefly: LOOK_INTO_BRIEFLY.to_vec(),
        parts: seen.parts.clone(),
        cautions: CAUTIONS.to_vec(),
    }
}

/// Function by function, against what is set and what is required.
pub fn functions(args: &Behaves, asked: &DeviceQuery, seen: &Seen, known: &Known) -> Vec<FunctionReport> {
    asked.functions.iter().flat_map(|function| of_function(args, asked, seen, known, function)).collect()
}

/// The gravest of all.
pub fn answer(functions: &[FunctionReport]) -> DeviceAnswer {
    let is = |answer: &'static str| functions.iter().any(|function| function.answer == answer);
    match () {
        () if is("departs") => DeviceAnswer::Departs,
        () if !is("behaves") => DeviceAnswer::NotShown,
        () if is("not-shown") || is("not-judged") => DeviceAnswer::BehavesAsFarAsShown,
        () => DeviceAnswer::Behaves,
    }
}

fn headline(answer: DeviceAnswer) -> &'static str {
    match answer {
        DeviceAnswer::Behaves => "BEHAVES",
        DeviceAnswer::BehavesAsFarAsShown => "BEHAVES AS FAR AS SHOWN",
        DeviceAnswer::Departs => "DEPARTS",
        DeviceAnswer::NotShown => "NOT SHOWN",
    }
}

fn log(args: &Behaves, seen: &Seen) -> BehavesLog {
    let left_out = seen.total.left_out.iter().map(|(why, lasted)| {
        let (reason, says) = words::left_out(*why);
        LeftOutTime { reason, says, minutes: in_minutes(*lasted) }
    });
    let first = |at| (!args.no_times).then(|| seen.about.layout.clock.time(at));
    let marks = seen.left_out.iter().map(|out| left_out_words(&out.column, out.value, out.cells, out.is_mark, first(out.first).as_deref()));
    let notes = notes::spelling(&args.form, &seen.about.layout).into_iter().chain(notes::values(
        &args.form,
        &seen.about.layout,
        seen.about.are_means,
    ));
    BehavesLog {
        file: terminal::path(args.log()),
        rows: seen.total.rows,
        days: seen.days,
        step: seen.setup.seconds(),
        values: if seen.about.are_means { "means" } else { "samples" },
        measured_at: args.measured_at.map_or("not-stated", MeasuredAt::word),
        columns: seen.about.layout.read(),
        left_out: left_out.collect(),
        notes: notes.chain(marks).collect(),
    }
}

fn accuracy(seen: &Seen) -> AccuracyReport {
    let accuracy = seen.margins.accuracy;
    let share = |value: f64, of: f64| value / of * 100.0;
    let (nominal, rated) = (seen.setup.nominal, seen.setup.rated);
    let volts = format!("V ±{:.2} %", share(accuracy.volts, nominal));
    let powers = format!("P ±{:.2} %, Q ±{:.2} %", share(accuracy.watts, rated), share(accuracy.vars, rated));
    let says = match (in_words(accuracy.of_volts), in_words(accuracy.of_powers)) {
        (of_volts, of_powers) if of_volts == of_powers => format!("{volts}, {powers} ({of_volts})"),
        (of_volts, of_powers) => format!("{volts} ({of_volts}), {powers} ({of_powers})"),
    };
    AccuracyReport {
        volts: rounded(accuracy.volts),
        watts: rounded(accuracy.watts),
        vars: rounded(accuracy.vars),
        of_volts: words::basis(accuracy.of_volts),
        of_powers: words::basis(accuracy.of_powers),
        says,
    }
}

fn in_words(basis: behaviour::accuracy::Basis) -> &'static str {
    use behaviour::accuracy::Basis;
    match basis {
        Basis::Stated => "stated",
        Basis::Published => "of this kind of instrument, published",
        Basis::FromMemory => "of this kind of instrument, from memory",
        Basis::Assumed => "a default: common practice, no source",
    }
}

/// One function, against what is set and, where that differs, what is required.
fn of_function(args: &Behaves, asked: &DeviceQuery, seen: &Seen, known: &Known, function: &AskedFunction) -> Vec<FunctionReport> {
    match function.judged {
        Judged::Not => return vec![empty(function, "as-set", "not-judged")],
        Judged::NotTogether | Judged::NotSet => {
            let needs = if function.judged == Judged::NotSet { words::NOT_SET } else { words::LOG_EACH };
            return vec![FunctionReport { needs: Some(needs.to_owned()), ..empty(function, "as-set", "not-judged") }];
        }
        Judged::ByRows | Judged::ByTime => {}
    }
    let of = |place: usize, against| match asked.rules.get(place) {
        Some(rule) => shown(args, rule, &seen.verdicts[place], place, against, seen),
        None => timed(&seen.verdicts[place], seen),
    };
    let set = function.set.map_or_else(|| empty(function, "as-set", "not-set"), |place| of(place, "as-set"));
    let set = FunctionReport { looks_like: looks_like(function, seen, known), ..set };
    let required = function.required.filter(|place| Some(*place) != function.set).map(|place| of(place, "required"));
    std::iter::once(set).chain(required).collect()
}

fn empty(function: &AskedFunction, against: &'static str, answer: &'static str) -> FunctionReport {
    FunctionReport {
        function: function.function.key(),
        title: words::title(function.function),
        against,
        answer,
        sure: None,
        rests_on: Vec::new(),
        changed: None,
        size: None,
        looks_like: None,
        times: Vec::new(),
        more_times: 0,
        minutes: None,
        blocks: 0,
        events: 0,
        days: 0,
        happened: Vec::new(),
        shown_over: None,
        reached: None,
        explained_by: None,
        needs: None,
    }
}

/// One that is judged by what happens at a time.
fn timed(verdict: &Verdict, seen: &Seen) -> FunctionReport {
    let function = AskedFunction { function: verdict.function, set: None, required: None, judged: Judged::ByTime };
    FunctionReport {
        sure: verdict.sure.map(sure),
        rests_on: verdict.rests_on.iter().map(|on| words::rests_on(*on)).collect(),
        events: u64::from(verdict.blocks),
        days: verdict.days.into(),
        happened: words::happened(verdict, &seen.total.happened),
        needs: verdict.needs.as_ref().map(|lacks| words::needs(lacks, verdict, Answers::Watts, seen)),
        ..empty(&function, "as-set", answer_word(verdict))
    }
}

fn sure(sure: Sure) -> &'static str {
    if sure == Sure::Certain { "certain" } else { "likely" }
}

fn answer_word(verdict: &Verdict) -> &'static str {
    match verdict.answer {
        Answer::Behaves => "behaves",
        Answer::Departs => "departs",
        Answer::NotShown => "not-shown",
    }
}

fn shown(args: &Behaves, rule: &Rule, verdict: &Verdict, place: usize, against: &'static str, seen: &Seen) -> FunctionReport {
    let function = AskedFunction { function: rule.function, set: None, required: None, judged: Judged::ByRows };
    let unit = words::unit_of(rule);
    let range = |range: [f64; 2]| RangeReport { low: rounded(range[0]), high: rounded(range[1]), unit };
    let (times, more_times) = times(args, verdict, place, seen);
    FunctionReport {
        sure: verdict.sure.map(sure),
        rests_on: verdict.rests_on.iter().map(|on| words::rests_on(*on)).collect(),
        changed: verdict.change.map(|change| changed(change, seen)),
        size: size(rule, verdict, against, seen),
        times,
        more_times,
        minutes: Some(MinutesReport {
            usable: in_minutes(verdict.usable),
            informative: in_minutes(verdict.informative),
            outside: in_minutes(verdict.outside),
        }),
        blocks: verdict.blocks.into(),
        days: verdict.days.into(),
        shown_over: verdict.shown_over.map(range),
        reached: verdict.reached.map(range),
        explained_by: explained_by(verdict, seen),
        needs: verdict.needs.as_ref().map(|lacks| words::needs(lacks, verdict, rule.answers, seen)),
        ..empty(&function, against, answer_word(verdict))
    }
}

/// Since when it departs, or until when.
fn changed(Change { day, departs_after }: Change, seen: &Seen) -> String {
    let (which, day) = if departs_after { ("since", day) } else { ("until", day - 1) };
    format!("{which} {}, and not {}", seen.day(day), if departs_after { "before" } else { "after" })
}

fn times(args: &Behaves, verdict: &Verdict, place: usize, seen: &Seen) -> (Vec<TimesReport>, u64) {
    if args.no_times || verdict.answer != Answer::Departs {
        return (Vec::new(), 0);
    }
    let (longest, more) = &seen.stretches[place];
    let told = longest.iter().map(|stretch| TimesReport {
        from: seen.about.layout.clock.time(stretch.from),
        to: seen.about.layout.clock.time(stretch.to),
        farthest: stretch.farthest.round(),
    });
    (told.collect(), *more)
}

fn size(rule: &Rule, verdict: &Verdict, against: &str, seen: &Seen) -> Option<SizeReport> {
    let size = verdict.size.as_ref()?;
    let percent = |value: f64| (value / seen.setup.rated * 1_000.0).round() / 10.0;
    // what the curve asks at the middle of what was shown
    let middle = verdict.shown_over.map_or(seen.setup.nominal, |[low, high]| f64::midpoint(low, high));
    let against = if against == "required" { "required" } else { "set" };
    Some(SizeReport {
        typical_percent: percent(size.typical),
        farthest_percent: percent(size.farthest),
        typical: size.typical.round(),
        unit: words::unit(rule.answers),
        direction: words::direction(size, rule.answers, rule.curve.at(middle) < 0.0, against),
    })
}

fn explained_by(verdict: &Verdict, seen: &Seen) -> Option<ExplainedReport> {
    let all = &verdict.explained_by;
    let range = |of: fn(&behaviour::hypotheses::Hypothesis) -> f64| {
        let ends = all.iter().map(of).fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(value), high.max(value)]);
        ends.map(rounded)
    };
    let mut follows: Vec<&'static str> = all.iter().map(|of| words::follows(of.follows)).collect();
    follows.dedup();
    follows.truncate(if seen.setup.phases.len() > 1 { 3 } else { 0 });
    (!all.is_empty()).then(|| ExplainedReport { voltage_error: range(|of| of.offset), rise: range(|of| of.rise), follows })
}

/// What the answers as set and as required say together, where they differ.
fn together(function: &AskedFunction, seen: &Seen) -> Option<String> {
    let required = function.required.filter(|place| Some(*place) != function.set)?;
    let title = words::title(function.function);
    let required = seen.verdicts[required].answer;
    let Some(set) = function.set.map(|place| seen.verdicts[place].answer) else {
        let says = match required {
            Answer::Behaves => "is recorded as off, and the device does what is required: the record is stale; read the settings back",
            Answer::Departs => "is recorded as off and required, and the device does not do it",
            Answer::NotShown => return None,
        };
        return Some(format!("{title} {says}."));
    };
    let says = match (set, required) {
        (Answer::Departs, Answer::Behaves) => "acts as required and not as recorded: the record is stale; read the settings back",
        (Answer::Behaves, Answer::Departs) => "acts as it is set, and that is not what is required: run `asleft check SITE`",
        (Answer::Departs, Answer::Departs) => "acts neither as it is set nor as is required",
        _ => return None,
    };
    Some(format!("{title} {says}."))
}

fn in_minutes(lasted: u64) -> f64 {
    rounded(lasted as f64 / MINUTE as f64)
}

fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
