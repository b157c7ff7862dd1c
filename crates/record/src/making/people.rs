//! Who did the work, with what, and what is still to be told to whom.

use super::Work;
use crate::parts::{Instrument, Registration, Worker};
use settings_model::files::Day;
use settings_model::finding::{Finding, Outcome};

fn day(day: Option<Day>) -> Option<String> {
    day.map(|day| day.0.to_string())
}

pub(super) fn worker(work: &Work<'_>) -> Option<Worker> {
    let said = &work.file?.work;
    Some(Worker {
        role: said.role.clone(),
        date: said.date.value.0.to_string(),
        licence: said.licence.clone(),
        accreditation: said.accreditation.clone(),
        certificate: said.certificate.clone(),
    })
}

pub(super) fn instruments(work: &Work<'_>) -> Vec<Instrument> {
    let listed = work.file.into_iter().flat_map(|file| &file.instruments.0);
    listed
        .map(|(name, instrument)| Instrument {
            name: name.value.clone(),
            what: instrument.what.clone(),
            serial: instrument.serial.clone(),
            calibrated: day(instrument.calibrated.as_ref().map(|day| day.value)),
            calibration_ends: day(instrument.calibration_ends.as_ref().map(|day| day.value)),
        })
        .collect()
}

pub(super) fn registrations(work: &Work<'_>) -> Vec<Registration> {
    let listed = work.file.into_iter().flat_map(|file| &file.to_register);
    listed
        .map(|entry| Registration {
            what: entry.what.clone(),
            to: entry.to.clone(),
            by: day(entry.by),
            done: day(entry.done),
            reference: entry.reference.clone(),
        })
        .collect()
}

/// Papers that no longer held when the work was done.
pub(super) fn findings(work: &Work<'_>) -> Vec<Finding> {
    approval_lapsed(work).into_iter().chain(certificates_ended(work)).collect()
}

/// A connection approval that had lapsed by the installation, or by the end of the work.
fn approval_lapsed(work: &Work<'_>) -> Option<Finding> {
    let until = work.site.dates.approved_until?.0;
    let installed = work.site.dates.installed.map(|day| day.0).or_else(|| Some(work.file?.work.date.value.0))?;
    if installed <= until {
        return None;
    }
    let place = work.root.follow(["dates", "approved-until"]).0.place;
    let says = format!("the connection approval held until {until}, and it was installed on {installed}");
    let finding = Finding::new(Outcome::NotProven, "approval-lapsed", place, says);
    Some(finding.hint("ask the network operator whether the approval still holds, or for a new one, before it is left connected"))
}

/// Certificates that had ended when the device was installed.
fn certificates_ended(work: &Work<'_>) -> Vec<Finding> {
    let Some(file) = work.file else { return Vec::new() };
    let of_site = work.site.dates.installed.map_or(file.work.date.value.0, |day| day.0);
    let ended = file.devices.0.iter().filter_map(|(name, papers)| {
        let expires = papers.certificate_expires.as_ref()?;
        let installed = work.site.devices.get(&name.value).and_then(|device| device.installed).map_or(of_site, |day| day.0);
        (expires.value.0 < installed).then(|| {
            let says = format!("{}: its certificate ended on {}, and it was installed on {installed}", name.value, expires.value.0);
            let finding = Finding::new(Outcome::NotProven, "certificate-ended", expires.place, says);
            finding.hint("look for a certificate that held on that day; without one the device is not shown to be certified")
        })
    });
    ended.collect()
}
