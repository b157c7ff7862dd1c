//! What a device is rated for, and how far it is set to go: categories, reactive power, less power than it is rated for.

use super::bases::{Base, Bases, Converted};
use super::collected::{At, Collected, in_steps, setting};
use super::device::DeviceModels;
use crate::decode::Decoded;
use crate::trouble::TroubleKind;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;
use settings_model::value::Value;

const CAPABILITY: &str = "reactive-capability";

pub(super) fn read(device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
    if let Some(decoded) = device.model(702) {
        categories(decoded, collected);
        for (key, set, rating) in [("supplying", "VarMaxInj", "VarMaxInjRtg"), ("absorbing", "VarMaxAbs", "VarMaxAbsRtg")] {
            capability(key, At::fixed(decoded, set), At::fixed(decoded, rating), (&bases.newer, bases), collected);
        }
        set_lower(Some(decoded), ("WMax", "WMaxRtg", "W"), collected);
        set_lower(Some(decoded), ("VAMax", "VAMaxRtg", "VA"), collected);
        return;
    }
    // supplying while generating is the first quadrant, absorbing the fourth: from memory
    let of = |id: u16, name: &str| device.model(id).and_then(|decoded| At::fixed(decoded, name));
    for (key, set, rating) in [("supplying", "VArMaxQ1", "VArRtgQ1"), ("absorbing", "VArMaxQ4", "VArRtgQ4")] {
        if device.has(120) || device.has(121) {
            capability(key, of(121, set), of(120, rating), (&bases.older, bases), collected);
        }
    }
}

/// The categories that the device says it is rated for.
fn categories(decoded: &Decoded, collected: &mut Collected) {
    for (key, name, words) in [("normal", "NorOpCatRtg", &["a", "b"][..]), ("abnormal", "AbnOpCatRtg", &["i", "ii", "iii"][..])] {
        let (of, at) = (setting("performance-category", key), At::fixed(decoded, name));
        let code = collected.code(at.as_ref(), &[of]);
        if let (Some(word), Some(at)) = (code.and_then(|code| words.get(usize::from(code))), at) {
            collected.word(of, word, at.origin());
        }
    }
}

/// The reactive power that the device gives at most one way: what it is set to, or rated for where that is less. Zero
/// is a number: such a device gives none.
fn capability(key: &str, set: Option<At<'_>>, rating: Option<At<'_>>, (base, bases): (&Base, &Bases), collected: &mut Collected) {
    let of = setting(CAPABILITY, key);
    let number = |at: &At<'_>| at.held.number().map(|number| number.abs());
    let known: Vec<(Exact, &At<'_>)> = set.iter().chain(&rating).filter_map(|at| Some((number(at)?, at))).collect();
    let Some((_, at)) = known.iter().min_by_key(|(number, _)| *number) else {
        // where its size cannot be told, that is told where bases are read
        return collected.not_implemented(of, &format!("{} is not implemented", set.or(rating).map_or_else(String::new, |at| at.path)));
    };
    let Some((vars, resolution)) = collected.number(Some(at), &[of]) else { return };
    match base.of_vars((vars.abs(), resolution), bases.reactive_of()) {
        Ok(Converted { number, step, exact }) => {
            collected.put(of, Value::Quantity(Amount::plain(number)), in_steps(step, exact), at.origin());
        }
        Err(says) => collected.not_read(of, &format!("{}: {says}", at.path)),
    }
}

/// Less power than the device is rated for: percentages of its settings are of what it is set to.
fn set_lower(decoded: Option<&Decoded>, (set, rating, unit): (&str, &str, &str), collected: &mut Collected) {
    let Some(decoded) = decoded else { return };
    let number = |name: &str| decoded.parts.point(name).and_then(|held| Some((held.number()?, held.register)));
    if let (Some((set_to, register)), Some((rated, _))) = (number(set), number(rating))
        && set_to < rated
    {
        let says =
            format!("model {}: set to give at most {set_to} {unit} of the {rated} {unit} that it is rated for ({set})", decoded.model.id);
        collected.trouble(TroubleKind::SetBelowRating, says, (Some(decoded.model.id), Some(register)), &[]);
    }
}
