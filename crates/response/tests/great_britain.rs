//! The answer of a device set as EREC G98 and G99 ask, by values worked by hand: from 50.4 Hz a droop of 10 %
//! (both recalled) is 20 % of rated power for each hertz, which is arithmetic.

use response::characteristic::{Circumstances, Response};
use settings_model::catalogue::SettingId;
use settings_model::curve::{Reading, value_at};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::library::{Library, Profile, Request};
use settings_model::source::Sources;
use std::path::Path;

#[test]
fn the_fall_at_high_frequency_is_a_fifth_of_rated_power_for_each_hertz() {
    for (standard, region) in [("erec-g98/2018-amd7", "great-britain"), ("erec-g99/2018-amd9", "type-a-low-voltage")] {
        let path = format!("standards/{standard}.yaml");
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles").join(&path);
        let mut library = Library::default();
        library.add(Profile { name: path.clone(), path, text: std::fs::read_to_string(file).unwrap().into(), shipped: true });
        let request = Request { standard: Some(standard), region, ..Request::default() };
        let [inverter, ..] = library.rulebooks(request, &Facts::default(), &mut Sources::default()).unwrap();
        let requirement = inverter.resolve(&Facts::default());
        let asked = |setting: SettingId| requirement.get(setting)?.entry.require.as_ref();
        let circumstances = Circumstances { facts: &Facts::default(), nominal_frequency: inverter.nominal_frequency };
        let points = Response::named("over-frequency-response").unwrap().points(asked, circumstances).unwrap();
        for (hertz, percent) in [("50.40", 100), ("50.45", 99), ("50.70", 94), ("50.80", 92), ("51.15", 85), ("52.00", 68)] {
            let Some(Reading::Level(level)) = value_at(&points, Exact::parse(hertz).unwrap()) else { panic!("{hertz}") };
            assert_eq!(level, Exact::from(percent), "{standard} at {hertz} Hz");
        }
    }
}
