//! What a site's file states of itself and cannot be so, or not together: dates out of their order, a nominal
//! voltage that is not the standard's, export below zero, new work with a device of a superseded edition.

use super::Note;
use jiff::civil::Date;
use settings_model::catalogue::SettingId;
use settings_model::cells::Condition;
use settings_model::claim::LayerKind;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Day, Device, Export, FactWord, Holding, SiteFile};
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
use settings_model::requirement::Rulebook;

/// Everything about the site as a whole.
pub(super) fn of_site(site: &SiteFile<'_>, rulebook: &Rulebook, today: Date) -> Vec<Note> {
    let mut notes = dates(site, today);
    notes.extend(nominal(site, rulebook));
    notes.extend(site.export.as_ref().into_iter().flat_map(of_export));
    notes
}

pub(super) fn not_proven(name: &'static str, path: &[&str], headline: String, hint: impl Into<String>) -> Note {
    let path = path.iter().map(|step| (*step).to_owned()).collect();
    Note { outcome: Outcome::NotProven, name, path, headline, hint: Some(hint.into()), lines: None }
}

/// A day, of what it is, and where the file says it.
struct Stated<'s> {
    what: &'static str,
    place: Place<'s>,
    day: Date,
}

/// Where a day stands.
enum Place<'s> {
    /// Among the dates of the site.
    Dates(&'static str),
    /// With what a device, by its name, was found or left with.
    Moment(&'s str, &'static str),
    /// With a device.
    Installed(&'s str),
}

impl Stated<'_> {
    /// Of what it is, with the device's name.
    fn what(&self) -> String {
        match self.place {
            Place::Dates(_) => self.what.to_owned(),
            Place::Moment(name, _) | Place::Installed(name) => format!("{name}: {}", self.what),
        }
    }

    fn path(&self) -> Vec<&str> {
        match self.place {
            Place::Dates(key) => vec!["dates", key],
            Place::Moment(name, moment) => vec!["devices", name, moment, "date"],
            Place::Installed(name) => vec!["devices", name, "installed"],
        }
    }
}

/// What has to come first, and what has to come after it: each pair that stands the other way round.
fn dates(site: &SiteFile<'_>, today: Date) -> Vec<Note> {
    let dates = &site.dates;
    let of_site = |what, key, day: Option<Day>| day.map(|day| Stated { what, place: Place::Dates(key), day: day.0 });
    let applied = of_site("the application", "applied", dates.applied);
    let approved = of_site("the approval", "approved", dates.approved);
    let installed = of_site("the installation", "installed", dates.installed);
    let altered = of_site("the last alteration", "altered", dates.altered);
    // what stood there before the work was applied for was installed before
    let kind = site.work.as_ref().and_then(|work| work.kind).map(FactWord::word);
    let is_first = kind.is_none_or(|kind| kind == "new");
    let mut pairs: Vec<(&Option<Stated<'_>>, &Option<Stated<'_>>)> = vec![(&applied, &approved), (&installed, &altered)];
    if is_first {
        pairs.extend([(&approved, &installed), (&applied, &installed)]);
    }
    let mut notes: Vec<Note> = Vec::new();
    for (before, after) in pairs.into_iter().filter_map(|(before, after)| Some((before.as_ref()?, after.as_ref()?))) {
        if after.day < before.day {
            notes.push(out_of_order(before, after));
        }
    }
    // what is set up first is left as it is only after it was asked for
    let asked = [&approved, &applied].map(|asked| asked.as_ref().filter(|_| is_first));
    for (name, device) in site.devices.iter() {
        notes.extend(of_device(name, device, (installed.as_ref(), asked, kind == Some("new")), today));
    }
    if let Some(date) = [&approved, &applied].into_iter().flatten().find(|date| date.day > today) {
        notes.push(to_come(date, today));
    }
    let is_recorded = site.devices.iter().any(|(_, device)| device.as_left.is_some());
    let done = [&installed, &altered].into_iter().flatten().filter(|date| is_recorded && date.day > today);
    notes.extend(done.map(|date| to_come(date, today)));
    notes
}

/// The days of one device, against those of its site: its installation, what was asked before it, and whether all of
/// the work is said to be new.
fn of_device<'s>(
    name: &'s str,
    device: &'s Device<'_>,
    (site_installed, asked, is_new): (Option<&Stated<'_>>, [Option<&Stated<'_>>; 2], bool),
    today: Date,
) -> Vec<Note> {
    let moment =
        |what, key, holding: &Option<Holding<'_>>| Some(Stated { what, place: Place::Moment(name, key), day: holding.as_ref()?.date?.0 });
    let found = moment("what it was found with", "as-found", &device.as_found);
    let left = moment("what it was left with", "as-left", &device.as_left);
    let own = device.installed.map(|day| Stated { what: "its installation", place: Place::Installed(name), day: day.0 });
    let installed = own.as_ref().or(site_installed);
    let after_asked = match &own {
        Some(_) if is_new => own.as_ref(),
        None if site_installed.is_none() => left.as_ref(),
        _ => None,
    };
    let of_work = asked.map(|asked| (asked, after_asked));
    let mut notes = Vec::new();
    for (before, after) in [(found.as_ref(), left.as_ref()), (installed, left.as_ref())].into_iter().chain(of_work) {
        if let (Some(before), Some(after)) = (before, after)
            && after.day < before.day
        {
            notes.push(out_of_order(before, after));
        }
    }
    notes.extend([found, left].iter().flatten().filter(|date| date.day > today).map(|date| to_come(date, today)));
    notes
}

fn out_of_order(before: &Stated<'_>, after: &Stated<'_>) -> Note {
    let headline = format!("{} is dated {}, before {}, {}", after.what(), after.day, before.what(), before.day);
    let hint = "compare both days with the papers: they decide which version of a requirement governs";
    not_proven("dates-out-of-order", &after.path(), headline, hint)
}

fn to_come(date: &Stated<'_>, today: Date) -> Note {
    let headline = format!("{} is dated {}, which is still to come on {today}", date.what(), date.day);
    not_proven("date-in-future", &date.path(), headline, "write the day on which it was, or ask for a later day with `--as-of`")
}

/// How far a supply's nominal voltage may lie from its standard's, either way, in per cent. Common practice, no
/// source: 220 V and 240 V are 230 V supplies, 400 V is one from line to line.
const NEAR: i64 = 10;

fn nominal(site: &SiteFile<'_>, rulebook: &Rulebook) -> Option<Note> {
    let (stated, own) = (site.supply.nominal?.0, rulebook.nominal?);
    let off = (stated - own).abs() * Exact::HUNDRED;
    if off <= own * Exact::from(NEAR) {
        return None;
    }
    let show = |volts: Exact| Dimension::Voltage.show(volts);
    let headline = format!("the supply is stated at {} from line to neutral; its standard is for {}", show(stated), show(own));
    // 1.732 times the voltage to neutral is that between lines
    let between_lines = (stated * Exact::new(1000, 0) - own * Exact::new(1732, 0)).abs() <= own * Exact::new(20, 0);
    let hint = if between_lines {
        format!("{} is between lines: write the voltage from line to neutral, `nominal: {} line-neutral`", show(stated), show(own))
    } else {
        "measure the voltage from line to neutral, and ask the network operator for the nominal one: every limit per unit counts from it"
            .to_owned()
    };
    Some(not_proven("nominal-voltage", &["supply", "nominal"], headline, hint))
}

fn of_export(export: &Export<'_>) -> Option<Note> {
    let approved = export.approved?.number;
    let show = |watts: Exact| Dimension::ActivePower.show(watts);
    let path = ["export", "approved"];
    if export.is_none() && approved > Exact::ZERO {
        let headline = format!("the kind of export is `none`, and {} stands beside it as approved; judged as no export", show(approved));
        let hint = "compare it with the approval: write `approved: 0 kW`, or the kind that the operator approved";
        let note = not_proven("no-export-and-a-figure", &path, headline, hint);
        return Some(Note { outcome: Outcome::Remark, ..note });
    }
    None
}

/// A device of an edition that is no longer the standard's, in new work.
pub(super) fn edition(name: &str, device: &Device<'_>, site: &SiteFile<'_>, rulebook: &Rulebook, facts: &Facts) -> Option<Note> {
    let certified = device.certified.as_ref()?;
    let (standard, editions) = &rulebook.standard;
    let is_current = *certified.standard == **standard && editions.contains(&certified.edition);
    if is_current || device.stands_under.is_some() {
        return None;
    }
    let work = site.work.as_ref();
    let kind = work.and_then(|work| work.kind).map(FactWord::word);
    let is_exempted = work.is_some_and(|work| work.exemption.is_some());
    let is_new = matches!(kind, Some("new" | "addition"));
    let is_spoken_of = speaks_of_editions(rulebook, facts);
    if is_exempted || !(is_new || kind.is_none() && !is_spoken_of) {
        return None;
    }
    let base = rulebook.layers.iter().find(|layer| layer.kind == LayerKind::Standard);
    let title = base.map_or(standard.as_str(), |layer| layer.title.as_str());
    let headline = format!("{name}: certified to {} {}; the site has to meet {title}", &*certified.standard, certified.edition.key());
    let path = ["devices", name, "certified"];
    let remark = |hint| Note { outcome: Outcome::Remark, ..not_proven("superseded-edition", &path, headline.clone(), hint) };
    Some(if is_spoken_of {
        remark("ask whether the network operator accepts such a device in new work: its requirements speak of other editions")
    } else if is_new {
        let hint = "new work needs a device certified to the edition in force: ask the network operator in writing, and state its `exemption` under `work`; for one that was there before, `stands-under`";
        not_proven("superseded-edition", &path, headline, hint)
    } else {
        remark(
            "say under `work` what was done: new work needs a device certified to the edition in force; for one that was there before, `stands-under`",
        )
    })
}

/// Whether the layers say what is asked of devices of other editions.
fn speaks_of_editions(rulebook: &Rulebook, facts: &Facts) -> bool {
    let of_edition = |condition: &Condition| condition.fact == FactId::CertifiedYear;
    SettingId::all()
        .any(|setting| rulebook.cases_met(setting, facts).into_iter().flatten().any(|(_, conditions)| conditions.iter().any(of_edition)))
}
