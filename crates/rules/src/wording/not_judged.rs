//! What a site states and nobody judged, in words.

use super::missing::by_function;
use crate::assess::{Assessment, NotJudged, WhyNotJudged};
use crate::phrase::under;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::finding::{Finding, Outcome};
use settings_model::places::Places;

/// A device that nobody asks anything of proves nothing; a value that nobody asks for is named.
pub(super) fn finding(of: &NotJudged, assessment: &Assessment<'_>, site: &dyn Places) -> Option<Finding> {
    Some(match &of.why {
        // each has its own note
        WhyNotJudged::ActsBeside(_) => return None,
        WhyNotJudged::Cables(names) => of_cables(names, site),
        WhyNotJudged::NothingIsAsked => nothing_is_asked(of, assessment, site),
        WhyNotJudged::NobodyAsksFor(settings) => {
            let hint = match of.kind {
                Equipment::Installation => {
                    "name the standard of installation under `requirements`, or ask the network operator for its limit"
                }
                _ => "ask the network operator whether the value matters here; a requirement that speaks of it belongs in the overlay",
            };
            left_over(of, settings, ["no requirement asks for it", "no requirement asks for them"], site).hint(hint)
        }
        WhyNotJudged::MayHaveToAct(settings) => {
            let hint = "compare it with your copy of the standard. Only if that asks for the function: enable it";
            let why = [
                "it does not act, and the table that says whether it must is not in the profile",
                "they do not act, and the tables that say whether they must are not in the profile",
            ];
            Finding { outcome: Outcome::NotProven, ..left_over(of, settings, why, site).hint(hint) }
        }
        WhyNotJudged::NotSeen(settings) => {
            let first = settings.first().map(ToString::to_string).unwrap_or_default();
            let hint = format!("compare it with your copy of the standard; `asleft explain {first}` says which table");
            left_over(of, settings, ["its table is not in the profile", "their tables are not in the profile"], site).hint(hint)
        }
    })
}

fn of_cables(names: &[String], site: &dyn Places) -> Finding {
    let (path, cables) = match names {
        [only] => (vec!["cables", only.as_str()], "cable"),
        _ => (vec!["cables"], "cables"),
    };
    let headline = format!("not judged: no voltage rise is held against a limit along the {cables} {}", names.join(", "));
    let hint = "name under `feeds` of each cable the inverters at its end; `asleft rise SITE` says what else is missing";
    Finding::new(Outcome::Remark, "not-judged", site.place(&path), headline).hint(hint)
}

fn nothing_is_asked(of: &NotJudged, assessment: &Assessment<'_>, site: &dyn Places) -> Finding {
    let name = of.device.as_str();
    let what = match of.kind {
        Equipment::Inverter => "an inverter",
        Equipment::GridProtectionRelay => "a grid protection relay",
        Equipment::Installation => "an installation",
    };
    let headline = format!("{name}: nothing is asked of {what} here, so nothing of it was judged");
    let mut finding = Finding::new(Outcome::NotProven, "nothing-asked", site.place(&["devices", name]), headline);
    finding.setting = Some(name.to_owned());
    let device = assessment.devices.iter().find(|device| device.name == name);
    if let Some(device) = device {
        finding.notes.push(format!("requirements here: {}", under(&device.book.rulebook)));
        finding.folded = by_function(device.settings.iter().map(|(setting, _)| setting));
    }
    finding.hint("check `kind` of the device; if that is right, ask the network operator what it has to hold, and add it to the overlay")
}

fn left_over(of: &NotJudged, settings: &[SettingId], [of_one, of_all]: [&str; 2], site: &dyn Places) -> Finding {
    let name = of.device.as_str();
    let block: &[&str] = match of.kind {
        Equipment::Installation => &["installation"],
        _ => &["devices", name, "as-left", "settings"],
    };
    let (place, setting, headline) = match settings {
        [only] => {
            let path: Vec<&str> = block.iter().copied().chain([only.function().key, only.parameter().key]).collect();
            let place = if site.has(&path) { site.place(&path) } else { site.place(block) };
            (place, format!("{name}/{only}"), format!("{name}: {}: not judged: {of_one}", only.title()))
        }
        _ => (site.place(block), name.to_owned(), format!("{name}: {} stated values are not judged: {of_all}", settings.len())),
    };
    let mut finding = Finding::new(Outcome::Remark, "not-judged", place, headline);
    finding.setting = Some(setting);
    if settings.len() > 1 {
        finding.folded = by_function(settings.iter().copied());
    }
    finding
}
