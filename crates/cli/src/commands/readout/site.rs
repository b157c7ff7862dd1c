//! The site that a device stands at: which of its devices it is, what the site counts per unit and per cent,
//! and what its file says otherwise.

use super::Read;
use crate::args::Readout;
use crate::commands::site_tree;
use rules::assess::Assessor;
use settings_model::catalogue::SettingId;
use settings_model::document::{Node, parse};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::files::{Device, DeviceKind, Holding, PercentOfSaid, SiteFile};
use settings_model::library::Request;
use settings_model::reader;
use settings_model::source::SourceId;
use std::io;
use std::path::Path;
use sunspec::decode::Says;
use sunspec::{Against, Captured, Trouble, TroubleKind};

/// A site and the device in it.
pub(super) struct AtSite {
    /// The site's file as text.
    pub(super) text: String,
    /// The file as it stands, with its places.
    pub(super) raw: Node,
    /// The same with the words of displays turned into settings.
    pub(super) root: Node,
    /// The name of the device.
    pub(super) device: String,
    /// What values are held against.
    pub(super) against: Against,
    /// That the site was made for a lesson.
    pub(super) training: Option<&'static str>,
    facts: Facts,
}

impl AtSite {
    /// The site of a file. What keeps it from being used is said, or comes back to be said.
    pub(super) fn named(path: &Path, read: &Read, args: &Readout, assessor: &mut Assessor) -> io::Result<Result<Self, Option<String>>> {
        if path.as_os_str() == "-" {
            return Ok(Err(Some("name the site's own file; standard input is read once".to_owned())));
        }
        let text = crate::files::text(path)?;
        let Some(root) = site_tree(path, assessor)? else { return Ok(Err(None)) };
        let raw = parse(SourceId(0), &text, &mut Vec::new()).ok_or_else(|| io::Error::other("a text that was read a moment ago"))?;
        let site: SiteFile<'_> = reader::typed(&root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
        let name = match which(&site, read, args) {
            Ok(name) => name,
            Err(says) => return Ok(Err(Some(format!("{}: {says}", terminal::path(path))))),
        };
        let Some(device) = site.devices.iter().find(|(own, _)| *own == name).map(|(_, device)| device) else { return Ok(Err(None)) };
        let request = Request::of_device(&site, device);
        let standard = assessor.library.base_standard(request, &site.facts(assessor.today, None), &mut assessor.sources);
        let nominal = standard.as_ref().and_then(|standard| standard.file.nominal).map(|nominal| nominal.0);
        let facts = device.facts(site.facts(assessor.today, nominal));
        let said = standard.as_ref().and_then(|standard| standard.file.percent_of.as_ref().map(PercentOfSaid::bases));
        let against = Against {
            nominal: site.supply.nominal.map(|nominal| nominal.0).or(nominal),
            percent_of: said.unwrap_or(Against::default().percent_of),
        };
        let training = site.training_notice();
        drop(site);
        Ok(Ok(Self { text, raw, root, device: name, against, training, facts }))
    }

    /// The moment whose values were read.
    pub(super) fn moment(args: &Readout) -> &'static str {
        if args.as_found { "as-found" } else { "as-left" }
    }

    /// Adds what the site's file says otherwise.
    pub(super) fn compare(&self, captured: &mut Captured, args: &Readout) {
        let Ok(site) = reader::typed::<SiteFile<'_>>(&self.root) else { return };
        let Some((_, device)) = site.devices.iter().find(|(name, _)| *name == self.device) else { return };
        if device.limited_to.is_some() {
            // the file says so itself
            captured.troubles.retain(|trouble| trouble.kind != TroubleKind::SetBelowRating);
        }
        let mut troubles = identity(&self.device, device, captured);
        let holding = if args.as_found { &device.as_found } else { &device.as_left };
        troubles.extend(holding.iter().flat_map(|holding| self.settings(holding, captured)));
        captured.troubles.extend(troubles);
        captured.troubles.sort_by_key(|trouble| !trouble.kind.leaves_open());
    }

    /// Settings of which the file and the device say different things.
    fn settings(&self, holding: &Holding<'_>, captured: &Captured) -> Vec<Trouble> {
        let differs = |(setting, known): (SettingId, &settings_model::settings::Known)| {
            let read = &captured.reading(setting)?.known.value;
            let [said, held] = [&known.value, read].map(|value| rules::phrase::value_here(value, &self.facts));
            let says = format!("{setting}: the file says {}, the device holds {}", known.value.show(setting), read.show(setting));
            (said != held).then(|| trouble(TroubleKind::FileDiffers, says))
        };
        holding.settings.iter().filter_map(differs).collect()
    }
}

fn trouble(kind: TroubleKind, says: String) -> Trouble {
    Trouble { kind, says, model: None, register: None, keeps_from: Vec::new() }
}

/// What the file says of the device that the device says otherwise.
fn identity(name: &str, device: &Device<'_>, captured: &Captured) -> Vec<Trouble> {
    let read = &captured.identity;
    let mut troubles = Vec::new();
    let same = |one: &str, other: &str| one.trim().eq_ignore_ascii_case(other.trim());
    for (what, said, held, kind) in [
        ("serial number", &device.serial, &read.serial, TroubleKind::AnotherDevice),
        ("model", &device.model, &read.model, TroubleKind::FileDiffers),
        ("firmware", &device.firmware, &read.firmware, TroubleKind::FileDiffers),
    ] {
        if let (Some(said), Some(held)) = (said, held)
            && !same(said, held)
        {
            let end = if kind == TroubleKind::AnotherDevice { ": this is another device" } else { "" };
            troubles.push(trouble(kind, format!("{what} of {name}: the file says {said}, the device {held}{end}")));
        }
    }
    let ratings = [
        ("nameplate", device.nameplate.map(|rated| rated.number), read.nameplate, "VA"),
        ("rated power", device.rated_power.map(|rated| rated.number), read.rated_power, "W"),
        ("what it is limited to,", device.limited_to.map(|limited| limited.number), read.limited_to.or(read.nameplate), "VA"),
    ];
    for (what, said, held, unit) in ratings {
        if let (Some(said), Some(held)) = (said, held)
            && said != held
        {
            let says = format!(
                "{what} of {name}: the file says {said} {unit}, the device {held} {unit}; rules of size and percentages of power depend on it"
            );
            troubles.push(trouble(TroubleKind::RatingDiffers, says));
        }
    }
    troubles
}

/// Which device of the site was read.
fn which(site: &SiteFile<'_>, read: &Read, args: &Readout) -> Result<String, String> {
    let names = || site.devices.iter().map(|(name, _)| name).collect::<Vec<_>>().join(", ");
    if let Some(asked) = &args.device {
        let is_there = site.devices.iter().any(|(name, _)| name == asked);
        return if is_there { Ok(asked.clone()) } else { Err(format!("no device `{asked}`; its devices are {}", names())) };
    }
    let serial = serial(read);
    let is_it = |device: &Device<'_>| device.serial.as_ref().zip(serial.as_ref()).is_some_and(|(own, read)| own.trim() == read.trim());
    if let Some((name, _)) = site.devices.iter().find(|(_, device)| is_it(device)) {
        return Ok(name.to_owned());
    }
    let inverters: Vec<&str> =
        site.devices.iter().filter(|(_, device)| device.kind == DeviceKind::Inverter).map(|(name, _)| name).collect();
    match inverters[..] {
        [only] => Ok(only.to_owned()),
        _ => Err(format!("which device was read? Give `--device`; its devices are {}", names())),
    }
}

/// The serial number that was read.
fn serial(read: &Read) -> Option<String> {
    let block = read.walk.blocks.iter().find(|block| block.id == 1)?;
    let decoded = sunspec::Decoded::of(block)?.ok()?;
    match &decoded.parts.point("SN")?.says {
        Says::Text { text, .. } => Some(text.clone()),
        _ => None,
    }
}

/// A nominal voltage as a site's file states it.
pub(super) fn nominal(volts: Exact) -> String {
    format!("{volts} V line-neutral")
}
