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
    /// `it reads to neutral`.
    pub only_if: &'static str,
}

impl Misread {
    /// What to do, asked first.
    #[must_use]
    pub fn before(&self, remedy: &str) -> String {
        format!("{}. Only if {}, {remedy}", self.first, self.only_if)
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

/// What a value may be instead, where in another reading it complies.
#[must_use]
pub fn misread(setting: SettingId, held: &Value, asked: &Entry, facts: &Facts) -> Option<Misread> {
    let (dimension, parts) = match (setting.parameter().shape, held) {
        (Shape::Quantity(dimension), Value::Quantity(_)) => (dimension, vec![Part::Whole]),
        (Shape::Curve { x, .. }, Value::Curve(points)) => (x, (0..points.len()).map(|n| Part::X(n as u8)).collect()),
        _ => return None,
    };
    let numbers: Option<Vec<Exact>> = parts.iter().map(|part| held.part(*part)?.at(facts)).collect();
    let numbers = numbers.filter(|numbers| numbers.iter().all(|number| *number > Exact::ZERO))?;
    let fits = |way: &&Way| {
        parts.iter().zip(&numbers).all(|(part, number)| is_about(*number, way.times, range(asked, Var { setting, part: *part }, facts)))
    };
    let ways = ways(dimension, facts);
    let way = ways.iter().find(fits)?;
    let (shown, number) = (dimension.show(numbers[0].rounded(4)), numbers[0]);
    let meant = number.divided_roughly(way.times, if dimension == Dimension::Time { 3 } else { 1 })?;
    Some(Misread { first: format!("{}: {shown} {} {}{}", way.first, way.of[0], dimension.show(meant), way.of[1]), only_if: way.only_if })
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
fn is_about(number: Exact, times: Exact, (low, high): (Option<Exact>, Option<Exact>)) -> bool {
    let within = |low: Exact, high: Exact, share: i64| {
        let off = |edge: Exact| (edge * times).divided_roughly(Exact::from(share), 9).unwrap_or_default();
        number >= low * times - off(low) && number <= high * times + off(high)
    };
    match (low, high) {
        (Some(low), Some(high)) => within(low, high, ROUNDING),
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
