//! One cause behind many faults: another region, a superseded edition or issue, factory defaults,
//! voltages read between lines, signs turned round. Such a cause is one finding, with the faults that
//! it explains folded under it.

use super::{Assessor, DeviceResult, RegionStands, of_version, regions_of};
use crate::candidate::Candidate;
use crate::judge::UnmetKind;
use crate::outcome::Cause;
use settings_model::catalogue::{HeldBy, SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::files::SiteFile;
use settings_model::labels::Label;
use settings_model::quantity::Dimension;
use settings_model::value::Value;
use std::rc::Rc;

/// Below this many faults there is nothing to explain.
const FEWEST: usize = 2;

impl Assessor {
    /// The cause behind a device's faults, if one explains most of them.
    pub(crate) fn cause(&mut self, site: &SiteFile<'_>, device: &DeviceResult<'_>) -> Option<Cause> {
        let failing = failing(device);
        signs_turned(device, &failing)
            .or_else(|| read_between_lines(device, &failing))
            .or_else(|| of_another_nominal(device, &failing))
            .or_else(|| {
                // what nobody sets comes with no region that was selected
                let set: Vec<SettingId> = failing.iter().filter(|one| one.parameter().held_by != HeldBy::TypeTest).copied().collect();
                if set.len() < FEWEST { None } else { self.other_values(site, device, &set) }
            })
    }

    /// The values of another region, edition or issue.
    fn other_values(&mut self, site: &SiteFile<'_>, device: &DeviceResult<'_>, failing: &[SettingId]) -> Option<Cause> {
        let others = self.others(site, device);
        let explains = |candidate: &Candidate| -> Vec<SettingId> {
            let likeness = candidate.likeness(0, device.kind, &device.settings, &device.facts);
            failing.iter().copied().filter(|setting| likeness.agree.contains(setting)).collect()
        };
        // of those that explain equally much, the one that is recorded as selected, else the nearest to
        // what is required comes first
        let left = site.devices.get(device.name).and_then(|one| one.as_left.as_ref());
        let selected = left.and_then(|left| left.region_selected.as_deref());
        let mut best: Option<(&Candidate, Vec<SettingId>)> = None;
        for candidate in others.iter() {
            let explained = explains(candidate);
            let rank = |candidate: &Candidate, explained: &[SettingId]| (explained.len(), selected == Some(candidate.region.as_str()));
            if best.as_ref().is_none_or(|(other, most)| rank(candidate, &explained) > rank(other, most)) {
                best = Some((candidate, explained));
            }
        }
        let (candidate, mut explained) = best?;
        if explained.len() < FEWEST || explained.len() * 3 < failing.len() * 2 {
            return None;
        }
        // a stage that nobody asks for here, and that is asked for there
        let agree = candidate.likeness(0, device.kind, &device.settings, &device.facts).agree;
        let unasked = device.counted.unasked_stages.iter().filter(|state| device.settings.is_enabled(**state) && agree.contains(state));
        let stages: Vec<SettingId> = unasked.copied().collect();
        if candidate.overlay.is_none() && device.book.rulebook.layers.iter().any(|layer| layer.title == candidate.title) {
            // what only the network asks for, and is off or absent, is as the region alone leaves it
            explained.extend(
                failing
                    .iter()
                    .filter(|setting| !explained.contains(setting) && is_left_off(device, **setting))
                    .copied()
                    .collect::<Vec<_>>(),
            );
        }
        explained.extend(&stages);
        Some(says_whose(candidate, explained, failing.len() + stages.len(), device))
    }

    /// What values might be instead: the standard without the network's layers, other issues of the
    /// network, other regions, other editions; the nearest first.
    fn others(&mut self, site: &SiteFile<'_>, device: &DeviceResult<'_>) -> Rc<Vec<Candidate>> {
        let rulebook = &device.book.rulebook;
        let titles = rulebook.layers.iter().map(|layer| layer.title.as_str());
        let key: String = titles.chain(site.network.as_deref()).flat_map(|part| [part, "\n"]).collect();
        if let Some(others) = self.others.get(&key) {
            return others.clone();
        }
        let others = Rc::new(self.all_others(site, device));
        self.others.insert(key, others.clone());
        others
    }

    fn all_others(&mut self, site: &SiteFile<'_>, device: &DeviceResult<'_>) -> Vec<Candidate> {
        let rulebook = &device.book.rulebook;
        let standard = rulebook.base_key();
        let has_network = rulebook.layers.iter().any(|layer| layer.kind.is_of_a_network());
        let (own_region, other_regions): (Vec<_>, Vec<_>) =
            regions_of(&standard, self).into_iter().partition(|candidate| candidate.region == rulebook.region);
        let mut others: Vec<Candidate> = own_region.into_iter().filter(|_| has_network).collect();
        if let Some(network) = site.network.as_deref() {
            let governing = rulebook.layers.iter().filter(|l| l.key == network).map(|l| l.version.clone()).next();
            let versions: Vec<_> = self.library.versions(network).into_iter().rev().collect();
            let other = versions.into_iter().filter(|version| Some(version.to_string()) != governing);
            others.extend(other.filter_map(|version| of_version(network, &version, &rulebook.region, self)));
        }
        others.extend(other_regions);
        let editions = self.library.other_editions(&standard, &mut self.sources);
        others.extend(editions.iter().flat_map(|key| regions_of(key, self)));
        others
    }
}

fn says_whose(candidate: &Candidate, explains: Vec<SettingId>, failing: usize, device: &DeviceResult<'_>) -> Cause {
    let rulebook = &device.book.rulebook;
    let is_base_of_own = candidate.overlay.is_none() && rulebook.layers.iter().any(|layer| layer.title == candidate.title);
    let is_selected_region =
        device.region == RegionStands::OtherRegion && candidate.overlay.is_none() && candidate.region != rulebook.region;
    let altered = match failing - explains.len() {
        0 => String::new(),
        1 => ", and one value more was altered".to_owned(),
        more => format!(", and {more} values more were altered"),
    };
    let whose = if is_base_of_own {
        let network = rulebook.layers.iter().rfind(|l| l.kind.is_of_a_network()).map_or("the network", |l| l.title.as_str());
        format!("these are the values of {}, without what {network} asks", candidate.title)
    } else {
        format!("these are the values of {}", candidate.title)
    };
    let label = match device.region {
        RegionStands::Yes if candidate.region != rulebook.region => ", though the required region is recorded as selected",
        _ => "",
    };
    let name = match &candidate.overlay {
        Some(_) => "values-of-other-issue",
        None if is_base_of_own => "values-of-region-alone",
        None if candidate.standard != rulebook.base_key() => "values-of-other-edition",
        None => "values-of-other-region",
    };
    Cause {
        name,
        says: format!("{whose}{label}: {} settings differ from what is required{altered}", explains.len()),
        explains,
        is_selected_region,
        hint: match is_base_of_own {
            true => "enter what the network asks, as `asleft sheet SITE` lists it under ENTER, then read every value back".to_owned(),
            false => device.certificate.region_remedy(&rulebook.region_title),
        },
    }
}

/// Whether it is the state of a function that only the network asks for, and that does not act.
fn is_left_off(device: &DeviceResult<'_>, setting: SettingId) -> bool {
    let is_of_network_alone = device.counted.requirement.get(setting).is_some_and(|resolved| resolved.base.demands_nothing());
    setting.is_state() && is_of_network_alone && !device.settings.is_enabled(setting)
}

/// The settings that fail, ties left out: they are consequences.
fn failing(device: &DeviceResult<'_>) -> Vec<SettingId> {
    let own = device.faults.iter().filter(|f| f.kind == UnmetKind::Fails && !device.book.rulebook.is_tie(f.claim.why));
    let mut settings: Vec<SettingId> = own.map(|fault| fault.setting).collect();
    settings.dedup();
    settings
}

/// Which way the levels of a curve go on the device's display, where its label map says so.
fn shown_way(device: &DeviceResult<'_>, failing: &[SettingId]) -> Option<String> {
    let labels = &device.labels.as_ref()?.labels;
    let of_these = |label: &&Label| label.is_shown() && label.part().is_some_and(|of| failing.contains(&of.setting));
    labels.iter().filter(of_these).find_map(Label::way)
}

/// A curve whose levels all have the wrong sign.
fn signs_turned(device: &DeviceResult<'_>, failing: &[SettingId]) -> Option<Cause> {
    let turned = |setting: &&SettingId| {
        let required = device.counted.requirement.get(**setting).and_then(|r| r.entry.require.as_ref());
        let held = device.settings.get(**setting).map(|known| &known.value);
        let (Some(Value::Curve(required)), Some(Value::Curve(held))) = (required, held) else { return false };
        let opposite = |(a, b): (&settings_model::value::Point, &settings_model::value::Point)| a.x == b.x && a.y.number == -b.y.number;
        required.len() == held.len() && required.iter().zip(held).all(opposite)
    };
    let setting = *failing.iter().find(turned)?;
    Some(Cause {
        name: "signs-reversed",
        says: format!("{}: every level has the wrong sign: as stated, it supplies where it must absorb", setting.title()),
        explains: vec![setting],
        is_selected_region: false,
        hint: match shown_way(device, failing) {
            Some(way) => format!(
                "first see on the device that its display shows {way}, as its label map has it. Only if the device then supplies where \
                 it must absorb, turn the signs round"
            ),
            None => "first find out from the device's manual which sign its display calls absorbing. Only if the device supplies \
                     where it must absorb, turn the signs round; if its display counts the other way, state the levels as they \
                     are meant, and change nothing"
                .to_owned(),
        },
    })
}

/// Voltages that are 1.732 times what is required: between two lines, where line to neutral is meant.
fn read_between_lines(device: &DeviceResult<'_>, failing: &[SettingId]) -> Option<Cause> {
    let root_of_three = Exact::new(1_732_050_808, 9);
    let is_between_lines = |setting: &&SettingId| {
        let near = |(required, held): (&Exact, &Exact)| (*held - *required * root_of_three).abs() <= Exact::ONE;
        volts_of(device, **setting).is_some_and(|(required, held)| required.iter().zip(&held).all(near))
    };
    let explains: Vec<SettingId> = failing.iter().filter(is_between_lines).copied().collect();
    (explains.len() >= FEWEST).then(|| Cause {
        name: "read-between-lines",
        says: format!("{} voltages are 1.732 times what is required: between two lines, where line to neutral is meant", explains.len()),
        explains,
        is_selected_region: false,
        hint: "first find out whether the device's display counts between lines. If it does, state the values line to neutral; change \
               nothing before that is clear"
            .to_owned(),
    })
}

/// The voltages required of a setting and those held, as many of each.
fn volts_of(device: &DeviceResult<'_>, setting: SettingId) -> Option<(Vec<Exact>, Vec<Exact>)> {
    let volts = |value: &Value| -> Option<Vec<Exact>> {
        match (value, setting.parameter().shape) {
            (Value::Quantity(amount), Shape::Quantity(Dimension::Voltage)) => Some(vec![amount.at(&device.facts)?]),
            (Value::Curve(points), Shape::Curve { x: Dimension::Voltage, .. }) => points.iter().map(|p| p.x.at(&device.facts)).collect(),
            _ => None,
        }
    };
    let required = device.counted.requirement.get(setting).and_then(|r| r.entry.require.as_ref()).and_then(volts)?;
    let held = device.settings.get(setting).and_then(|known| volts(&known.value))?;
    (required.len() == held.len()).then_some((required, held))
}

/// Voltages that all are one multiple of what is required: per unit of another nominal voltage.
fn of_another_nominal(device: &DeviceResult<'_>, failing: &[SettingId]) -> Option<Cause> {
    /// So many that chance does not explain it.
    const FEWEST_ALIKE: usize = 3;
    let half_a_volt = Exact::ONE.half();
    let pairs: Vec<_> = failing.iter().filter_map(|setting| Some((*setting, volts_of(device, *setting)?))).collect();
    let explained_by = |required: Exact, held: Exact| -> Vec<SettingId> {
        let near = |(r, h): (&Exact, &Exact)| (*h * required - *r * held).abs() <= required * half_a_volt;
        pairs.iter().filter(|(_, (r, h))| r.iter().zip(h).all(near)).map(|(setting, _)| *setting).collect()
    };
    // a tenth off and less may be loosened trips
    let is_far = |required: Exact, held: Exact| required > Exact::ZERO && (held - required).abs() * Exact::from(10) > required;
    let first = pairs.iter().map(|(_, (required, held))| (required[0], held[0])).filter(|(required, held)| is_far(*required, *held));
    let (required, held, explains) = first.map(|(r, h)| (r, h, explained_by(r, h))).max_by_key(|(.., explains)| explains.len())?;
    if explains.len() < FEWEST_ALIKE || explains.len() * 3 < pairs.len() * 2 {
        return None;
    }
    let nominal = device.facts.number(FactId::NominalVoltage)?;
    let (times, other) = (held.divided_roughly(required, 3)?, (nominal * held).divided_roughly(required, 0)?);
    let show = |volts| Dimension::Voltage.show(volts);
    Some(Cause {
        name: "per-unit-of-other-nominal",
        says: format!(
            "{} settings have voltages that are {times} times what is required: per unit of {}, where {} line to neutral is nominal",
            explains.len(),
            show(other),
            show(nominal)
        ),
        explains,
        is_selected_region: false,
        hint: format!(
            "first find out what the device's display counts from, line to neutral or between lines. Only if it counts from {} to \
             neutral, enter what `asleft sheet SITE` lists",
            show(nominal)
        ),
    })
}
