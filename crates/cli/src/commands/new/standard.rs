//! What the standard below a site brings: its regions, its nominal voltage, and what devices are likely certified to.

use super::answers::Answers;
use super::question::{Choice, Question};
use super::site::{Site, standards};
use crate::args::NewSite;
use rules::assess::Assessor;
use rules::book::Books;
use settings_model::exact::Exact;
use std::io;
use std::rc::Rc;

/// What is taken from the standard below a site.
pub struct Standard {
    key: String,
    name: String,
    pub nominal: Option<Exact>,
    certified: Vec<String>,
    supersedes: Vec<String>,
}

/// Asks for the region; the standard that it is of.
pub fn region(args: &NewSite, site: &mut Site, answers: &mut Answers<'_>, assessor: &mut Assessor) -> io::Result<Option<Standard>> {
    let facts = site.facts(assessor.today);
    let Assessor { library, sources, .. } = assessor;
    let version = site.network.as_ref().and_then(|network| {
        let governing = library.governing_version(network, &facts, sources).ok().flatten();
        governing.or_else(|| library.versions(network).pop())
    });
    let key = match (&site.network, &version) {
        (Some(network), Some(version)) => library.standard_below(network, version, sources).ok(),
        _ => site.standard.clone(),
    };
    let file = key.as_ref().and_then(|key| library.standard(key, sources).ok());
    let admitted = match (&site.network, &version) {
        (Some(network), Some(version)) => library.regions_below(network, version, sources).ok(),
        _ => None,
    };
    let is_admitted = |key: &str| admitted.as_ref().is_none_or(|admitted| admitted.iter().any(|one| one == key));
    let regions = file.iter().flat_map(|file| file.file.regions.iter());
    let choices: Vec<Choice> = regions
        .filter(|(key, _)| is_admitted(key))
        .map(|(key, region)| Choice { word: key.to_owned(), means: region.title.clone() })
        .collect();
    // one alone leaves nothing to choose
    let only = if let [only] = &choices[..] { Some(only.word.clone()) } else { None };
    let question =
        Question::new("--region", "Region", "the values that a device brings when it is selected").choices(choices).default(only);
    site.region = answers.word(args.region.as_deref(), &question.example("australia-a"))?;
    Ok(key.zip(file).map(|(key, file)| Standard {
        nominal: file.file.nominal.map(|nominal| nominal.0),
        name: file.file.standard.value.clone(),
        certified: file.file.certified.iter().map(|edition| format!("{}/{}", file.file.standard.value, edition.key())).collect(),
        supersedes: file.file.supersedes.iter().map(|key| key.value.clone()).collect(),
        key,
    }))
}

/// What applies to the site by what is known so far; where its dates are missing, its network's newest version.
pub fn books(site: &Site, assessor: &mut Assessor) -> Option<Rc<Books>> {
    let facts = site.facts(assessor.today);
    if let Ok(books) = assessor.books(site.request(), &facts) {
        return Some(books);
    }
    let network = site.network.as_deref()?;
    let version = assessor.library.versions(network).pop()?;
    let rulebooks = assessor.library.rulebooks_of((network, &version), site.region.as_deref()?, &mut assessor.sources).ok()?;
    Books::usable(rulebooks, None).ok().map(Rc::new)
}

/// The editions that a device at the site is most likely certified to, those that bring its values first, and all others.
pub fn certificates(standard: Option<&Standard>, assessor: &mut Assessor) -> (Vec<Choice>, Vec<Choice>) {
    let all = standards(assessor);
    let Some(standard) = standard else { return (Vec::new(), all) };
    let is_own = |choice: &&Choice| choice.word == standard.key;
    let brings = |choice: &&Choice| !is_own(choice) && standard.certified.contains(&choice.word);
    let is_kin = |choice: &&Choice| {
        let is_of_it = choice.word.split('/').next() == Some(standard.name.as_str()) || standard.supersedes.contains(&choice.word);
        is_of_it && !is_own(choice) && !brings(choice)
    };
    let likely = all.iter().filter(is_own).chain(all.iter().filter(brings)).chain(all.iter().filter(is_kin));
    (likely.cloned().collect(), all)
}
