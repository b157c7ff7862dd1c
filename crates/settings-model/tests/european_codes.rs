//! EN 50549-1, VDE-AR-N 4105 and CEI 0-21 against the list of recalled figures that they were written
//! from. None of these rules could be read: nearly every figure is from memory, and has to say so.

use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::{Basis, Claim, Limit, Term, Var};
use settings_model::entry::{Entry, Who};
use settings_model::facts::{FactId, Facts};
use settings_model::library::{Library, Profile, Request};
use settings_model::quantity::Dimension;
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::source::Sources;
use std::path::{Path, PathBuf};

const VDE: (&str, &str) = ("vde-ar-n-4105/2018", "germany-inverters");
const EN: (&str, &str) = ("en-50549-1/2019", "minimum");
const CEI_2016: (&str, &str) = ("cei-0-21/2016", "italy");
const CEI_2019: (&str, &str) = ("cei-0-21/2019", "italy");

fn library() -> Library {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles/standards");
    let mut library = Library::default();
    for folder in ["vde-ar-n-4105", "en-50549-1", "cei-0-21"] {
        let files: Vec<PathBuf> = std::fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path()).collect();
        for file in files {
            let path = format!("standards/{folder}/{}", file.file_name().unwrap().to_string_lossy());
            library.add(Profile { name: path.clone(), path, text: std::fs::read_to_string(file).unwrap().into(), shipped: true });
        }
    }
    library
}

/// A site at 230 V, of so many tenths of a kVA, fed from storage too, that takes this route.
fn facts(tenths_of_kva: i64, route: &str) -> Facts {
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, 230.into());
    facts.set_number(FactId::NameplateTotal, (tenths_of_kva * 100).into());
    let word = |fact: FactId, word: &str| fact.words().iter().position(|known| *known == word).unwrap() as u8;
    facts.set_word(FactId::EnergySource, word(FactId::EnergySource, "solar-and-storage"));
    facts.set_word(FactId::Route, word(FactId::Route, route));
    facts
}

fn asked((standard, region): (&str, &str), facts: &Facts) -> (Requirement, Rulebook) {
    let request = Request { standard: Some(standard), region, ..Request::default() };
    let [rulebook, ..] = library().rulebooks(request, facts, &mut Sources::default()).unwrap_or_else(|e| panic!("{standard}: {e:#?}"));
    (rulebook.resolve(facts), rulebook)
}

/// What is left by claims on a whole setting, in the units of the file.
fn between(claims: &[Claim], setting: SettingId) -> String {
    let Shape::Quantity(dimension) = setting.parameter().shape else { return String::new() };
    let own = || claims.iter().filter(|claim| claim.on == Term::Var(Var::from(setting)));
    let low = own().find_map(|claim| if let Limit::AtLeast(bound) = claim.limit { Some(bound.value.show(dimension)) } else { None });
    let high = own().find_map(|claim| if let Limit::AtMost(bound) = claim.limit { Some(bound.value.show(dimension)) } else { None });
    match (low, high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (None, Some(high)) => format!("at most {high}"),
        (Some(low), None) => format!("at least {low}"),
        (None, None) => String::new(),
    }
}

fn figure(entry: &Entry) -> String {
    entry.require.as_ref().map_or_else(|| between(&entry.comply, entry.setting), |value| value.show(entry.setting))
}

/// Setting, what is required or complies, and the range that it may be moved in, if there is one.
type Row = (&'static str, &'static str, &'static str);

fn holds(of: (&str, &str), facts: &Facts, rows: &[Row]) {
    let (requirement, _) = asked(of, facts);
    for (name, wanted, range) in rows {
        let setting = SettingId::named(name).unwrap();
        let entry = &requirement.get(setting).unwrap_or_else(|| panic!("{of:?}: nothing is said of {name}")).entry;
        assert_eq!(figure(entry), *wanted, "{of:?} {name}");
        if !range.is_empty() {
            assert_eq!(between(&entry.adjustable, setting), *range, "{of:?} {name}");
            assert_eq!(entry.moved_by, Who::NetworkOperator, "{of:?} {name}");
        }
    }
}

/// VDE-AR-N 4105:2018, column for inverters, as recalled; where two sources agree with the memory neither
/// can be cited.
#[test]
fn vde_ar_n_4105_has_the_recalled_figures() {
    let rows: &[Row] = &[
        ("undervoltage-1/threshold", "0.8 pu", ""),
        ("undervoltage-1/definite-delay", "3 s", ""),
        ("undervoltage-2/threshold", "0.45 pu", ""),
        ("undervoltage-2/definite-delay", "0.3 s", ""),
        ("sustained-overvoltage/threshold", "1.1 pu", ""),
        ("overvoltage-2/threshold", "1.25 pu", ""),
        ("overvoltage-2/definite-delay", "0.1 s", ""),
        ("overvoltage-2/disconnection", "at most 0.2 s", ""), // 100 ms set, and 100 ms for device and switch
        ("underfrequency-1/threshold", "47.5 Hz", ""),
        ("underfrequency-1/definite-delay", "0.1 s", ""),
        ("overfrequency-1/threshold", "51.5 Hz", ""),
        ("overfrequency-1/definite-delay", "0.1 s", ""),
        ("reconnection/lower-voltage", "0.85 pu", ""),
        ("reconnection/upper-voltage", "1.1 pu", ""),
        ("reconnection/lower-frequency", "47.5 Hz", ""),
        ("reconnection/upper-frequency", "50.1 Hz", ""),
        ("reconnection/observation-time", "60 s", ""),
        ("reconnection/ramp-rate", "10 %/min", ""),
        ("over-frequency-response/start", "50.2 Hz", ""),
        ("over-frequency-response/droop", "5 %", "2 % to 12 %"), // 40 %/Hz; 100 to 16.7 %/Hz
        ("over-frequency-response/return-lower-frequency", "49.8 Hz", ""),
        ("over-frequency-response/return-upper-frequency", "50.2 Hz", ""),
        ("under-frequency-response/start", "49.8 Hz", ""),
        ("under-frequency-response/droop", "5 %", ""),
        ("volt-var/settling-time", "10 s", "6 s to 60 s"),
    ];
    holds(VDE, &facts(80, "wide-window"), rows);
    // sin(acos 0.90) and sin(acos 0.95) of apparent power, and the two power factors themselves
    for (kva_tenths, most, factor) in [(46, "31.22", "0.95"), (47, "43.59", "0.9")] {
        let curve = format!("{most} % at 0.93 pu, 0 % at 0.97 pu, 0 % at 1.03 pu, -{most} % at 1.07 pu");
        let (requirement, rulebook) = asked(VDE, &facts(kva_tenths, "wide-window"));
        let of = |name: &str| requirement.get(SettingId::named(name).unwrap()).unwrap().entry.clone();
        assert_eq!(figure(&of("volt-var/points")), curve);
        let by_power = of("power-dependent-power-factor/points");
        assert_eq!(
            figure(&by_power),
            format!("1 at 50 %, {factor} at 100 %"),
            "recalled; pandapower 3.5.6, class PQArea4105, has the factors, of a capability"
        );
        let basis = |entry: &Entry| rulebook.whys.get(entry.comply[0].why).unwrap().citation.as_ref().unwrap().basis;
        assert_eq!((basis(&by_power), basis(&of("volt-var/points"))), (Basis::Memory, Basis::Memory));
    }
}

/// EN 50549-1:2019: ranges and steps, clause 4.9.3 and those of the others, as recalled.
#[test]
fn en_50549_1_has_the_recalled_ranges_and_steps() {
    let (requirement, _) = asked(EN, &facts(80, "wide-window"));
    for (name, range, step) in [
        ("undervoltage-1/threshold", "0.2 pu to 1 pu", "0.01 pu"),
        ("undervoltage-1/operate-time", "0.1 s to 100 s", "0.1 s"),
        ("undervoltage-2/threshold", "0.2 pu to 1 pu", "0.01 pu"),
        ("undervoltage-2/operate-time", "0.1 s to 5 s", "0.05 s"),
        ("overvoltage-1/threshold", "1 pu to 1.2 pu", "0.01 pu"),
        ("overvoltage-1/operate-time", "0.1 s to 100 s", "0.1 s"),
        ("overvoltage-2/threshold", "1 pu to 1.3 pu", "0.01 pu"),
        ("overvoltage-2/operate-time", "0.1 s to 5 s", "0.05 s"),
        ("sustained-overvoltage/threshold", "1 pu to 1.15 pu", "0.01 pu"),
        ("underfrequency-1/threshold", "47 Hz to 50 Hz", "0.1 Hz"),
        ("underfrequency-1/operate-time", "0.1 s to 100 s", "0.1 s"),
        ("underfrequency-2/threshold", "47 Hz to 50 Hz", "0.1 Hz"),
        ("underfrequency-2/operate-time", "0.1 s to 5 s", "0.05 s"),
        ("overfrequency-1/threshold", "50 Hz to 52 Hz", "0.1 Hz"),
        ("overfrequency-1/operate-time", "0.1 s to 100 s", "0.1 s"),
        ("overfrequency-2/threshold", "50 Hz to 52 Hz", "0.1 Hz"),
        ("overfrequency-2/operate-time", "0.1 s to 5 s", "0.05 s"),
    ] {
        let setting = SettingId::named(name).unwrap();
        let resolved = requirement.get(setting).unwrap();
        let entry = &resolved.entry;
        let Shape::Quantity(dimension) = setting.parameter().shape else { panic!("{name}") };
        assert_eq!((between(&entry.adjustable, setting), entry.step.map(|step| step.show(dimension))), (range.into(), Some(step.into())));
        assert!(entry.is_left_open() && !resolved.covered_by_region, "{name}: nobody but the operator says it");
    }
    let rows: &[Row] = &[
        ("sustained-overvoltage/operate-time", "at most 3 s", ""),
        ("reconnection/lower-frequency", "49.5 Hz", "47 Hz to 50 Hz"),
        ("reconnection/upper-frequency", "50.2 Hz", "50 Hz to 52 Hz"),
        ("reconnection/lower-voltage", "0.85 pu", "0.5 pu to 1 pu"),
        ("reconnection/upper-voltage", "1.1 pu", "1 pu to 1.2 pu"),
        ("reconnection/observation-time", "60 s", "10 s to 600 s"),
        ("reconnection/ramp-rate", "10 %/min", "6 %/min to 3000 %/min"),
        ("start-of-generation/upper-frequency", "50.1 Hz", "50 Hz to 52 Hz"),
        ("start-of-generation/observation-time", "60 s", "10 s to 600 s"),
        ("start-of-generation/ramp", "off", ""),
        ("over-frequency-response/start", "50.2 Hz", "50.2 Hz to 52 Hz"),
        ("over-frequency-response/droop", "5 %", "2 % to 12 %"),
        ("over-frequency-response/delay", "0 s", "0 s to 2 s"),
        ("over-frequency-response/hold-time", "30 s", "0 s to 600 s"),
        ("under-frequency-response/start", "49.8 Hz", "46 Hz to 49.8 Hz"),
        ("under-frequency-response/droop", "5 %", "2 % to 12 %"),
        ("cease-generation/below", "0.5 pu", "0.2 pu to 1 pu"),
        ("cease-generation/above", "1.2 pu", "1 pu to 1.3 pu"),
        ("volt-var/settling-time", "10 s", "3 s to 60 s"),
        ("volt-var/least-power-factor", "0.9", "at most 0.95"),
        ("volt-var/lock-in-power", "20 %", "0 % to 20 %"),
        ("volt-var/lock-out-power", "5 %", "0 % to 20 %"),
        ("frequency-withstand/rate", "at least 2 Hz/s", ""),
    ];
    holds(EN, &facts(80, "wide-window"), rows);
}

/// CEI 0-21 as recalled for 2014 to 2016, and for 2019 and later.
#[test]
fn cei_0_21_has_the_recalled_figures_of_both_editions() {
    let both: &[Row] = &[
        ("sustained-overvoltage/threshold", "1.1 pu", ""),
        ("sustained-overvoltage/averaging-window", "600 s", ""),
        ("overvoltage-2/threshold", "1.15 pu", ""),
        ("overvoltage-2/operate-time", "0.2 s", ""),
        ("undervoltage-1/threshold", "0.85 pu", ""),
        ("undervoltage-2/operate-time", "0.2 s", ""),
        ("overfrequency-1/operate-time", "0.1 s", ""),
        ("underfrequency-1/operate-time", "0.1 s", ""),
        ("overfrequency-2/threshold", "51.5 Hz", ""),
        ("underfrequency-2/threshold", "47.5 Hz", ""),
        ("start-of-generation/lower-frequency", "49.9 Hz", ""),
        ("start-of-generation/upper-frequency", "50.1 Hz", ""),
        ("start-of-generation/observation-time", "30 s", ""),
        ("reconnection/observation-time", "300 s", ""),
        ("reconnection/ramp-rate", "20 %/min", ""),
        ("over-frequency-response/hold-time", "300 s", ""),
        ("power-dependent-power-factor/lock-in-voltage", "1.05 pu", "1 pu to 1.1 pu"),
        ("power-dependent-power-factor/lock-out-voltage", "0.98 pu", "0.9 pu to 1 pu"),
        ("power-dependent-power-factor/lock-in-power", "20 %", ""),
    ];
    let narrow = facts(60, "narrow-window");
    for edition in [CEI_2016, CEI_2019] {
        holds(edition, &narrow, both);
    }
    let of_2016: &[Row] = &[
        ("undervoltage-1/operate-time", "0.4 s", ""),
        ("undervoltage-2/threshold", "0.4 pu", ""),
        ("overfrequency-1/threshold", "50.5 Hz", ""),
        ("underfrequency-1/threshold", "49.5 Hz", ""),
        ("overfrequency-2/operate-time", "0.1 s", ""),
        ("underfrequency-2/operate-time", "0.1 s", ""),
        ("over-frequency-response/droop", "2.4 %", "2 % to 5 %"),
    ];
    holds(CEI_2016, &narrow, of_2016);
    let of_2019: &[Row] = &[
        ("undervoltage-1/operate-time", "1.5 s", ""),
        ("undervoltage-2/threshold", "0.15 pu", ""),
        ("overfrequency-1/threshold", "50.2 Hz", ""),
        ("underfrequency-1/threshold", "49.8 Hz", ""),
        ("overfrequency-2/operate-time", "1 s", ""),
        ("underfrequency-2/operate-time", "4 s", ""),
        ("over-frequency-response/start", "50.2 Hz", ""),
        ("over-frequency-response/droop", "2.6 %", "2 % to 5 %"),
    ];
    holds(CEI_2019, &narrow, of_2019);
}

/// Which of the two windows acts is a fact that the site declares.
#[test]
fn the_narrow_window_of_cei_0_21_is_asked_for_where_it_is_called_and_has_to_be_off_elsewhere() {
    for edition in [CEI_2016, CEI_2019] {
        for (route, state) in [("narrow-window", "enabled"), ("wide-window", "off")] {
            let (requirement, _) = asked(edition, &facts(60, route));
            for stage in ["overfrequency-1", "underfrequency-1"] {
                let of = |key: &str| requirement.get(SettingId::find(stage, key).unwrap());
                assert_eq!(figure(&of("state").unwrap().entry), state, "{edition:?} {stage} {route}");
                assert_eq!(of("threshold").is_some(), route == "narrow-window", "{edition:?} {stage} {route}");
            }
            for stage in ["overfrequency-2", "underfrequency-2"] {
                let state = requirement.get(SettingId::find(stage, "state").unwrap()).unwrap();
                assert_eq!(figure(&state.entry), "enabled", "{edition:?} {stage} {route}");
            }
        }
        let mut undeclared = Facts::default();
        undeclared.set_number(FactId::NominalVoltage, 230.into());
        let (_, rulebook) = asked(edition, &undeclared);
        let hanging = rulebook.hanging(&undeclared);
        assert!(hanging.iter().any(|(setting, facts)| setting.to_string() == "overfrequency-1/state" && facts == &[FactId::Route]));
    }
    // in 2019 the narrow window trips where the response begins: that is the rule's own, and no contradiction
    let (requirement, _) = asked(CEI_2019, &facts(60, "narrow-window"));
    let [start, trip] = ["over-frequency-response/start", "overfrequency-1/threshold"].map(|name| SettingId::named(name).unwrap());
    let ties_them = |claim: &&Claim| claim.on.vars().any(|var| var.setting == start) && claim.on.vars().any(|var| var.setting == trip);
    assert_eq!(requirement.ties.iter().filter(ties_them).count(), 0);
    let (requirement, _) = asked(CEI_2016, &facts(60, "narrow-window"));
    assert_eq!(requirement.ties.iter().filter(ties_them).count(), 1);
}

/// Nothing here was read in the rules themselves, and nothing may look as if it had been.
#[test]
fn every_figure_says_that_it_is_unverified() {
    for of in [VDE, EN, ("en-50549-1/2019", "stringent"), CEI_2016, CEI_2019] {
        let (requirement, rulebook) = asked(of, &facts(80, "narrow-window"));
        assert!(requirement.entries.len() > 40, "{of:?}");
        for resolved in &requirement.entries {
            let lines = resolved.entry.comply.iter().chain(&resolved.entry.adjustable).map(|claim| rulebook.whys.get(claim.why).unwrap());
            for line in lines {
                assert!(line.is_unverified(), "{of:?} {}", resolved.entry.setting);
            }
        }
    }
}

/// Worked values, plain arithmetic: volts from per unit of 230 V, without binary rounding.
#[test]
fn per_unit_of_230_v_is_exact() {
    for (per_unit, volts) in [
        ("0.45", "103.5"),
        ("0.80", "184"),
        ("0.85", "195.5"),
        ("1.09", "250.7"),
        ("1.10", "253"),
        ("1.11", "255.3"),
        ("1.14", "262.2"),
        ("1.15", "264.5"),
        ("1.19", "273.7"),
        ("1.25", "287.5"),
    ] {
        let amount = Dimension::Voltage.parse(&format!("{per_unit} pu")).unwrap();
        let at_230 = amount.at(&facts(80, "wide-window")).unwrap();
        assert_eq!(Dimension::Voltage.show(at_230), format!("{volts} V"), "{per_unit} pu");
    }
}
