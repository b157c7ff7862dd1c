//! Every claim is guarded: a value just outside it is the one finding, at its own line; a value just
//! inside still complies. Each mutant goes through both readers: with places, and as a JSON line.

use crate::shipped;

use rules::assess::{Assessment, Assessor};
use rules::provenance::Verdict;
use rules::wording;
use serde::Deserialize;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{ENABLED, Equipment, HeldBy, SettingId, Shape};
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, Term};
use settings_model::exact::Exact;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::{Finding, Outcome};
use settings_model::places::JsonLine;
use settings_model::quantity::{Amount, Dimension};
use settings_model::reader;
use settings_model::ties::TIES;
use settings_model::value::Point;
use shipped::{assessor, is_displayed};

/// Smaller than any difference that a setting is known to.
const HAIR: (i64, u32) = (1, 4);

/// Every shipped site that states settings, as JSON; see the tests of label maps for what displays show.
fn sites() -> Vec<(String, Json)> {
    shipped::sites().into_iter().filter(|(_, site)| !is_displayed(site)).collect()
}

/// What a site came to with places, after checking that a JSON line of it comes to the same.
fn judge(site: &Json, assessor: &mut Assessor) -> (Verdict, Vec<Finding>, Vec<String>) {
    let text = serde_json::to_string_pretty(site).unwrap();
    let source = assessor.sources.add("mutant.json", text.as_str());
    let (verdict, findings, lines) = match reader::read(source, &text, Kind::Site) {
        Err(findings) => (Verdict::CouldNotTell, findings, Vec::new()),
        Ok(tree) => {
            let file: SiteFile<'_> = reader::typed(&tree).unwrap();
            let assessment = assessor.assess(&file);
            let findings = wording::findings(&assessment, &tree);
            let line = |f: &Finding| text.lines().nth(assessor.sources.locate(f.place).unwrap().line - 1).unwrap().trim().to_owned();
            let lines = findings.iter().map(line).collect();
            (assessment.verdict, findings, lines)
        }
    };
    let line = serde_json::to_string(site).unwrap();
    let borrowed = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(&line));
    let as_line = borrowed.map_or(Verdict::CouldNotTell, |file| places_agree(&line, &file, assessor));
    assert_eq!(verdict, as_line, "both readers agree on {}", site["site"]);
    assessor.sources.forget_after(assessor.sources.len() - 1);
    (verdict, findings, lines)
}

/// The verdict on a JSON line, after checking that its places are those of its located tree.
fn places_agree(line: &str, file: &SiteFile<'_>, assessor: &mut Assessor) -> Verdict {
    let assessment = assessor.assess(file);
    let source = settings_model::source::SourceId(9);
    let tree = settings_model::document::parse(source, line, &mut Vec::new()).unwrap();
    let from_line = wording::findings(&assessment, &JsonLine { source, text: line });
    assert_eq!(from_line, wording::findings(&assessment, &tree));
    assessment.verdict
}

fn with<T>(site: &Json, assessor: &mut Assessor, then: impl FnOnce(&Assessment<'_>) -> T) -> T {
    let line = serde_json::to_string(site).unwrap();
    let file = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(&line)).unwrap();
    then(&assessor.assess(&file))
}

/// Where a site states a setting of a device, or of the installation.
fn slot<'j>(site: &'j mut Json, device: &str, setting: SettingId) -> &'j mut Json {
    let settings =
        if device == rules::installation::NAME { &mut site["installation"] } else { &mut site["devices"][device]["as-left"]["settings"] };
    &mut settings[setting.function().key][setting.parameter().key]
}

/// States a value, keeping how it is known.
fn put(site: &mut Json, device: &str, setting: SettingId, value: Json) {
    let slot = slot(site, device, setting);
    if slot.is_object() { slot["value"] = value } else { *slot = value }
}

/// The value that a site states, without how it is known.
fn stated(site: &mut Json, device: &str, setting: SettingId) -> Json {
    let slot = slot(site, device, setting);
    if slot.is_object() { slot["value"].clone() } else { slot.clone() }
}

/// The first device of a site.
fn first_device(site: &Json) -> String {
    site["devices"].as_object().unwrap().keys().next().unwrap().clone()
}

/// The site with every required setting of every device stated as its sheet says, or inside the
/// range it names, and known as is asked.
fn fully_stated(site: &Json, assessor: &mut Assessor) -> Json {
    let values = with(site, assessor, |assessment| {
        let mut values = Vec::new();
        for device in &assessment.devices {
            let requirement = &device.counted.requirement;
            for row in rules::sheet::rows(&device.book, requirement, &device.facts, &device.departures) {
                let Some(resolved) = requirement.get(row.setting).filter(|_| !cannot_be_stated(row.setting)) else { continue };
                let value = match &row.set {
                    Some(settings_model::value::Value::Curve(points)) => points_as_written(row.setting, points),
                    Some(_) => json!(row.required),
                    None => match inside(row.setting, &resolved.entry.comply) {
                        Some(value) => json!(value),
                        None => continue,
                    },
                };
                let kinds =
                    resolved.entry.comply.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None });
                let known_by = kinds.and_then(|kinds| Evidence::ALL.into_iter().find(|kind| kinds.has(*kind as u8)));
                values.push((device.name.to_owned(), row.setting, value, known_by));
            }
        }
        values
    });
    let mut full = site.clone();
    for (device, setting, value, known_by) in values {
        *slot(&mut full, &device, setting) = match known_by {
            Some(kind) => json!({ "value": value, "known-by": kind.word() }),
            None => value,
        };
    }
    full
}

fn cannot_be_stated(setting: SettingId) -> bool {
    setting.parameter().held_by == HeldBy::AddedUp
}

fn points_as_written(setting: SettingId, points: &[settings_model::value::Point]) -> Json {
    let Shape::Curve { x, y } = setting.parameter().shape else { panic!("{setting} is a curve") };
    points.iter().map(|p| json!([p.x.show(x), p.y.show(y)])).collect()
}

/// Some value inside a set: of words the last; of a range its lowest, else its highest, else half of an end that is left out.
fn inside(setting: SettingId, claims: &[Claim]) -> Option<String> {
    if let Shape::Choice(words) = setting.parameter().shape {
        let allowed = claims.iter().find_map(|claim| if let Limit::OneOf(allowed) = claim.limit { Some(allowed) } else { None });
        return allowed?.iter().last().map(|word| words[usize::from(word)].to_owned());
    }
    let Shape::Quantity(dimension) = setting.parameter().shape else { return None };
    let edge = |wanted: fn(&Limit) -> Option<Bound>| claims.iter().find_map(|c| wanted(&c.limit));
    let low = edge(|limit| if let Limit::AtLeast(b) = limit { Some(*b) } else { None });
    let high = edge(|limit| if let Limit::AtMost(b) = limit { Some(*b) } else { None });
    let number = match (low, high) {
        (Some(low), _) => low.value.number,
        (None, Some(high)) if high.open => high.value.number.half(),
        (None, Some(high)) => high.value.number,
        (None, None) => return None,
    };
    let of = low.or(high)?.value.of;
    Some(Amount { number, of }.show(dimension))
}

/// The complying sites, each stated as its sheet says.
fn complying(assessor: &mut Assessor) -> Vec<(String, Json)> {
    let all = sites();
    let comply: Vec<_> = all.iter().filter(|(_, site)| judge(site, assessor).0 == Verdict::Complies).cloned().collect();
    assert!(comply.len() >= 2, "there are complying sites to mutate");
    comply.into_iter().map(|(name, site)| (name, fully_stated(&site, assessor))).collect()
}

#[test]
fn values_entered_as_the_sheet_says_comply() {
    let mut assessor = assessor();
    for (name, site) in complying(&mut assessor) {
        let (verdict, findings, _) = judge(&site, &mut assessor);
        let faults: Vec<&Finding> = findings.iter().filter(|f| f.outcome < Outcome::Remark).collect();
        assert_eq!((verdict, faults.len()), (Verdict::Complies, 0), "{name}: {faults:#?}");
    }
}

/// A mutant: what it changes, and to what.
struct Mutant {
    setting: SettingId,
    value: Json,
    inside: bool,
    about: String,
    /// Whether it is the response of a curve that changes, and no one point of it.
    of_response: bool,
    /// How the value is known instead, where that is what changes.
    known_by: Option<Evidence>,
}

fn mutants_of(setting: SettingId, claims: &[Claim], current: &Json) -> Vec<Mutant> {
    claims.iter().flat_map(|claim| mutants_of_claim(setting, claim, claims, current)).collect()
}

fn mutants_of_claim(setting: SettingId, claim: &Claim, all: &[Claim], current: &Json) -> Vec<Mutant> {
    let Term::Var(var) = claim.on else { return Vec::new() };
    let mutant = |value: Json, inside: bool| Mutant {
        setting,
        value,
        inside,
        about: format!("{setting} {:?} {:?}", var.part, claim.limit),
        of_response: matches!(claim.limit, Limit::Above(_) | Limit::Below(_)),
        known_by: None,
    };
    let hair = Exact::new(HAIR.0, HAIR.1);
    match &claim.limit {
        Limit::OneOf(allowed) => {
            let Shape::Choice(words) = setting.parameter().shape else { panic!("{setting} is a choice") };
            (0u8..).zip(words).map(|(w, word)| mutant(json!(word), allowed.has(w))).collect()
        }
        Limit::AtLeast(bound) | Limit::AtMost(bound) => {
            let outwards = if matches!(claim.limit, Limit::AtMost(_)) { hair } else { -hair };
            let edge = bound.value.number;
            let outside = if bound.open { edge } else { edge + outwards };
            let within = if bound.open { edge - outwards } else { edge };
            let keeps = |number: Exact| all.iter().filter(|c| c.on == claim.on).all(|c| keeps(&c.limit, number));
            let outside = placed(setting, var.part, in_units_of(bound, outside), current).filter(|value| is_possible(setting, value));
            let mut mutants: Vec<Mutant> = outside.map(|value| mutant(value, false)).into_iter().collect();
            if keeps(within) {
                mutants.extend(placed(setting, var.part, in_units_of(bound, within), current).map(|value| mutant(value, true)));
            }
            mutants
        }
        Limit::Above(line) => vec![mutant(raised(setting, line, -hair), false), mutant(raised(setting, line, Exact::ZERO), true)],
        Limit::Below(line) => vec![mutant(raised(setting, line, hair), false), mutant(raised(setting, line, Exact::ZERO), true)],
        Limit::Stated(kinds) => {
            let may_be_stated = Evidence::ALL.into_iter().filter(|kind| *kind != Evidence::Region);
            let known = |kind: Evidence| Mutant { known_by: Some(kind), ..mutant(current.clone(), kinds.has(kind as u8)) };
            may_be_stated.map(known).collect()
        }
        Limit::NotSeen | Limit::NoCase => Vec::new(),
    }
}

/// A number as the bound that it lies at is written: per unit of the same fact, or plain.
fn in_units_of(bound: &Bound, number: Exact) -> Amount {
    Amount { number, ..bound.value }
}

/// A line around a response, as the points of a curve that runs along it.
fn raised(setting: SettingId, line: &[Point], by: Exact) -> Json {
    let Shape::Curve { x, y } = setting.parameter().shape else { panic!("{setting} is a curve") };
    // nothing lasts less than no time
    let least = Exact::from(y.possible().0);
    line.iter().map(|p| json!([p.x.show(x), Amount { number: (p.y.number + by).max(least), ..p.y }.show(y)])).collect()
}

/// Whether a device can hold a value at all; what it cannot is refused, and no finding of a claim.
fn is_possible(setting: SettingId, value: &Json) -> bool {
    let held = |dimension: Dimension, value: &Json| value.as_str().is_none_or(|text| dimension.parse_held(text).is_ok());
    match setting.parameter().shape {
        Shape::Quantity(dimension) => held(dimension, value),
        Shape::Curve { x, y } => value.as_array().into_iter().flatten().all(|point| held(x, &point[0]) && held(y, &point[1])),
        Shape::Choice(_) => true,
    }
}

fn keeps(limit: &Limit, number: Exact) -> bool {
    match limit {
        Limit::AtLeast(b) => number > b.value.number || (!b.open && number == b.value.number),
        Limit::AtMost(b) => number < b.value.number || (!b.open && number == b.value.number),
        _ => true,
    }
}

/// The current value with one part replaced; `None` where no file could say it.
fn placed(setting: SettingId, part: Part, amount: Amount, current: &Json) -> Option<Json> {
    let dimension = rules::phrase::dimension_of(setting, part)?;
    let (shown, number) = (amount.show(dimension), amount.number);
    let mut value = current.clone();
    match part {
        Part::Whole if number < Exact::ZERO => return None,
        // no file could say it: a power factor above one
        _ if dimension.parse(&shown).is_err() => return None,
        Part::Whole => value = json!(shown),
        Part::X(n) => value[usize::from(n)][0] = json!(shown),
        Part::Y(n) => value[usize::from(n)][1] = json!(shown),
        Part::PointCount => {
            let points = value.as_array_mut()?;
            let wanted = match number.cmp(&Exact::from(points.len() as i64)) {
                std::cmp::Ordering::Less => points.len() - 1,
                std::cmp::Ordering::Equal => points.len(),
                std::cmp::Ordering::Greater => points.len() + 1,
            };
            if wanted < 2 {
                return None;
            }
            let Shape::Curve { x, y } = setting.parameter().shape else { return None };
            let level = if y == Dimension::PowerFactor { Exact::new(5, 1) } else { Exact::from(-61) };
            let far = json!([x.show(Exact::from(400)), y.show(level)]);
            points.resize(wanted, far);
        }
    }
    Some(value)
}

#[test]
fn no_mutant_survives_and_each_is_one_finding_at_its_own_line() {
    let mut assessor = assessor();
    let (mut outside, mut inside) = (0, 0);
    for (name, site) in complying(&mut assessor) {
        for (device, setting, claims) in claims_that_bind(&site, &mut assessor) {
            let current = stated(&mut site.clone(), &device, setting);
            for mutant in mutants_of(setting, &claims, &current) {
                let mut changed = site.clone();
                match &mutant.known_by {
                    Some(kind) => *slot(&mut changed, &device, setting) = json!({ "value": current, "known-by": kind.word() }),
                    None => put(&mut changed, &device, setting, mutant.value.clone()),
                }
                let (verdict, findings, lines) = judge(&changed, &mut assessor);
                let faults: Vec<&Finding> = findings.iter().filter(|f| f.outcome < Outcome::Remark).collect();
                let about = format!("{name}: {device}: {} as {}", mutant.about, mutant.value);
                if mutant.inside {
                    // a value that keeps its own claim may still break a tie, to the approved export for instance
                    let is_tie = |fault: &&Finding| TIES.iter().any(|tie| tie.name == fault.name);
                    assert!(faults.iter().all(is_tie), "{about}: {faults:#?}");
                    inside += 1;
                    continue;
                }
                let expected = if mutant.known_by.is_some() { Verdict::NotProven } else { Verdict::DoesNotComply };
                assert_eq!(verdict, expected, "{about} survived");
                assert_eq!(faults.len(), 1, "{about}: one primary finding: {:#?}", faults.iter().map(|f| &f.headline).collect::<Vec<_>>());
                let path = faults[0].setting.as_deref().unwrap();
                assert!(path.ends_with(&setting.to_string()), "{about}: it names its setting: {path}");
                let shown = mutant.known_by.is_some() || at_its_line(&mutant, &current, &lines[0]);
                assert!(shown, "{about}: it points at its line, not at {}", lines[0]);
                outside += 1;
            }
        }
    }
    println!("{outside} mutants outside, {inside} inside");
    assert!(outside > 150 && inside > 30);
}

/// Every device's settings with the claims on them, but for those of a function that has to be off:
/// its other settings claim nothing.
fn claims_that_bind(site: &Json, assessor: &mut Assessor) -> Vec<(String, SettingId, Vec<Claim>)> {
    with(site, assessor, |assessment| {
        let mut binding = Vec::new();
        for device in &assessment.devices {
            let requirement = &device.counted.requirement;
            let is_off = |setting: SettingId| {
                let state = setting.state().filter(|state| *state != setting);
                let known = state.and_then(|state| device.settings.get(state));
                known.is_some_and(|known| known.value != settings_model::value::Value::Word(ENABLED))
            };
            let entries = requirement.entries.iter().map(|r| &r.entry);
            let judged = entries.filter(|entry| !is_off(entry.setting) && !cannot_be_stated(entry.setting));
            binding.extend(judged.map(|entry| (device.name.to_owned(), entry.setting, entry.comply.clone())));
        }
        binding
    })
}

/// Whether a line shows what the mutant changed; a curve with a point more or less shows its key.
fn at_its_line(mutant: &Mutant, current: &Json, line: &str) -> bool {
    let changed = match (&mutant.value, current) {
        (Json::Array(now), Json::Array(before)) if now.len() == before.len() && !mutant.of_response => {
            let coordinates = |points: &[Json]| points.iter().flat_map(|p| p.as_array().unwrap().clone()).collect::<Vec<_>>();
            let differs = coordinates(now).into_iter().zip(coordinates(before)).find(|(a, b)| a != b);
            differs.map(|(now, _)| now.to_string()).unwrap()
        }
        (Json::Array(_), _) => {
            let key = mutant.setting.parameter().key;
            return [key, "value"].iter().any(|key| line.starts_with(&format!("\"{key}\"")));
        }
        (value, _) => {
            let key = mutant.setting.parameter().key;
            return [key, "value"].iter().any(|key| line.starts_with(&format!("\"{key}\": {value}")));
        }
    };
    line.starts_with(&changed)
}

/// Ties bind where each setting complies alone. The example is the algebra's own: something that
/// keeps every other claim and breaks the tie.
#[test]
fn a_tie_that_something_can_break_alone_is_one_finding_under_its_own_name() {
    use rules::escape::{Proof, escape};
    let mut assessor = assessor();
    let mut broken = Vec::new();
    for (name, site) in complying(&mut assessor) {
        let breaks = with(&site, &mut assessor, |assessment| {
            let requirement = &assessment.devices[0].counted.requirement;
            let mut facts = settings_model::facts::Facts::default();
            let nominal = assessment.facts.number(settings_model::facts::FactId::NominalVoltage);
            facts.set_number(settings_model::facts::FactId::NominalVoltage, nominal.unwrap_or(Exact::from(230)));
            let old: Vec<Claim> = requirement.entries.iter().flat_map(|r| r.entry.comply.clone()).collect();
            let space = settings_model::ties::space(Equipment::Inverter, requirement.ties[0].why);
            let others = |tie: &Claim| requirement.ties.iter().filter(|other| *other != tie).chain(&space).cloned().collect::<Vec<_>>();
            let escapes = |tie: &Claim| match escape(&old, tie, &others(tie), &facts) {
                Proof::Escapes(witness) => Some((tie.clone(), witness)),
                _ => None,
            };
            requirement.ties.iter().filter_map(escapes).collect::<Vec<_>>()
        });
        let device = first_device(&site);
        for (tie, witness) in breaks {
            let mut changed = site.clone();
            for var in witness.settings.keys().copied().filter(|var| var.part != Part::PointCount) {
                let Some(number) = witness.number(var) else { continue };
                let mut current = stated(&mut changed, &device, var.setting);
                if current.is_null() && var.part != Part::Whole {
                    // of a curve that nobody asks for the example has but the point that the tie is on
                    let points =
                        witness.curve(var.setting).unwrap_or_else(|| vec![(number, Exact::from(100)), (number + Exact::ONE, Exact::ZERO)]);
                    let point = |(x, y)| Point { x: Amount::plain(x), y: Amount::plain(y) };
                    current = points_as_written(var.setting, &points.into_iter().map(point).collect::<Vec<_>>());
                }
                // a tie to a curve that nobody asks for: two points that begin there
                if let (true, Part::X(0)) = (current.is_null(), var.part) {
                    let point = |x, level: i64| Point { x: Amount::plain(x), y: Amount::plain(level.into()) };
                    current = points_as_written(var.setting, &[point(number, 100), point(number + Exact::ONE, 20)]);
                }
                let Some(value) = placed(var.setting, var.part, Amount::plain(number), &current) else { continue };
                put(&mut changed, &device, var.setting, value);
            }
            if let Some(approved) = witness.facts.number(settings_model::facts::FactId::ApprovedExport) {
                changed["export"]["approved"] = json!(format!("{approved} W"));
                if changed["export"]["kind"].is_null() {
                    changed["export"]["kind"] = json!("fixed");
                }
            }
            let (verdict, findings, _) = judge(&changed, &mut assessor);
            // the algebra's example knows nothing of rules that are not linear
            let is_linear = |finding: &&Finding| rules::practice::named(finding.name).is_none();
            let faults: Vec<&Finding> = findings.iter().filter(|f| f.outcome < Outcome::Remark).filter(is_linear).collect();
            let headlines: Vec<&String> = faults.iter().map(|fault| &fault.headline).collect();
            assert_eq!((verdict, faults.len()), (Verdict::DoesNotComply, 1), "{name}: {tie:?}: {headlines:#?}");
            broken.push(faults[0].name);
        }
    }
    broken.sort_unstable();
    broken.dedup();
    assert!(broken.contains(&"export-above-approval"), "{broken:?}");
}

/// A wrong type is refused by both readers alike.
#[test]
fn what_one_reader_refuses_the_other_refuses() {
    let mut assessor = assessor();
    let (_, good) = complying(&mut assessor).remove(0);
    for setting in SettingId::all().filter(|id| id.parameter().held_by != settings_model::catalogue::HeldBy::AmbiguousDisplay) {
        let unitless = matches!(setting.parameter().shape, Shape::Quantity(dimension) if dimension.is_unitless());
        let numbers = if unitless { [json!("-0,5"), json!("2.5.1")] } else { [json!("253"), json!(253)] };
        let others = [json!("265 X"), json!([]), json!([["1 V", "1 %"]]), json!({}), json!("high"), json!(null)];
        for wrong in numbers.into_iter().chain(others) {
            let mut changed = good.clone();
            *slot(&mut changed, &first_device(&good), setting) = wrong.clone();
            let (verdict, ..) = judge(&changed, &mut assessor);
            assert_eq!(verdict, Verdict::CouldNotTell, "{setting} as {wrong}");
        }
    }
}
