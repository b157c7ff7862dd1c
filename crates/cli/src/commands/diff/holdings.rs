//! What devices hold: as found against as left, or one device against another.

use crate::commands::operand::{Moment, OperandError, SiteOperand};
use crate::render::markdown::markdown;
use crate::render::{self, table};
use crate::report::diff::{DevicesReport, DiffReport, DifferenceReport, RegionsReport};
use replay::held::{DeviceAtMoment, devices, site};
use rules::assess::Assessor;
use rules::compare::holdings::{By, Difference, Side, differences, standings};
use rules::compare::words::in_words;
use rules::judge;
use rules::provenance::Verdict;
use settings_model::catalogue::SettingId;
use settings_model::claim::Evidence;
use settings_model::facts::Facts;
use settings_model::files::{Holding, SiteFile};
use settings_model::settings::Known;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// What one device held at one moment, and how each value stands to what is required; `None` where
/// that is not known.
struct Holds<'s> {
    title: String,
    name: &'s str,
    holding: &'s Holding<'s>,
    facts: Facts,
    standings: Option<BTreeMap<SettingId, Verdict>>,
}

/// Each device of a site, as found against as left.
pub fn before_and_after(operand: &SiteOperand, assessor: &mut Assessor) -> Result<DiffReport, OperandError> {
    if let Some(moment) = operand.moment {
        return Err(OperandError::Words(format!(
            "`:{}` needs another to be compared with; without it as-found is compared with as-left",
            moment.word()
        )));
    }
    let site = site(operand)?;
    let mut at = |moment| Ok::<_, OperandError>(recorded(devices(operand, &site, moment, assessor)?, moment));
    let (found, left) = (at(Moment::AsFound)?, at(Moment::AsLeft)?);
    let both = found.iter().filter_map(|found| Some((found, left.iter().find(|left| left.name == found.name)?)));
    let devices: Vec<DevicesReport> = both.map(|(found, left)| compared(found, left)).collect();
    if devices.is_empty() {
        return Err(OperandError::Words(format!(
            "{}: no device has both an `as-found` and an `as-left`; name a second file to compare with",
            site.site
        )));
    }
    Ok(report(format!("{}, as found", site.title()), format!("{}, as left", site.title()), site.training_notice(), devices))
}

/// The devices of one site against those of another; a single one of each whatever their names.
pub fn between(old: &SiteOperand, new: &SiteOperand, assessor: &mut Assessor) -> Result<DiffReport, OperandError> {
    let (old_site, new_site) = (site(old)?, site(new)?);
    let (old_all, new_all) = (all_held(old, &old_site, assessor)?, all_held(new, &new_site, assessor)?);
    let title = |all: &[Holds<'_>], site: &SiteFile<'_>| if let [one] = all { one.title.clone() } else { site.title().into_owned() };
    let titles = [title(&old_all, &old_site), title(&new_all, &new_site)];
    let devices = match (&old_all[..], &new_all[..]) {
        ([one], [other]) => vec![compared(one, other)],
        _ => by_name(&old_all, &new_all)?,
    };
    let [old, new] = titles;
    Ok(report(old, new, old_site.training_notice().or(new_site.training_notice()), devices))
}

fn by_name(old: &[Holds<'_>], new: &[Holds<'_>]) -> Result<Vec<DevicesReport>, OperandError> {
    let lone = |some: &[Holds<'_>], others: &[Holds<'_>]| -> Vec<String> {
        some.iter().filter(|held| others.iter().all(|other| other.name != held.name)).map(|held| held.title.clone()).collect()
    };
    let lone = [lone(old, new), lone(new, old)].concat();
    if !lone.is_empty() {
        let says = format!("no counterpart of the same name for {}", lone.join(", "));
        return Err(OperandError::Words(format!("{says}; name one device of each, as in `FILE:inverter-1`")));
    }
    let paired = old.iter().filter_map(|one| Some(compared(one, new.iter().find(|other| other.name == one.name)?)));
    Ok(paired.collect())
}

fn report(old: String, new: String, training: Option<&'static str>, devices: Vec<DevicesReport>) -> DiffReport {
    let same = devices.iter().all(DevicesReport::is_same);
    DiffReport { training, old, new, same, requirements: None, settings: Some(devices) }
}

fn all_held<'s>(operand: &SiteOperand, site: &'s SiteFile<'s>, assessor: &mut Assessor) -> Result<Vec<Holds<'s>>, OperandError> {
    let moment = operand.moment.unwrap_or(Moment::AsLeft);
    let held = recorded(devices(operand, site, moment, assessor)?, moment);
    if held.is_empty() {
        Err(OperandError::Words(format!("{}: nothing is recorded under `{}`", site.site, moment.word())))
    } else {
        Ok(held)
    }
}

/// The devices of which something is recorded, judged by what is asked of them today.
fn recorded<'s>(devices: Vec<DeviceAtMoment<'s>>, moment: Moment) -> Vec<Holds<'s>> {
    let words = moment.word().replace('-', " ");
    let holds = |held: DeviceAtMoment<'s>| {
        let holding = held.holding?;
        let judged = |asked| judge::DeviceSettings { settings: &holding.settings, evidence: holding.known_by, region_stands: false, asked };
        let standings = held.asked.as_ref().map(|(_, counted)| standings(judged(&counted.requirement), &held.facts));
        Some(Holds { title: format!("{}, {words}", held.title), name: held.name, holding, facts: held.facts, standings })
    };
    devices.into_iter().filter_map(holds).collect()
}

fn compared(old: &Holds<'_>, new: &Holds<'_>) -> DevicesReport {
    let (old_settings, new_settings) = (&old.holding.settings, &new.holding.settings);
    let found = differences(Side { settings: old_settings, facts: &old.facts }, Side { settings: new_settings, facts: &new.facts });
    let stated = SettingId::all().filter(|id| old_settings.get(*id).is_some() || new_settings.get(*id).is_some()).count();
    DevicesReport {
        old: old.title.clone(),
        new: new.title.clone(),
        region_selected: regions(old.holding, new.holding),
        stated,
        judged: old.standings.is_some() && new.standings.is_some(),
        differences: found.iter().map(|difference| difference_report(difference, old, new)).collect(),
    }
}

/// The regions selected, where they differ.
fn regions(old: &Holding<'_>, new: &Holding<'_>) -> Option<RegionsReport> {
    let [old, new] = [old, new].map(|holding| holding.region_selected.as_ref().map(ToString::to_string));
    (old != new).then_some(RegionsReport { old, new })
}

fn difference_report(difference: &Difference<'_>, old: &Holds<'_>, new: &Holds<'_>) -> DifferenceReport {
    let setting = difference.setting;
    let shown = |known: Option<&Known>| known.map(|known| known.value.show(setting));
    let known_by = |known: Option<&Known>, holds: &Holds<'_>| known?.evidence.or(holds.holding.known_by).map(Evidence::word);
    let of = |holds: &Holds<'_>| holds.standings.as_ref().and_then(|standings| standings.get(&setting).copied());
    DifferenceReport {
        setting: setting.to_string(),
        title: setting.title(),
        old: shown(difference.old),
        new: shown(difference.new),
        difference: in_words(setting, difference.by, difference.old.is_some()),
        response_equal: difference.by == By::EntriesOnly,
        old_known_by: known_by(difference.old, old),
        new_known_by: known_by(difference.new, new),
        standing: standing(of(old), of(new)),
    }
}

fn standing(old: Option<Verdict>, new: Option<Verdict>) -> Option<&'static str> {
    use Verdict::{Complies, CouldNotTell, DoesNotComply, NotProven};
    Some(match (old, new) {
        (None, None) => return None,
        (Some(DoesNotComply), Some(Complies)) => "corrected",
        (Some(DoesNotComply), Some(DoesNotComply)) => "still does not comply",
        (None, Some(DoesNotComply)) => "does not comply",
        (_, Some(DoesNotComply)) => "no longer complies",
        (_, Some(NotProven | CouldNotTell)) => "not proven",
        (_, Some(Complies)) => "complies",
        (Some(_), None) => "not stated any more",
    })
}

/// For a terminal.
pub fn write_text<'r>(out: &mut dyn Write, devices: impl Iterator<Item = &'r DevicesReport>) -> io::Result<()> {
    for device in devices {
        let head = format!("{} against {}", device.new, device.old);
        writeln!(out, "{}", render::wrapped(&head, render::width(), 2))?;
        if let Some(regions) = &device.region_selected {
            writeln!(out, "  region selected: {}", regions.in_words())?;
        }
        if device.differences.is_empty() {
            writeln!(out, "  {} settings stated, none differs\n", device.stated)?;
            continue;
        }
        writeln!(out, "  {} of {} settings differ\n", device.differences.len(), device.stated)?;
        writeln!(out, "{}\n", table_of(device))?;
    }
    Ok(())
}

fn table_of(device: &DevicesReport) -> String {
    let mut table = table::table(["Setting", "Was", "Is", "Difference", "By what is required"], render::width());
    let mut titles: Vec<&str> = Vec::new();
    let names: Vec<String> = device.differences.iter().map(|d| d.title.rsplit_once(": ").map_or("", |(_, name)| name).to_owned()).collect();
    table::whole(&mut table, 0, names.iter().map(String::as_str));
    for (difference, name) in device.differences.iter().zip(&names) {
        let function = difference.title.strip_suffix(&format!(": {name}")).unwrap_or_default();
        let name = format!("{}{name}", table::INDENT);
        let starts = titles.last() != Some(&function);
        if starts {
            titles.push(function);
        }
        let value = |value: &Option<String>| value.as_ref().map_or_else(|| "not stated".to_owned(), |value| value.replace(", ", "\n"));
        let standing = match (device.judged, difference.standing) {
            (false, _) => "not known",
            (true, None) => "not asked",
            (true, Some(standing)) => standing,
        };
        let cells = [
            if starts { table::group_start(&name) } else { name },
            value(&difference.old),
            value(&difference.new),
            difference.difference.clone(),
            standing.to_owned(),
        ];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    table::lines(&table, &titles)
}

/// For a page or a ticket.
pub fn write_markdown<'r>(out: &mut dyn Write, devices: impl Iterator<Item = &'r DevicesReport>) -> io::Result<()> {
    for device in devices {
        writeln!(out, "## {} against {}\n", markdown(&device.new), markdown(&device.old))?;
        if let Some(regions) = &device.region_selected {
            writeln!(out, "Region selected: {}.\n", markdown(&regions.in_words()))?;
        }
        writeln!(out, "{} of {} settings differ.\n", device.differences.len(), device.stated)?;
        if device.differences.is_empty() {
            continue;
        }
        writeln!(out, "| Setting | Was | Is | Difference | By what is required |\n| --- | --- | --- | --- | --- |")?;
        for one in &device.differences {
            let value = |value: &Option<String>| markdown(value.as_deref().unwrap_or("not stated"));
            let standing = if device.judged { one.standing.unwrap_or("not asked") } else { "not known" };
            writeln!(out, "| {} | {} | {} | {} | {standing} |", markdown(&one.title), value(&one.old), value(&one.new), one.difference)?;
        }
        writeln!(out)?;
    }
    Ok(())
}
