//! How what is played stands to what its site is asked, so that nobody takes "it did not drop out" for
//! leave to set it.

use crate::held::DeviceAtMoment;
use rules::assess::Assessor;
use rules::compare::as_required::standings_as_required;
use rules::operand::{Moment, SiteOperand};
use rules::phrase::under;
use rules::provenance::{Figures, Judgement, Verdict, standing};
use rules::wording;
use settings_model::files::SiteFile;

/// How what is played stands to what its site is asked.
#[derive(Clone)]
pub struct SiteStanding {
    /// What it comes to.
    pub verdict: Verdict,
    /// The same in words; never plain where figures that nobody verified decided.
    pub headline: String,
    /// How its required figures are known.
    pub figures: Figures,
    /// How many findings `check` has of the site with these settings; of a requirement, how many of the
    /// settings that the site is asked for do not comply, or cannot be shown to.
    pub findings: usize,
    /// What the site stands under, in words.
    pub under: Option<String>,
}

/// What `check` says of a site, with what its devices held at a moment.
pub fn of_site(operand: &SiteOperand, site: &SiteFile<'_>, moment: Moment, assessor: &mut Assessor) -> SiteStanding {
    let mut site = site.clone();
    if moment == Moment::AsFound {
        let is_meant = |name: &str| operand.device.as_deref().is_none_or(|device| device == name);
        for (_, device) in site.devices.0.iter_mut().filter(|(name, _)| is_meant(name)) {
            device.as_left.clone_from(&device.as_found);
        }
    }
    let assessment = assessor.assess(&site);
    let judgement = assessment.judgement();
    SiteStanding {
        verdict: judgement.verdict,
        headline: assessment.headline(),
        figures: judgement.figures,
        findings: wording::findings(&assessment, &operand.root).len(),
        under: assessment.book.as_ref().map(|book| under(&book.rulebook)),
    }
}

/// What a device that is set as a requirement asks comes to under what its site is asked; `None` where
/// that cannot be told.
pub fn of_requirement(required: &DeviceAtMoment<'_>, own: &DeviceAtMoment<'_>) -> Option<SiteStanding> {
    let (_, asks) = required.asked.as_ref()?;
    let (book, counted) = own.asked.as_ref()?;
    let standings = standings_as_required(&asks.requirement, &counted.requirement, &own.facts);
    let verdict = standings.values().max().copied().unwrap_or(Verdict::Complies);
    let findings = standings.values().filter(|verdict| **verdict != Verdict::Complies).count();
    let broken = standings.iter().filter(|(_, verdict)| **verdict == Verdict::DoesNotComply);
    let broken_by = broken.map(|(setting, _)| counted.requirement.get(*setting).and_then(|asked| standing(&asked.entry, &book.rulebook)));
    let broken_by = broken_by.min().flatten();
    let judgement = Judgement { verdict, figures: counted.figures, broken_by };
    let headline = judgement.headline().to_owned();
    Some(SiteStanding { verdict, headline, figures: judgement.figures, findings, under: Some(under(&book.rulebook)) })
}
