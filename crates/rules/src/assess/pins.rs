//! Judging a site by exactly what it was judged against before.

use super::notes::{refused, unsettled};
use super::{Assessment, Assessor, Books, GovernedBy, Note, request, request_of, verdict};
use settings_model::facts::Facts;
use settings_model::files::{Device, Pin, SiteFile};
use settings_model::finding::Outcome;
use settings_model::library::{Library, Refusal, Request};
use std::rc::Rc;

impl Assessor {
    /// Judges a site by exactly the profiles that it pins, and says where their content is another now.
    pub(super) fn assess_pinned<'s>(&mut self, site: &'s SiteFile<'_>) -> Assessment<'s> {
        let facts = site.facts(self.today, None);
        let mut pins = of_pins(site, &self.library);
        if pins.iter().any(|note| note.outcome == Outcome::Unusable) || site.pinned.is_empty() {
            return unsettled(pins, facts);
        }
        let books = match self.books_pinned(site, None) {
            Ok(books) => books,
            Err(refusal) => return refused(refusal, None, facts),
        };
        let mut own = |assessor: &mut Self, device: &Device<'_>, _: &Facts| assessor.books_pinned(site, Some(device));
        let mut assessment = self.assess_by(site, &books, &mut own);
        assessment.notes.append(&mut pins);
        assessment.verdict = assessment.verdict.max(verdict(&[], &assessment.notes, &[]));
        assessment
    }

    /// What the layers of a site, or of one of its devices, say: by its pins where those govern.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn books_for(&mut self, site: &SiteFile<'_>, device: Option<&Device<'_>>, facts: &Facts) -> Result<Rc<Books>, Refusal> {
        if self.governed_by == GovernedBy::Pins {
            return self.books_pinned(site, device);
        }
        self.books(device.map_or_else(|| request(site), |device| request_of(site, device)), facts)
    }

    /// What pinned profiles say, read once for all sites that pin the same.
    fn books_pinned(&mut self, site: &SiteFile<'_>, device: Option<&Device<'_>>) -> Result<Rc<Books>, Refusal> {
        let keys: Vec<&str> = site.pinned.iter().map(|pin| &*pin.profile).collect();
        let request = device.map_or_else(|| request(site), |device| request_of(site, device));
        let Request { network, standard, in_place, installation, region, overlay: _ } = request;
        let (other, its_region) = in_place.map(|other| (other.standard, other.region)).unzip();
        let asked = [network, standard, other, its_region, installation, Some(region)].map(Option::unwrap_or_default);
        let pinned = keys.iter().copied().chain(asked).collect::<Vec<_>>().join("\n");
        if let Some(books) = self.pinned.get(&pinned) {
            return Ok(books.clone());
        }
        let books = Rc::new(Books::usable(self.library.rulebooks_pinned(&keys, request, &mut self.sources)?, in_place)?);
        self.pinned.insert(pinned, books.clone());
        Ok(books)
    }
}

/// What is to be said of the profiles that a site pins: that there are none, that one is not at hand,
/// or that it has other content now.
fn of_pins(site: &SiteFile<'_>, library: &Library) -> Vec<Note> {
    let note = |outcome, name, path: Vec<String>, headline: String, hint: &str| Note {
        outcome,
        name,
        path,
        headline,
        hint: Some(hint.to_owned()),
        lines: None,
    };
    if site.pinned.is_empty() {
        let headline = "the site does not say what it was judged against".to_owned();
        return vec![note(
            Outcome::NotProven,
            "nothing-pinned",
            vec!["site".to_owned()],
            headline,
            "write what the site is judged against now into its file: `asleft pin SITE --write`",
        )];
    }
    let of_pin = |(n, pin): (usize, &Pin<'_>)| {
        let path = |key: &str| vec!["pinned".to_owned(), n.to_string(), key.to_owned()];
        match library.profile(&pin.profile) {
            None => {
                let headline = format!("`{}`, which the site was judged against, is not at hand", pin.profile);
                Some(note(
                    Outcome::Unusable,
                    "pinned-not-at-hand",
                    path("profile"),
                    headline,
                    "give the folder that has it as `--profiles`",
                ))
            }
            Some(profile) if *profile.sha256() != *pin.sha256 => {
                let headline = format!("`{}` was changed since the site was judged", pin.profile);
                let hint = "give the folder that has the version of that day as `--profiles`, or judge the site anew and pin that; a published version must never change";
                Some(note(Outcome::NotProven, "pinned-content-differs", path("sha256"), headline, hint))
            }
            Some(_) => None,
        }
    };
    site.pinned.iter().enumerate().filter_map(of_pin).collect()
}
