//! What a record should have and this one lacks. Which of it an operator asks for differs; without it
//! nobody can say later which device was meant, or who measured what with what (common practice, no source).

use super::Work;
use crate::parts::{Missing, Test};
use settings_model::files::{Device, DeviceKind, Text};

pub(super) fn missing(work: &Work<'_>, tests: &[Test]) -> Vec<Missing> {
    let mut missing = Vec::new();
    let mut lacks = |is_missing: bool, device: Option<&str>, what: &str, mend: &str| {
        if is_missing {
            missing.push(Missing { what: what.to_owned(), device: device.map(str::to_owned), mend: mend.to_owned() });
        }
    };
    let supply = &work.site.supply;
    lacks(
        supply.connection_point.is_none(),
        None,
        "the number of the connection point",
        "`connection-point` under `supply` in the site's file",
    );
    for (name, device) in work.site.devices.iter() {
        for (what, said, key) in particulars(device) {
            lacks(said.is_none(), Some(name), what, &format!("`{key}` of the device in the site's file"));
        }
        let left = device.as_left.as_ref();
        lacks(left.is_some_and(|left| left.date.is_none()), Some(name), "the day on which it was left so", "`date` under `as-left`");
        lacks(left.is_some_and(|left| left.role.is_none()), Some(name), "the role of who left it so", "`role` under `as-left`");
        if device.kind == DeviceKind::Inverter && work.file.is_some() {
            let papers = work.file.and_then(|file| file.papers(name));
            let number = papers.and_then(|papers| papers.certificate.as_ref());
            let expires = papers.and_then(|papers| papers.certificate_expires.as_ref());
            lacks(number.is_none(), Some(name), "the number of its certificate", "`certificate` under `devices` in the commissioning file");
            lacks(
                expires.is_none(),
                Some(name),
                "the day on which its certificate ends",
                "`certificate-expires` under `devices` in the commissioning file",
            );
        }
    }
    let Some(file) = work.file else {
        lacks(
            true,
            None,
            "who did the work, with what, and what tests came to",
            "a commissioning file, given as `--commissioning`; `asleft test-sheet SITE --format commissioning` writes one to fill in",
        );
        return missing;
    };
    lacks(file.work.licence.is_none(), None, "the licence number of who did the work", "`licence` under `work` in the commissioning file");
    lacks(
        file.work.certificate.is_none(),
        None,
        "the number of the certificate for the work",
        "`certificate` under `work` in the commissioning file",
    );
    for (name, instrument) in &file.instruments.0 {
        let is_used = tests.iter().any(|test| test.instrument.as_ref() == Some(&name.value));
        let about = |what: &str| format!("{what} of {}, {}", name.value, instrument.what);
        lacks(
            is_used && instrument.serial.is_none(),
            None,
            &about("the serial number"),
            "`serial` of the instrument in the commissioning file",
        );
        let undated = instrument.calibrated.is_none();
        lacks(is_used && undated, None, &about("the day of calibration"), "`calibrated` of the instrument in the commissioning file");
    }
    missing
}

fn particulars<'d>(device: &'d Device<'_>) -> [(&'static str, Option<&'d Text<'d>>, &'static str); 3] {
    [
        ("its model", device.model.as_ref(), "model"),
        ("its serial number", device.serial.as_ref(), "serial"),
        ("its firmware", device.firmware.as_ref(), "firmware"),
    ]
}
