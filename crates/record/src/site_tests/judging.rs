//! What measurements come to: passed, failed, not proven, not done.

use super::tolerance::{BY_HAND, COMMON_PRACTICE, by_hand, of_ramp, per_watt};
use super::{Expectation, Planned};
use crate::parts::{Certainty, Expected, Figure, Measured, Test, TestKind, TestResult, Tolerance};
use rules::provenance::{Standing, Verdict};
use rules::sheet::DeviceSheet;
use settings_model::document::Node;
use settings_model::exact::Exact;
use settings_model::files::{Accuracy, CommissioningFile, Instrument, Outcome as Entered};
use settings_model::finding::Finding;
use settings_model::quantity::Dimension;
use settings_model::slip::Slip;
use settings_model::source::Place;

/// What a test came to, by what a commissioning file says of it. The sheet is that of the
/// device.
///
/// # Errors
/// A measurement that cannot be read.
pub fn judge(
    planned: &Planned,
    file: Option<&CommissioningFile>,
    sheet: &DeviceSheet,
    as_of: jiff::civil::Date,
) -> Result<Test, Box<Finding>> {
    let mut test = blank(planned);
    let Some(entered) = file.and_then(|file| file.test(&planned.name)) else {
        if planned.kind == TestKind::TripStage {
            (test.result, test.says) = by_type_test(planned);
        }
        return Ok(test);
    };
    test.saw.clone_from(&entered.saw);
    test.date = entered.date.as_ref().map(|date| date.value.0.to_string());
    test.instrument = entered.instrument.as_ref().map(|name| name.value.clone());
    if let Some(why) = &entered.not_done {
        test.not_done = Some(why.value.clone());
        test.retry_by = entered.retry_by.map(|day| day.0.to_string());
        let late = entered.retry_by.is_some_and(|day| day.0 < as_of);
        let overdue = if late { ": overdue" } else { "" };
        test.says =
            format!("could not be tested: {}; to be tested by {}{overdue}", why.value, test.retry_by.as_deref().unwrap_or("no day stated"));
        return Ok(test);
    }
    let readings = Readings::of(planned, entered)?;
    test.measured = readings.shown();
    let instrument = entered.instrument.as_ref().zip(file).and_then(|(name, file)| file.instrument(&name.value));
    let mut results = Vec::new();
    for (expectation, expected) in planned.expects.iter().zip(&mut test.expected) {
        let mut expectation = expectation.clone();
        if let (Figure::Ramp, Some(_), Some(watched)) = (expectation.figure, &expectation.allowance, entered.watched_for) {
            expectation.allowance = of_ramp(sheet, watched.number);
            expected.tolerance = expectation.allowance.as_ref().map(tolerance);
        }
        let per_watt = entered.watched_for.and_then(|watched| per_watt(&sheet.facts, watched.number));
        let by = Meter { instrument, name: entered.instrument.as_ref().map(|name| name.value.as_str()), per_watt };
        results.push(one(planned, &expectation, &readings, &by));
    }
    let worst = results.iter().map(|(result, _)| *result).max_by_key(|result| gravity(*result));
    test.result = worst.unwrap_or(TestResult::NotProven);
    test.says = results.into_iter().map(|(_, says)| says).collect::<Vec<_>>().join("; ");
    let day = entered.date.as_ref().map(|date| date.value.0).or_else(|| file.map(|file| file.work.date.value.0));
    if let Some(lapsed) = instrument.zip(day).and_then(|(instrument, day)| not_calibrated(instrument, day)) {
        test.result = if test.result == TestResult::Passed { TestResult::NotProven } else { test.result };
        test.says = format!("{}; {lapsed}", test.says);
    }
    Ok(test)
}

/// What all tests came to.
#[must_use]
pub fn overall(tests: &[Test]) -> Verdict {
    let of = |test: &Test| match test.result {
        TestResult::Passed | TestResult::ByTypeTest => Verdict::Complies,
        TestResult::NotProven | TestResult::NotDone => Verdict::NotProven,
        TestResult::Failed => Verdict::DoesNotComply,
    };
    tests.iter().map(of).max().unwrap_or(Verdict::Complies)
}

fn gravity(result: TestResult) -> u8 {
    match result {
        TestResult::ByTypeTest => 0,
        TestResult::Passed => 1,
        TestResult::NotDone => 2,
        TestResult::NotProven => 3,
        TestResult::Failed => 4,
    }
}

/// A test of which nothing is said yet.
fn blank(planned: &Planned) -> Test {
    Test {
        name: planned.name.clone(),
        test: planned.kind,
        device: planned.device.clone(),
        title: planned.title.clone(),
        steps: planned.steps.clone(),
        expected: planned.expects.iter().map(expected).collect(),
        result: TestResult::NotDone,
        says: "not done, or nothing was noted".to_owned(),
        measured: Vec::new(),
        instrument: None,
        date: None,
        saw: None,
        not_done: None,
        retry_by: None,
    }
}

fn expected(expectation: &Expectation) -> Expected {
    Expected {
        figure: expectation.figure,
        says: expectation.says(),
        setting: expectation.setting.to_string(),
        from: expectation.from.clone(),
        basis: expectation.basis,
        tolerance: expectation.allowance.as_ref().map(tolerance).or_else(|| timed_by_hand(expectation)),
        certainty: expectation.certainty,
    }
}

fn tolerance(allowance: &super::Allowance) -> Tolerance {
    Tolerance { says: allowance.says.clone(), source: allowance.source.clone(), basis: allowance.basis }
}

/// What is timed has no tolerance but that of the reading.
fn timed_by_hand(expectation: &Expectation) -> Option<Tolerance> {
    let is_timed = expectation.dimension == Dimension::Time && expectation.certainty == Certainty::Measured;
    is_timed.then(|| Tolerance {
        says: format!("the reading's own: ± {} by hand", Dimension::Time.show(by_hand())),
        source: COMMON_PRACTICE.0.to_owned(),
        basis: COMMON_PRACTICE.1,
    })
}

fn by_type_test(planned: &Planned) -> (TestResult, String) {
    if planned.is_certified {
        (TestResult::ByTypeTest, "relies on the type test of the certified device".to_owned())
    } else {
        (TestResult::NotProven, "relies on a type test, and the device is not stated to be certified".to_owned())
    }
}

/// What was measured, in base units.
struct Readings(Vec<(Figure, Exact, String)>);

impl Readings {
    fn of(planned: &Planned, entered: &Entered) -> Result<Self, Box<Finding>> {
        let dimension = planned.expects.iter().find(|e| e.figure == Figure::PickUp).map(|e| e.dimension);
        let stage = |value: &settings_model::located::At<String>| -> Result<Exact, Box<Finding>> {
            let Some(dimension) = dimension else {
                let slip = Slip::new("this test has nothing that picks up", "leave it out");
                return Err(slipped(slip, value.place));
            };
            let amount = dimension.parse(&value.value).map_err(|slip| slipped(slip, value.place))?;
            match amount.of {
                None => Ok(amount.number),
                Some(_) => Err(slipped(
                    Slip::new("a measurement in per unit", format!("write what was read, such as `{}`", dimension.example())),
                    value.place,
                )),
            }
        };
        let mut readings = Vec::new();
        let mut add = |figure, number: Option<Exact>, dimension: Dimension| {
            readings.extend(number.map(|number| (figure, number, dimension.show(number))));
        };
        add(Figure::Time, entered.time.map(|q| q.number), Dimension::Time);
        add(Figure::Waited, entered.waited.map(|q| q.number), Dimension::Time);
        add(Figure::Ramp, entered.ramp.map(|q| q.number), Dimension::RampRate);
        add(Figure::Export, entered.export.map(|q| q.number), Dimension::ActivePower);
        let picked_up = entered.pick_up.as_ref().map(stage).transpose()?;
        let let_go = entered.drop_off.as_ref().map(stage).transpose()?;
        add(Figure::PickUp, picked_up, dimension.unwrap_or(Dimension::Voltage));
        let ratio = picked_up.zip(let_go).and_then(|(up, off)| {
            let (part, whole) = if planned.is_under { (up, off) } else { (off, up) };
            (part * Exact::HUNDRED).divided_roughly(whole, 3)
        });
        add(Figure::DropOff, ratio, Dimension::Percent);
        Ok(Self(readings))
    }

    fn of_figure(&self, figure: Figure) -> Option<&(Figure, Exact, String)> {
        self.0.iter().find(|(of, ..)| *of == figure)
    }

    fn shown(&self) -> Vec<Measured> {
        self.0.iter().map(|(figure, _, shown)| Measured { figure: *figure, value: shown.clone() }).collect()
    }
}

fn slipped(slip: Slip, place: Place) -> Box<Finding> {
    Box::new(Finding::unusable("value", place, slip.says).hint(slip.help))
}

/// With what it was measured.
struct Meter<'m> {
    instrument: Option<&'m Instrument>,
    name: Option<&'m str>,
    /// What a watt comes to in a ramp, in per cent a minute, over the time that it was watched.
    per_watt: Option<Exact>,
}

impl Meter<'_> {
    /// How far a reading may lie off, and by what that is known; `None` where nobody says.
    fn error(&self, figure: Figure, dimension: Dimension, readings: &Readings) -> Option<(Exact, String)> {
        let Some(Instrument { accuracy, .. }) = self.instrument else {
            return (dimension == Dimension::Time).then(|| (by_hand(), BY_HAND.to_owned()));
        };
        let Accuracy { time, voltage, frequency, power } = *accuracy;
        let name = self.name.unwrap_or_default().to_owned();
        let number = match dimension {
            Dimension::Time => time.map(|q| q.number),
            Dimension::Voltage => voltage.map(|q| q.number),
            Dimension::Frequency => frequency.map(|q| q.number),
            Dimension::ActivePower => power.map(|q| q.number),
            // both readings of a ratio may lie off
            Dimension::Percent if figure == Figure::DropOff => {
                let (_, up, _) = readings.of_figure(Figure::PickUp)?;
                (voltage?.number * Exact::from(200)).divided_roughly(*up, 3)
            }
            // two readings of power, some time apart
            Dimension::RampRate => power.zip(self.per_watt).map(|(power, per_watt)| up(power.number * Exact::from(2) * per_watt)),
            _ => None,
        };
        number.map(|number| (number, name))
    }
}

/// Rounded up to a thousandth: an error is never made smaller than it is.
fn up(error: Exact) -> Exact {
    (error + Exact::new(499, 6)).rounded(3)
}

/// What one expectation came to, in words.
fn one(planned: &Planned, expectation: &Expectation, readings: &Readings, meter: &Meter<'_>) -> (TestResult, String) {
    let asked = expectation.says();
    if expectation.certainty == Certainty::TypeTest {
        return by_type_test(planned);
    }
    let Some((_, reading, shown)) = readings.of_figure(expectation.figure) else {
        return (TestResult::NotProven, format!("{}: not measured, {asked} expected", figure_title(expectation.figure)));
    };
    let shown = format!("{}: {shown}", figure_title(expectation.figure));
    let Some((error, by)) = meter.error(expectation.figure, expectation.dimension, readings) else {
        let says = format!("{shown}, {asked} expected, and how far the reading may lie off is not stated");
        return (TestResult::NotProven, says);
    };
    let allowed = expectation.allowance.as_ref().map_or(Exact::ZERO, |allowance| allowance.by);
    let with = expectation.allowance.as_ref().map_or(String::new(), |allowance| format!(" {}", allowance.says));
    let read = if error == Exact::ZERO { shown } else { format!("{shown} ± {} ({by})", expectation.dimension.show(error)) };
    if expectation.figure == Figure::Export && *reading < Exact::ZERO {
        let says = "the site was drawing power, so the limit was not tried; test it again with generation above the site's own use";
        return (TestResult::NotProven, format!("{read}: {says}"));
    }
    let (result, word) = match side(*reading, error, expectation, allowed) {
        Side::Inside if expectation.basis == Some(Standing::Disputed) => {
            (TestResult::NotProven, "as expected, by a figure that a licensed copy contradicts")
        }
        Side::Inside => (TestResult::Passed, "as expected"),
        Side::Outside => (TestResult::Failed, "not as expected"),
        Side::Straddles => (TestResult::NotProven, "the reading is too rough to tell"),
    };
    (result, format!("{read}, expected {asked}{with}: {word}"))
}

/// Where all that a reading may stand for lies.
enum Side {
    Inside,
    Outside,
    Straddles,
}

fn side(reading: Exact, error: Exact, expectation: &Expectation, allowed: Exact) -> Side {
    let (least, most) = (reading - error, reading + error);
    let within = |value: Exact| {
        let above =
            expectation.low.is_none_or(|(low, open)| if open && allowed == Exact::ZERO { value > low } else { value >= low - allowed });
        let below =
            expectation.high.is_none_or(|(high, open)| if open && allowed == Exact::ZERO { value < high } else { value <= high + allowed });
        above && below
    };
    let beyond =
        expectation.high.is_some_and(|(high, _)| least > high + allowed) || expectation.low.is_some_and(|(low, _)| most < low - allowed);
    match (within(least) && within(most), beyond) {
        (true, _) => Side::Inside,
        (false, true) => Side::Outside,
        (false, false) => Side::Straddles,
    }
}

/// What a figure is, in print.
#[must_use]
pub fn figure_title(figure: Figure) -> &'static str {
    match figure {
        Figure::Time => "time",
        Figure::Waited => "waited",
        Figure::Ramp => "ramp",
        Figure::Export => "most export",
        Figure::PickUp => "pick-up",
        Figure::DropOff => "drop-off",
    }
}

/// Why an instrument proves nothing on a day.
fn not_calibrated(instrument: &Instrument, day: jiff::civil::Date) -> Option<String> {
    let ended = instrument.calibration_ends.as_ref().filter(|ends| ends.value.0 < day);
    let later = instrument.calibrated.as_ref().filter(|calibrated| calibrated.value.0 > day);
    match (ended, later) {
        (Some(ends), _) => Some(format!("the calibration of the {} ended on {}", instrument.what, ends.value.0)),
        (_, Some(calibrated)) => Some(format!("the {} was calibrated only on {}", instrument.what, calibrated.value.0)),
        _ => None,
    }
}

/// Tests that a commissioning file speaks of and that the requirements do not lead to.
#[must_use]
pub fn unplanned(root: &Node, planned: &[Planned]) -> Vec<Finding> {
    let known: Vec<&str> = planned.iter().map(|test| test.name.as_str()).collect();
    let entries = root.get("tests").map(Node::entries).unwrap_or_default();
    let unknown = entries.iter().filter(|(name, _)| !known.contains(&name.text()));
    unknown
        .map(|(name, _)| {
            let finding =
                Finding::unusable("unknown-test", name.place, format!("the test sheet of this site has no test `{}`", name.text()));
            match settings_model::finding::nearest(name.text(), known.iter().copied()) {
                Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
                None => finding.hint("`asleft test-sheet SITE` names the tests that are asked for here"),
            }
        })
        .collect()
}
