//! What a value that is not as required may be instead: right, and read in another way. Nobody may be told to change a
//! device before that is cleared up.

use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::{Limit, Part, Term, Var};
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use settings_model::value::Value;

/// What to see first: a sentence, and how the value is meant if it was read right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misread {
    /// `first see whether it reads between lines: 450.3 V there is about 260 V to neutral`.
    pub first: String,
    /// `it reads to neutral`; `None` where it has to be changed however it reads.
    pub only_if: Option<&'static str>,
}

impl Misread {
    /// What to do, asked first.
    #[must_use]
    pub fn before(&self, remedy: &str) -> String {
        match self.only_if {
            Some(only_if) => format!("{}. Only if {only_if}, {remedy}", self.first),
            None => format!("{}. Then, in the way that the display counts, {remedy}", self.first),
        }
    }
}

/// A way in which a number is read wrong: what was shown is so many times what is meant.
struct Way {
    times: Exact,
    first: &'static str,
    /// What the number then is: before what is meant, and behind it.
    of: [&'static str; 2],
    only_if: &'static str,
}

/// What has to hold for a number that was read again.
const READS_SO: &str = "it reads so";

/// How far off a number may be by rounding, as a share of what it should be: one in two hundred.
const ROUNDING: i64 = 200;

/// How far off one may be that is wrong in another reading too: one in ten.
const ROUGHLY: i64 = 10;

/// What a value may be instead, where in another reading it complies.
#[must_use]
pub fn misread(setting: SettingId, held: &Value, asked: &Entry, facts: &Facts) -> Option<Misread> {
    read_otherwise(setting, held, asked, facts, ROUNDING)
}

/// What a voltage may be instead that lies far from all that is asked, where in another reading it lies near it: it is
/// wrong either way, and how the display counts has to be known before another is entered.
#[must_use]
pub fn misread_roughly(setting: SettingId, held: &Value, asked: &Entry, facts: &Facts) -> Option<Misread> {
    let part = |part| Var { setting, part };
    let var = match (setting.parameter().shape, held) {
        (Shape::Quantity(Dimension::Voltage), Value::Quantity(_)) => part(Part::Whole),
        (Shape::Curve { x: Dimension::Voltage, .. }, Value::Curve(_)) => part(Part::X(0)),
        _ => return None,
    };
    let number = held.part(var.part)?.at(facts)?;
    let (low, high) = range(asked, var, facts);
    let is_far = low.or(high).zip(high.or(low)).is_some_and(|(low, high)| {
        let [times, of] = FAR.map(Exact::from);
        number * times < low * of || number * of > high * times
    });
    let roughly = is_far.then(|| read_otherwise(setting, held, asked, facts, ROUGHLY)).flatten()?;
    Some(Misread { only_if: None, ..roughly })
}

/// How many times too high or too low a voltage lies far off, 14 tenths: no network has such a trip (common practice, no
/// source).
const FAR: [i64; 2] = [14, 10];

/// A curve of reactive power of which some level has the other sign, or a direction that is the other one: displays differ
/// in what they call absorbing.
#[must_use]
pub fn turned(setting: SettingId, held: &Value, asked: &Entry, facts: &Facts) -> Option<Misread> {
    const FIRST: &str = "first find out from the device's manual what its display calls absorbing: that lowers the voltage, and \
                         supplying raises it";
    let is_turned = match (setting.parameter().shape, held) {
        (Shape::Choice(["absorbing", "supplying"]), Value::Word(_)) => true,
        (Shape::Curve { y: Dimension::Percent, .. }, Value::Curve(points)) => points.iter().enumerate().any(|(n, point)| {
            let (low, high) = range(asked, Var { setting, part: Part::Y(n as u8) }, facts);
            let (level, is_below) = (point.y.number, |edge: Option<Exact>| edge.is_some_and(|edge| edge < Exact::ZERO));
            (level > Exact::ZERO && is_below(high)) || (level < Exact::ZERO && low.is_some_and(|low| low > Exact::ZERO))
        }),
        _ => false,
    };
    is_turned.then(|| Misread { first: FIRST.to_owned(), only_if: Some("the device itself goes the wrong way") })
}

/// What a value may be instead, where in another reading it lies within one part in `share` of what complies.
fn read_otherwise(setting: SettingId, held: &Value, asked: &Entry, facts: &Facts, share: i64) -> Option<Misread> {
    let (dimension, parts) = match (setting.parameter().shape, held) {
        (Shape::Quantity(dimension), Value::Quantity(_)) => (dimension, vec![Part::Whole]),
        (Shape::Curve { x, .. }, Value::Curve(points)) => (x, (0..points.len()).map(|n| Part::X(n as u8)).collect()),
        _ => return None,
    };
    let numbers: Option<Vec<Exact>> = parts.iter().map(|part| held.part(*part)?.at(facts)).collect();
    let numbers = numbers.filter(|numbers| numbers.iter().all(|number| *number > Exact::ZERO))?;
    let fits = |way: &&Way| {
        parts
            .iter()
            .zip(&numbers)
            .all(|(part, number)| is_about(*number, way.times, range(asked, Var { setting, part: *part }, facts), share))
    };
    let ways = ways(dimension, facts);
    let way = ways.iter().find(fits)?;
    let (shown, number) = (dimension.show(numbers[0].rounded(4)), numbers[0]);
    let meant = number.divided_roughly(way.times, if dimension == Dimension::Time { 3 } else { 1 })?;
    Some(Misread {
        first: format!("{}: {shown} {} {}{}", way.first, way.of[0], dimension.show(meant), way.of[1]),
        only_if: Some(way.only_if),
    })
}

/// All ways in which numbers of a dimension are read wrong, the likeliest first. Common practice, no source.
fn ways(dimension: Dimension, facts: &Facts) -> Vec<Way> {
    let way = |times: Exact, first, of, only_if| Way { times, first, of, only_if };
    let over = |number: Option<Exact>| number.and_then(|number| Exact::ONE.divided_roughly(number, 9));
    let mut ways = Vec::new();
    match dimension {
        Dimension::Voltage => {
            const TO_NEUTRAL: &str = "it reads to neutral";
            let (lines, split) =
                ("first see whether it reads between lines", "first see whether it reads between the two lines of a split supply");
            ways.push(way(Exact::new(1_732_050_808, 9), lines, ["there is about", " to neutral"], TO_NEUTRAL));
            ways.push(way(Exact::from(2), split, ["there is", " to neutral"], TO_NEUTRAL));
            let nominal = facts.number(FactId::NominalVoltage);
            let (per_unit, percent) = ("first see whether it is per unit and no volts", "first see whether it is per cent and no volts");
            for (times, first) in [(Exact::ONE, per_unit), (Exact::HUNDRED, percent)] {
                let times = over(nominal).map(|over| over * times);
                ways.extend(times.map(|times| way(times, first, ["then is about", ""], "it is in volts")));
            }
        }
        Dimension::Time => {
            const SECONDS: &str = "it is in seconds";
            let milli = Exact::from(1000);
            ways.push(way(milli, "first see whether it is in milliseconds", ["then is", ""], SECONDS));
            ways.extend(
                over(Some(milli)).map(|times| way(times, "first see whether it is in seconds", ["then is", ""], "it is in milliseconds")),
            );
            ways.extend(
                over(Some(Exact::from(60))).map(|times| way(times, "first see whether it is in minutes", ["then is", ""], SECONDS)),
            );
            for cycles in [50, 60].map(Exact::from) {
                ways.push(way(cycles, "first see whether it counts cycles", ["then is about", ""], SECONDS));
            }
        }
        Dimension::ActivePower | Dimension::ApparentPower => {
            let thousand = Exact::from(1000);
            for times in [Some(thousand), over(Some(thousand))].into_iter().flatten() {
                ways.push(way(times, "first see in which unit it reads", ["may be", ""], READS_SO));
            }
        }
        _ => {}
    }
    for times in [Exact::from(10), Exact::new(1, 1), Exact::HUNDRED, Exact::new(1, 2)] {
        ways.push(way(times, "first read it again", ["may be, with its decimal point in another place,", ""], READS_SO));
    }
    ways
}

/// Whether a number is so many times one that complies, but for rounding.
fn is_about(number: Exact, times: Exact, (low, high): (Option<Exact>, Option<Exact>), share: i64) -> bool {
    let within = |low: Exact, high: Exact, share: i64| {
        let off = |edge: Exact| (edge * times).divided_roughly(Exact::from(share), 9).unwrap_or_default();
        number >= low * times - off(low) && number <= high * times + off(high)
    };
    match (low, high) {
        (Some(low), Some(high)) => within(low, high, share),
        // of what has one edge, what lies near it
        (Some(edge), None) | (None, Some(edge)) => edge > Exact::ZERO && within(edge, edge, 10),
        (None, None) => false,
    }
}

/// The edges of what complies.
fn range(asked: &Entry, var: Var, facts: &Facts) -> (Option<Exact>, Option<Exact>) {
    let own = || asked.comply.iter().filter(|claim| claim.on == Term::Var(var));
    let low = own().filter_map(|claim| if let Limit::AtLeast(bound) = claim.limit { bound.value.at(facts) } else { None }).max();
    let high = own().filter_map(|claim| if let Limit::AtMost(bound) = claim.limit { bound.value.at(facts) } else { None }).min();
    (low, high)
}
