//! Where on the measured axis to look: `230,245,253..260:1`.

use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Dimension;
use settings_model::slip::Slip;

/// The most places that are shown.
const MOST: usize = 2000;

/// The dimension that the places count in, told by the units they carry; `None` where they carry none.
pub fn dimension(text: &str) -> Option<Dimension> {
    const MEASURED: [Dimension; 3] = [Dimension::Voltage, Dimension::Frequency, Dimension::Percent];
    MEASURED.into_iter().find(|dimension| text.split(',').any(|item| dimension.symbols().any(|symbol| unit(item) == symbol)))
}

/// The unit behind an item.
fn unit(item: &str) -> &str {
    let item = item.trim();
    item.rfind(|c: char| c.is_ascii_digit()).map_or(item, |last| item[last + 1..].trim())
}

/// Every place that is named, in base units, ascending; per-unit voltages count in the nominal one.
pub fn places(text: &str, dimension: Dimension, facts: &Facts) -> Result<Vec<Exact>, Slip> {
    let default_unit = text.split(',').map(unit).find(|unit| !unit.is_empty()).or(dimension.symbols().next()).unwrap_or_default();
    let mut places = Vec::new();
    for item in text.split(',') {
        if item.trim().is_empty() {
            return Err(Slip::new(
                "a place is left empty",
                format!("write a number, such as `253 {default_unit}`, or take the comma away"),
            ));
        }
        let unit = Some(unit(item)).filter(|unit| !unit.is_empty()).unwrap_or(default_unit);
        let item = item.trim().trim_end_matches(unit).trim_end();
        let number = |text: &str| {
            let amount = dimension.parse(&format!("{} {unit}", text.trim()))?;
            let help = "state the nominal voltage under `supply`, or write volts";
            amount.at(facts).ok_or_else(|| Slip::new(format!("`{text} {unit}` depends on the nominal voltage, which is not stated"), help))
        };
        match item.split_once("..") {
            None => places.push(number(item)?),
            Some((from, rest)) => {
                let Some((to, step)) = rest.split_once(':') else {
                    return Err(Slip::new(format!("`{item}` has no step"), format!("write `{item}:1`")));
                };
                run(number(from)?, number(to)?, number(step)?, item, &mut places)?;
            }
        }
    }
    places.sort_unstable();
    places.dedup();
    if places.len() > MOST { Err(too_many(text)) } else { Ok(places) }
}

/// `from..to:step`, both ends included; exact, so that the last step is never lost to rounding.
fn run(from: Exact, to: Exact, step: Exact, item: &str, places: &mut Vec<Exact>) -> Result<(), Slip> {
    if step <= Exact::ZERO {
        return Err(Slip::new(format!("`{item}` has a step that is not above zero"), "write the step without a sign"));
    }
    if from > to {
        return Err(Slip::new(format!("`{item}` runs downwards"), "write the smaller number first"));
    }
    let mut at = from;
    while at <= to {
        if places.len() > MOST {
            return Err(too_many(item));
        }
        places.push(at);
        at = at + step;
    }
    Ok(())
}

fn too_many(text: &str) -> Slip {
    Slip::new(format!("`{text}` names more than {MOST} places"), "take a larger step")
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::facts::FactId;

    fn at(text: &str, dimension: Dimension) -> Result<Vec<String>, Slip> {
        let mut facts = Facts::default();
        facts.set_number(FactId::NominalVoltage, 230.into());
        places(text, dimension, &facts).map(|places| places.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn places_and_runs_of_them() {
        assert_eq!(at("253..255:1,230,245", Dimension::Voltage).unwrap(), ["230", "245", "253", "254", "255"]);
        assert_eq!(at("0.9..1.1:0.1 pu", Dimension::Voltage).unwrap(), ["207", "230", "253"]);
        assert_eq!(at("1.10pu, 253 V", Dimension::Voltage).unwrap(), ["253"], "the same place once");
        assert_eq!(at("50..50.3:0.1", Dimension::Frequency).unwrap(), ["50", "50.1", "50.2", "50.3"], "no step is lost");
        assert_eq!(at("-100..100:100 %", Dimension::Percent).unwrap(), ["-100", "0", "100"]);
    }

    #[test]
    fn units_tell_the_dimension() {
        for (text, found) in [
            ("230,245", None),
            ("1.0..1.1:0.02 pu", Some(Dimension::Voltage)),
            ("50,51 Hz", Some(Dimension::Frequency)),
            ("10..90:10 %", Some(Dimension::Percent)),
        ] {
            assert_eq!(dimension(text), found, "{text}");
        }
    }

    #[test]
    fn what_is_no_place_is_refused() {
        for (text, says) in [
            ("253..260", "`253..260` has no step"),
            ("260..253:1", "`260..253:1` runs downwards"),
            ("253..260:0", "`253..260:0` has a step"),
            ("230..260:0.001", "`230..260:0.001` names more than 2000 places"),
            ("230 Hz", "`230 Hz`"),
            ("two", "expected a voltage"),
            ("", "a place is left empty"),
            ("253,,254", "a place is left empty"),
        ] {
            let slip = at(text, Dimension::Voltage).unwrap_err();
            assert!(slip.says.starts_with(says), "{text}: {slip:?}");
        }
    }
}
