//! One site, one verdict: however a site is spelt and in whatever form it is written, and no value outside the set
//! passes, by whatever way it comes in.
//!
//! Sites are drawn from the shipped ones with values moved at random. `ASLEFT_DRAWN=20000` draws as many as a
//! release is held against; `ASLEFT_SEED` draws others.

use crate::shipped;
mod spelt;

use rules::assess::Assessor;
use rules::provenance::Verdict;
use serde_json::Value as Json;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use shipped::{assessor, is_displayed};
use spelt::chance::{Chance, drawn};
use spelt::forms::{FORMS, forget, in_form, judged, judged_line};
use spelt::outside::{Asked, asked, outside, with};
use spelt::quantities::{moved, respell, respelt};
use std::collections::BTreeMap;

/// Every shipped site, and whether it says what displays show.
fn sites() -> Vec<(Json, bool)> {
    let sites = shipped::sites().into_iter().map(|(_, site)| site);
    sites.map(|site| (site.clone(), is_displayed(&site))).collect()
}

/// A site is spelt in other words and written in other forms, and comes to the same.
#[test]
fn however_a_site_is_written_it_comes_to_the_same() {
    let (mut assessor, mut chance) = (assessor(), Chance::of(1));
    let sites = sites();
    let (count, mut verdicts, mut forms) = (drawn(400), BTreeMap::<String, usize>::new(), BTreeMap::<String, usize>::new());
    for n in 0..count {
        let (site, displayed) = chance.of_these(&sites).clone();
        let site = if displayed { site } else { moved(&site, &mut chance) };
        let plain = judged(&site.to_string(), None, &mut assessor);
        *verdicts.entry(format!("{:?}", plain.0)).or_default() += 1;
        for _ in 0..2 {
            let form = if displayed { *chance.of_these(&FORMS[..3]) } else { *chance.of_these(&FORMS) };
            let other = respell(&site, &mut chance);
            let Some(came_to) = in_form(&other, form, &mut chance, &mut assessor) else { continue };
            *forms.entry(format!("{form:?}")).or_default() += 1;
            assert_eq!(came_to, plain, "draw {n}, as {form:?}:\n{other:#}\nand plainly:\n{site:#}");
        }
        if displayed {
            // in the words of its display, and as what they mean
            let meant = meant(&site, &mut assessor);
            *forms.entry("displayed".to_owned()).or_default() += 1;
            assert_eq!(judged(&meant.to_string(), None, &mut assessor).0, plain.0, "draw {n}, displayed:\n{site:#}\nmeans:\n{meant:#}");
        }
    }
    println!("{count} sites: {verdicts:?}; forms: {forms:?}");
    assert!(verdicts.len() >= 3 && forms.len() == 5, "{verdicts:?}, {forms:?}");
}

/// What a site says in the words of its displays, as settings.
fn meant(site: &Json, assessor: &mut Assessor) -> Json {
    let text = site.to_string();
    let source = assessor.sources.add("displayed", text.as_str());
    let meant = assessor.read_site(source, &text).unwrap().to_json();
    forget(source, assessor);
    meant
}

/// No value outside the set of what is asked passes: by edges, by steps, by units, by evidence.
#[test]
fn no_value_outside_the_set_passes() {
    let (mut assessor, mut chance) = (assessor(), Chance::of(2));
    let complying: Vec<Json> = sites()
        .into_iter()
        .filter(|(site, displayed)| !displayed && judged(&site.to_string(), None, &mut assessor).0 == Verdict::Complies)
        .map(|(site, _)| site)
        .collect();
    assert!(complying.len() >= 10, "{}", complying.len());
    let all: Vec<(usize, Asked)> =
        complying.iter().enumerate().flat_map(|(n, site)| asked(site, &mut assessor).into_iter().map(move |asked| (n, asked))).collect();
    let (count, mut ways, mut verdicts) = (drawn(4000), BTreeMap::<&str, usize>::new(), BTreeMap::<String, usize>::new());
    let mut tried = 0;
    while tried < count {
        let (n, asked) = chance.of_these(&all);
        let Some((way, stated)) = outside(asked, &mut chance) else { continue };
        tried += 1;
        let mutant = with(&complying[*n], asked, stated);
        let came_to = judged_line(&mutant.to_string(), &mut assessor);
        *ways.entry(way).or_default() += 1;
        *verdicts.entry(format!("{:?}", came_to.0)).or_default() += 1;
        let stated = &mutant["devices"][&asked.device]["as-left"]["settings"][asked.setting.function().key][asked.setting.parameter().key];
        assert_ne!(came_to.0, Verdict::Complies, "draw {tried}, {way}: {} of {}: {stated}\n{mutant}", asked.setting, asked.device);
    }
    println!("{count} values outside: {ways:?}; {verdicts:?}");
    assert_eq!(ways.len(), 6, "{ways:?}");
}

/// What the draws above lean on: the spelling of numbers is exact.
#[test]
fn respelling_keeps_the_number() {
    let mut chance = Chance::of(3);
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, Exact::from(230));
    let mut changed = 0;
    for _ in 0..4000 {
        let (text, dimension) = *chance.of_these(&[
            ("253 V", Dimension::Voltage),
            ("1.5 s", Dimension::Time),
            ("600 s", Dimension::Time),
            ("50.15 Hz", Dimension::Frequency),
            ("5 kW", Dimension::ActivePower),
            ("9.6 %/min", Dimension::RampRate),
            ("-60 %", Dimension::Percent),
            ("0.9 pu", Dimension::Voltage),
        ]);
        let other = respelt(text, Some(230), &mut chance);
        let number = |text: &str| dimension.parse(text).unwrap_or_else(|slip| panic!("{text}: {}", slip.says)).at(&facts).unwrap();
        assert_eq!(number(&other), number(text), "{text} as {other}");
        changed += usize::from(other != text);
    }
    assert!(changed > 2000);
}
