//! A commissioning file to fill in, with every test of the site.
//!
//! What nobody but the installer can know stands behind `#`, so that a file that was not filled in says
//! nothing, and nothing is taken for done.

use super::figure;
use super::people::is_by_type_test;
use record::making::TestSheet;
use record::{Figure, Test};
use std::io::{self, Write};

const HEAD: &str = "\
# Complete each line behind a `#` that applies, and take its `#` away. What stays behind a `#`
# counts as not done, or missing. `asleft schema commissioning` says what else can be told.
kind: commissioning
";

const WORK: &str = "\
work:
  date: # YYYY-MM-DD, the day on which the work ended
  role: licensed electrician
  # licence: EL-…
  # accreditation: …
  # certificate: … # the number of the certificate that was issued for the work
";

const EVIDENCE: &str = "\
# instruments:
#   meter-1:
#     what: multifunction tester
#     serial: …
#     calibrated: YYYY-MM-DD
#     calibration-ends: YYYY-MM-DD
#     accuracy: { time: 20 ms, voltage: 0.5 V, frequency: 10 mHz, power: 50 W } # as its manual says
# to-register:
#   - { what: entry of the installation, to: …, by: YYYY-MM-DD }
";

/// Writes the file.
pub fn write(out: &mut dyn Write, sheet: &TestSheet) -> io::Result<()> {
    write!(out, "{HEAD}site: {}\n{WORK}", as_yaml(&sheet.site))?;
    let mut devices: Vec<&str> = Vec::new();
    for test in &sheet.tests {
        if !devices.contains(&test.device.as_str()) {
            devices.push(&test.device);
        }
    }
    writeln!(out, "# devices:")?;
    for device in devices {
        writeln!(out, "#   {device}: {{ certificate: …, certificate-expires: YYYY-MM-DD }}")?;
    }
    write!(out, "{EVIDENCE}")?;
    writeln!(out, "# photos: # by the names that the site's file uses; with the `sha256` of each where that is known")?;
    let example = ["1".to_owned()];
    for photo in if sheet.photos.is_empty() { &example[..] } else { &sheet.photos[..] } {
        writeln!(out, "#   {photo}: {{ file: … }}")?;
    }
    writeln!(out, "# tests: # what was measured; or `not-done: why` and `retry-by: YYYY-MM-DD`")?;
    for test in sheet.tests.iter().filter(|test| !is_by_type_test(test)) {
        write_test(out, test)?;
    }
    Ok(())
}

/// Text that any reader takes as text.
fn as_yaml(text: &str) -> String {
    let is_plain = text.starts_with(|c: char| c.is_ascii_alphabetic()) && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if is_plain { text.to_owned() } else { serde_json::Value::from(text).to_string() }
}

fn write_test(out: &mut dyn Write, test: &Test) -> io::Result<()> {
    writeln!(out, "#   {}: # {}", test.name, test.title)?;
    for expected in &test.expected {
        writeln!(out, "#     {}: … # {} expected, {}", key(expected.figure), figure(expected.figure), expected.says)?;
        if expected.figure == Figure::Ramp {
            writeln!(out, "#     watched-for: …")?;
        }
    }
    writeln!(out, "#     # instrument: meter-1 # without one, times are taken as timed by hand")
}

fn key(figure: Figure) -> &'static str {
    match figure {
        Figure::Time => "time",
        Figure::Waited => "waited",
        Figure::Ramp => "ramp",
        Figure::Export => "export",
        Figure::PickUp => "pick-up",
        Figure::DropOff => "drop-off",
    }
}
