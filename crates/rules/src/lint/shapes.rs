//! Requirements that work against themselves, in every kind of site that they tell apart: responses to the voltage that
//! go the wrong way, and a stage that leaves the ten-minute limit nothing to do.

use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Part};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::finding::{Finding, Outcome};
use settings_model::quantity::Dimension;
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::value::Value;

const VOLT_VAR: SettingId = SettingId::of("volt-var", "points");
const VOLT_WATT: SettingId = SettingId::of("volt-watt", "points");
const CHARGING: SettingId = SettingId::of("volt-watt-charging", "points");
const TEN_MINUTES: SettingId = SettingId::of("sustained-overvoltage", "threshold");
const OVERVOLTAGE: [SettingId; 3] =
    [SettingId::of("overvoltage-1", "threshold"), SettingId::of("overvoltage-2", "threshold"), SettingId::of("overvoltage-3", "threshold")];

/// Everything that works against itself in one kind of site.
pub(super) fn of_kind(rulebook: &Rulebook, requirement: &Requirement, facts: &Facts) -> Vec<Finding> {
    let curves = [VOLT_VAR, VOLT_WATT, CHARGING].into_iter().filter_map(|setting| of_curve(requirement, setting));
    let stages = OVERVOLTAGE.into_iter().filter_map(|stage| before_ten_minutes(rulebook, requirement, stage, facts));
    let told = curves.chain(stages).filter_map(|Against { setting, outcome, name, says, hint }| {
        let (_, stated) = rulebook.stated(setting).last()?;
        Some(Finding::new(outcome, name, stated.place, format!("{}: {says}", setting.title())).hint(hint))
    });
    told.collect()
}

/// A setting that works against its purpose, how, and what to do.
struct Against {
    setting: SettingId,
    outcome: Outcome,
    name: &'static str,
    says: String,
    hint: &'static str,
}

/// A response to the voltage that goes the wrong way, or that what complies, or the range left to somebody, lets go so.
fn of_curve(requirement: &Requirement, setting: SettingId) -> Option<Against> {
    let entry = &requirement.get(setting).filter(|_| !requirement.keeps_idle(setting))?.entry;
    let asked = levels(entry.require.as_ref(), &entry.comply);
    let against = |outcome, name, says| Against { setting, outcome, name, says, hint: hint(setting) };
    if let Some(says) = wrong_way(setting, &asked) {
        return Some(against(Outcome::DoesNotComply, "response-wrong-way", says));
    }
    let left = levels(None, &entry.adjustable);
    let says = [("what complies", asked), ("the adjustable range", left)]
        .into_iter()
        .find_map(|(what, levels)| Some(format!("{what} lets it {}", may_go_wrong(setting, &levels)?)))?;
    Some(against(Outcome::Remark, "response-may-go-wrong-way", says))
}

fn hint(setting: SettingId) -> &'static str {
    match setting {
        VOLT_VAR => "see which sign the source means: in this file positive supplies, negative absorbs",
        _ => "see that the points stand in the order that the source has them, each voltage with its own level",
    }
}

/// How levels go the wrong way, whichever of them a device has: reactive power that raises a high voltage or lowers a low
/// one, output that rises with the voltage, charging that falls with it.
fn wrong_way(setting: SettingId, levels: &[(Exact, Exact)]) -> Option<String> {
    let (first, last) = (levels.first()?, levels.last()?);
    let show = |level: Exact| Dimension::Percent.show(level.abs());
    let step = |is: fn(&(Exact, Exact), &(Exact, Exact)) -> bool| levels.windows(2).any(|pair| is(&pair[0], &pair[1]));
    let rises = || step(|one, next| next.0 > one.1);
    let falls = || step(|one, next| next.1 < one.0);
    Some(match setting {
        VOLT_VAR if last.0 > Exact::ZERO => format!("supplies {} at the highest voltage, which raises it further", show(last.0)),
        VOLT_VAR if first.1 < Exact::ZERO => format!("absorbs {} at the lowest voltage, which lowers it further", show(first.1)),
        VOLT_VAR if rises() => "supplies more as the voltage rises, which raises it further".to_owned(),
        VOLT_WATT if rises() => "gives more as the voltage rises, which raises it further".to_owned(),
        CHARGING if falls() => "charges less as the voltage rises, and most when it is lowest".to_owned(),
        _ => return None,
    })
}

/// How a device may go the wrong way that has some of the levels.
fn may_go_wrong(setting: SettingId, levels: &[(Exact, Exact)]) -> Option<String> {
    let (first, last) = (levels.first()?, levels.last()?);
    let show = |level: Exact| Dimension::Percent.show(level.abs());
    match setting {
        VOLT_VAR if last.1 > Exact::ZERO => Some(format!("supply {} at the highest voltage, which raises it further", show(last.1))),
        VOLT_VAR if first.0 < Exact::ZERO => Some(format!("absorb {} at the lowest voltage, which lowers it further", show(first.0))),
        VOLT_WATT if last.1 > first.0 => Some("give more at the highest voltage than at the lowest, which raises it further".to_owned()),
        _ => None,
    }
}

/// The least and the most that each level of a curve may be.
fn levels(required: Option<&Value>, comply: &[Claim]) -> Vec<(Exact, Exact)> {
    if let Some(Value::Curve(points)) = required {
        return points.iter().map(|point| (point.y.number, point.y.number)).collect();
    }
    let bound = |n: u8, is: fn(&Limit) -> Option<Exact>| {
        comply.iter().filter(|claim| claim.on.subject().part == Part::Y(n)).find_map(|claim| is(&claim.limit))
    };
    let least = |limit: &Limit| if let Limit::AtLeast(bound) = limit { Some(bound.value.number) } else { None };
    let most = |limit: &Limit| if let Limit::AtMost(bound) = limit { Some(bound.value.number) } else { None };
    (0..u8::MAX).map_while(|n| Some((bound(n, least)?, bound(n, most)?))).collect()
}

/// A stage of moments at or below the ten-minute limit: the mean passes the limit only after the stage has tripped, so that
/// the limit never acts. A reason for moving the stage is none for that: then the limit has to move too.
fn before_ten_minutes(rulebook: &Rulebook, requirement: &Requirement, stage: SettingId, facts: &Facts) -> Option<Against> {
    let asked = |setting: SettingId| {
        let resolved = requirement.get(setting).filter(|_| !requirement.keeps_idle(setting))?;
        resolved.entry.require.as_ref()?.part(Part::Whole)
    };
    let (own, limit) = (asked(stage)?, asked(TEN_MINUTES)?);
    // per unit against volts is left where nobody says of how many volts
    let is_comparable = own.of == limit.of || rulebook.nominal.is_some();
    let (trips, mean) = (own.at(facts)?, limit.at(facts)?);
    if !is_comparable || trips > mean {
        return None;
    }
    let says = format!("trips at {}, so the 10-minute limit ({}) never acts", own.show(Dimension::Voltage), limit.show(Dimension::Voltage));
    // the line to correct is that of the two which the topmost layer wrote
    let layer = |setting: SettingId| rulebook.stated(setting).last().map(|(layer, _)| *layer);
    let setting = if layer(TEN_MINUTES) > layer(stage) { TEN_MINUTES } else { stage };
    let says = if setting == stage { says } else { format!("{} {says}", stage.function().title) };
    Some(Against {
        setting,
        outcome: Outcome::DoesNotComply,
        name: "never-acts",
        says,
        hint: "move the stage above the limit, or the limit below the stage",
    })
}
