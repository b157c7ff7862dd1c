//! `asleft identify`: whose values does a device hold?

use super::{assessor, site_tree_with};
use crate::Exit;
use crate::args::{Format, Identify};
use crate::render::{self, table};
use crate::report::identify::{CandidateReport, IdentifiedDevice, IdentifyReport};
use rules::assess::Assessor;
use rules::identify::{Candidate, Likeness, candidates, ranked};
use rules::provenance::Figures;
use settings_model::catalogue::Equipment;
use settings_model::facts::FactId;
use settings_model::files::SiteFile;
use settings_model::reader;
use settings_model::settings::Settings;
use std::io::{self, Write};

/// What a device holds, and which candidates it is most like.
struct Identified<'s> {
    name: &'s str,
    settings: &'s Settings,
    likenesses: Vec<Likeness>,
}

/// Compares what each device of a site holds with everything at hand.
pub fn run(args: &Identify) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let Some(root) = site_tree_with(&args.site, &args.filled, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    let site: SiteFile<'_> = reader::typed(&root).map_err(|_| io::Error::other("a tree that was checked a moment ago"))?;
    let candidates = candidates(&mut assessor);
    let left_out = left_out(&mut assessor);
    if left_out > 0 {
        let (are, were) = if left_out == 1 { ("profile is", "was") } else { ("profiles are", "were") };
        let says =
            format!("asleft: {left_out} {are} unusable or not signed as asked, and {were} not compared; `asleft list profiles` says why");
        writeln!(terminal::stderr(), "{}", render::wrapped(&says, render::width(), 8))?;
    }
    if candidates.is_empty() {
        return Ok(Exit::CouldNotTell);
    }
    let devices = identified(&site, &candidates, &assessor);
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &site, &devices, &candidates)?,
        Format::Json => write_json(&mut out, &site, &devices, &candidates)?,
    }
    let all_found = devices.iter().all(|device| device.likenesses.first().is_some_and(|best| best.differ.is_empty()));
    Ok(if all_found { Exit::Fine } else { Exit::NotFine })
}

/// How many standards and versions of networks at hand cannot be used.
fn left_out(assessor: &mut Assessor) -> usize {
    let Assessor { library, sources, .. } = assessor;
    let standards = library.standards().iter().filter(|key| library.standard(key, sources).is_err()).count();
    let versions = library
        .networks()
        .into_iter()
        .flat_map(|network| library.versions(&network).into_iter().map(move |version| (network.clone(), version)));
    let versions: Vec<(String, semver::Version)> = versions.collect();
    standards + versions.iter().filter(|(network, version)| library.overlay(network, version, sources).is_err()).count()
}

fn identified<'s>(site: &'s SiteFile<'_>, candidates: &[Candidate], assessor: &Assessor) -> Vec<Identified<'s>> {
    let site_facts = site.facts(assessor.today, None);
    let recorded = site.devices.iter().filter_map(|(name, device)| Some((name, device, device.as_left.as_ref()?)));
    let of_device = |(name, device, left): (&'s str, &'s settings_model::files::Device<'_>, &'s settings_model::files::Holding<'_>)| {
        let mut facts = device.facts(site_facts.clone());
        if facts.get(FactId::NominalVoltage).is_none() {
            facts.set_number(FactId::NominalVoltage, 230.into()); // AS 60038 and IEC 60038, line to neutral
        }
        let mut likenesses = ranked(candidates, Equipment::from(device.kind), &left.settings, &facts);
        // of those that are as good, the site's own network and the region that is selected come first
        let is_other = |candidate: &Candidate| {
            let network = candidate.overlay.as_ref().map(|(network, _)| network.as_str());
            (network.is_some() && network != site.network.as_deref(), left.region_selected.as_deref() != Some(&candidate.region))
        };
        likenesses.sort_by_key(|one| (one.differ.len(), std::cmp::Reverse(one.agree.len()), is_other(&candidates[one.candidate])));
        Identified { name, settings: &left.settings, likenesses }
    };
    recorded.map(of_device).collect()
}

/// How many figures nobody verified, and how many of them a licensed copy contradicts.
fn unverified(figures: Figures) -> String {
    match (figures.unverified(), figures.disputed) {
        (unverified, 0) => unverified.to_string(),
        (unverified, disputed) => format!("{unverified}, {disputed} DISPUTED"),
    }
}

/// The most candidates that are worth a line.
const SHOWN: usize = 6;

fn write_text(out: &mut dyn Write, site: &SiteFile<'_>, devices: &[Identified<'_>], candidates: &[Candidate]) -> io::Result<()> {
    let width = render::width();
    super::write_training(out, site)?;
    for device in devices {
        writeln!(out, "{} / {}  {} values stated", site.site, device.name, device.settings.iter().count())?;
        let Some(best) = device.likenesses.first() else {
            writeln!(out, "  none of them is asked for by any profile at hand\n")?;
            continue;
        };
        let as_good =
            device.likenesses.iter().take_while(|one| one.differ.len() == best.differ.len() && one.agree.len() == best.agree.len());
        let as_good = as_good.count();
        let verdict = match (best.differ.len(), as_good) {
            (0, 1) => format!("these are the values of {}", candidates[best.candidate].title),
            (0, many) => format!("{many} profiles ask for just these values; what is stated does not tell them apart"),
            (_, 1) => format!("nearest: the values of {}, with {} altered", candidates[best.candidate].title, best.differ.len()),
            (_, many) => format!("nearest: any of {many} profiles, with {} altered", best.differ.len()),
        };
        writeln!(out, "  {}", render::wrapped(&verdict, width - 2, 4))?;
        if let Some(says) = best.figures.warning("that the values were compared with") {
            writeln!(out, "  {}", render::wrapped(&says, width - 2, 2))?;
        }
        writeln!(out)?;
        let mut table = table::table(["Values of", "agree", "differ", "unverified", "Altered"], width);
        for likeness in device.likenesses.iter().take(SHOWN.max(as_good)) {
            let mut altered: Vec<String> = likeness.differ.iter().take(3).map(ToString::to_string).collect();
            if likeness.differ.len() > altered.len() {
                altered.push(format!("and {} more", likeness.differ.len() - altered.len()));
            }
            let title = candidates[likeness.candidate].title.clone();
            table.add_row([
                title,
                likeness.agree.len().to_string(),
                likeness.differ.len().to_string(),
                unverified(likeness.figures),
                altered.join("\n"),
            ]);
        }
        writeln!(out, "{}\n", table::lines(&table, &[]))?;
    }
    Ok(())
}

fn write_json(out: &mut dyn Write, site: &SiteFile<'_>, devices: &[Identified<'_>], candidates: &[Candidate]) -> io::Result<()> {
    let candidate = |likeness: &Likeness| CandidateReport {
        title: candidates[likeness.candidate].title.clone(),
        standard: candidates[likeness.candidate].standard.clone(),
        region: candidates[likeness.candidate].region.clone(),
        network: candidates[likeness.candidate].overlay.as_ref().map(|(network, _)| network.clone()),
        version: candidates[likeness.candidate].overlay.as_ref().map(|(_, version)| version.to_string()),
        agree: likeness.agree.iter().map(ToString::to_string).collect(),
        differ: likeness.differ.iter().map(ToString::to_string).collect(),
        figures: likeness.figures,
    };
    let device = |device: &Identified<'_>| IdentifiedDevice {
        device: device.name.to_owned(),
        stated: device.settings.iter().count(),
        candidates: device.likenesses.iter().map(candidate).collect(),
    };
    let report =
        IdentifyReport { training: site.training_notice(), site: site.site.to_string(), devices: devices.iter().map(device).collect() };
    render::json(&mut *out, &report)
}
