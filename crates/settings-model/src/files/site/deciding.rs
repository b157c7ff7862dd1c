//! What of a site and its devices decides what is asked there.

use super::{Dates, Device, DeviceKind, Export, SiteFile};
use crate::exact::Exact;
use crate::facts::{FactId, Facts, NO_EXPORT};
use crate::files::FactWord;

impl SiteFile<'_> {
    /// The facts of the site that requirements may depend on, as of a day.
    #[must_use]
    pub fn facts(&self, today: jiff::civil::Date, standard_nominal: Option<Exact>) -> Facts {
        let mut facts = Facts::default();
        let mut number = |id, n: Option<Exact>| n.into_iter().for_each(|n| facts.set_number(id, n));
        number(FactId::NominalVoltage, self.supply.nominal.map(|n| n.0).or(standard_nominal));
        number(FactId::Phases, self.supply.phases.map(|n| Exact::from(i64::from(n))));
        number(FactId::ApprovedExport, self.export.as_ref().and_then(Export::most));
        number(FactId::NameplateTotal, self.total(|device| device.nameplate()));
        number(FactId::LimitedTotal, self.total(|device| device.limited_to()));
        let Dates { applied, approved, approved_until: _, installed, altered } = self.dates;
        let dates = [(FactId::Applied, applied), (FactId::Approved, approved), (FactId::Installed, installed), (FactId::Altered, altered)];
        for (id, day) in dates {
            number(id, day.map(|day| crate::facts::days(day.0)));
        }
        number(FactId::Today, Some(crate::facts::days(today)));
        let mut word = |id, word: Option<u8>| word.into_iter().for_each(|word| facts.set_word(id, word));
        word(FactId::SubNetwork, self.supply.sub_network.map(FactWord::index));
        word(FactId::ExportKind, self.export.as_ref().map(|export| export.kind.index()));
        word(FactId::Route, self.requirements.route.map(FactWord::index));
        word(FactId::Work, self.work.as_ref().and_then(|work| work.kind).map(FactWord::index));
        word(FactId::Exempted, self.work.as_ref().map(|work| u8::from(work.exemption.is_some())));
        facts
    }

    /// The inverters, which are what ratings are added up over.
    pub fn inverters(&self) -> impl Iterator<Item = &Device<'_>> {
        self.devices.iter().map(|(_, device)| device).filter(|device| device.kind == DeviceKind::Inverter)
    }

    /// The sum over all inverters; `None` while that of any is not stated, or there is none.
    fn total(&self, rating: impl Fn(&Device<'_>) -> Option<Exact>) -> Option<Exact> {
        let mut ratings = self.inverters().map(rating);
        let first = ratings.next()??;
        ratings.try_fold(first, |sum, one| Some(sum + one?))
    }
}

impl Device<'_> {
    /// Adds the device's own facts to those of its site.
    #[must_use]
    pub fn facts(&self, mut facts: Facts) -> Facts {
        let supply = facts.number(FactId::Phases);
        let mut number = |id, n: Option<Exact>| n.into_iter().for_each(|n| facts.set_number(id, n));
        number(FactId::Nameplate, self.nameplate());
        number(FactId::LimitedTo, self.limited_to());
        number(FactId::RatedPower, self.rated_power.map(|q| q.number));
        number(FactId::DevicePhases, self.phases().map(|n| Exact::from(i64::from(n))).or(supply.filter(|n| *n == Exact::ONE)));
        number(FactId::Installed, self.installed.map(|day| crate::facts::days(day.0)));
        number(FactId::CertifiedYear, self.certified.as_ref().map(|c| Exact::from(i64::from(c.edition.year))));
        if let Some(source) = self.source {
            facts.set_word(FactId::EnergySource, source.index());
        }
        facts
    }

    /// The apparent power on its nameplate, in VA.
    fn nameplate(&self) -> Option<Exact> {
        self.nameplate.map(|rating| rating.number)
    }

    /// What it is limited to, or else its nameplate, in VA.
    fn limited_to(&self) -> Option<Exact> {
        self.limited_to.map(|limit| limit.number).or_else(|| self.nameplate())
    }

    /// How many phases it feeds, where the device says so itself.
    #[must_use]
    pub fn phases(&self) -> Option<u8> {
        self.phases.or(self.on_phase.map(|_| 1))
    }
}

impl Export<'_> {
    /// The most that may leave the site: nothing where the kind is `none`, whatever figure stands beside it.
    #[must_use]
    pub fn most(&self) -> Option<Exact> {
        if self.is_none() { Some(Exact::ZERO) } else { self.approved.map(|power| power.number) }
    }

    /// Whether nothing may leave the site.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.kind.word() == NO_EXPORT
    }
}
