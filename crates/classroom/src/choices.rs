//! What may be chosen: the regions of standards, devices of sites, and what was opened in the browser.

use replay::held::site;
use rules::assess::Assessor;
use rules::operand::{Moment, Operand, OperandError, RequirementsOperand, SiteOperand};
use settings_model::catalogue::Equipment;
use settings_model::document::Node;
use settings_model::facts::Facts;
use settings_model::files::SiteFile;
use settings_model::library::Request;
use settings_model::reader;
use std::rc::Rc;

/// Where a choice is listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// On the command line.
    Named,
    /// Opened in the browser.
    Opened,
    /// Of a standard.
    Standard,
    /// An example.
    Example,
}

impl Group {
    /// Every one, in the order of the list.
    pub const ALL: [Self; 4] = [Self::Opened, Self::Named, Self::Standard, Self::Example];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Named => "Named at the start",
            Self::Opened => "Opened here",
            Self::Standard => "Standards, by region",
            Self::Example => "Example sites (invented)",
        }
    }
}

/// One thing to look at.
pub struct Choice {
    /// How it is named in addresses: as on the command line.
    pub id: String,
    /// For people.
    pub title: String,
    /// Where it is listed.
    pub group: Group,
    /// What it is.
    pub of: Of,
}

impl Choice {
    /// The file that it is of.
    fn file(&self) -> Option<&str> {
        if let Of::Device { site, .. } = &self.of { Some(&site.name) } else { None }
    }
}

/// What a choice is.
#[derive(Clone)]
pub enum Of {
    /// Requirements in one region, by their word.
    Requirements(String),
    /// A device of a site at a moment.
    Device {
        /// The site's file, read and checked.
        site: Rc<Site>,
        /// The device.
        device: String,
        /// The moment.
        moment: Moment,
    },
}

/// A site's file.
pub struct Site {
    /// As it was named.
    pub name: String,
    /// The checked tree.
    pub root: Node,
}

impl Site {
    /// One of its devices, as a word on the command line would name it.
    pub fn operand(&self, device: &str, moment: Moment) -> SiteOperand {
        SiteOperand { root: self.root.clone(), device: Some(device.to_owned()), moment: Some(moment) }
    }
}

/// What was named on the command line.
pub struct Named {
    /// As it was named.
    pub word: String,
    /// The file that the word names, for people.
    pub file: String,
    /// What it is.
    pub operand: Operand,
}

/// The list.
pub struct Choices {
    all: Vec<Choice>,
    /// How many files were opened so far.
    opened: usize,
}

/// Files opened in the browser that are kept at once; the oldest is forgotten first.
const MOST_OPENED: usize = 4;
/// Devices of one file that are listed.
const MOST_DEVICES: usize = 60;

/// Example sites that come with the program: name, text, and what they show.
const EXAMPLES: [(&str, &str, &str); 8] = [
    ("larkspur-row-3", include_str!("../../../tests/sites/larkspur-row-3.yaml"), "everything as it should be"),
    ("kiln-row-19", include_str!("../../../tests/sites/kiln-row-19.yaml"), "limits loosened, volt-watt off"),
    ("cooper-street-8", include_str!("../../../tests/sites/cooper-street-8.yaml"), "volt-var with its signs reversed"),
    ("heron-court-11", include_str!("../../../tests/sites/heron-court-11.yaml"), "an older volt-watt curve left in"),
    ("drovers-way-33", include_str!("../../../tests/sites/drovers-way-33.yaml"), "two reactive modes enabled"),
    ("plumtree-rise-6", include_str!("../../../tests/sites/plumtree-rise-6.yaml"), "older solar and a new battery"),
    ("gorse-landing-4", include_str!("../../../tests/sites/gorse-landing-4.yaml"), "60 Hz, category III for II"),
    ("brimstone-hall-2", include_str!("../../../tests/sites/brimstone-hall-2.yaml"), "60 Hz, 277 V to neutral"),
];

impl Choices {
    /// What the command line names, the standards, and without a name the examples.
    pub fn of(named: Vec<Named>, assessor: &mut Assessor) -> Result<Self, OperandError> {
        let mut choices = Self { all: Vec::new(), opened: 0 };
        let has_names = !named.is_empty();
        for Named { word, file, operand } in named {
            match operand {
                Operand::Site(found) => choices.add_site([&word, &file], "", found, Group::Named)?,
                Operand::Requirements(found) => {
                    let key = key_of(&found);
                    for (region, title, _) in &found.regions {
                        let id = if region.is_empty() { key.clone() } else { format!("{key}/{region}") };
                        let title =
                            if found.title.contains(title.as_str()) { found.title.clone() } else { format!("{}, {title}", found.title) };
                        choices.all.push(Choice { of: Of::Requirements(id.clone()), id, title, group: Group::Named });
                    }
                }
            }
        }
        choices.add_standards(assessor);
        if !has_names {
            for (name, text, shows) in EXAMPLES {
                let file = format!("{name}.yaml");
                let found = read(&file, text, assessor)?;
                choices.add_site([&file; 2], shows, found, Group::Example)?;
            }
        }
        Ok(choices)
    }

    fn add_standards(&mut self, assessor: &mut Assessor) {
        for key in assessor.library.standards() {
            let Ok(standard) = assessor.library.standard(&key, &mut assessor.sources) else { continue };
            for (region, title) in standard.file.regions.iter().map(|(key, region)| (key.to_owned(), region.title.clone())) {
                let request = Request { standard: Some(&key), region: &region, ..Request::default() };
                let speaks =
                    assessor.books(request, &Facts::default()).is_ok_and(|books| books.on(Equipment::Inverter).rulebook.says_anything());
                let id = format!("{key}/{region}");
                if speaks && !self.all.iter().any(|choice| choice.id == id) {
                    let title = format!("{}, {title}", standard.file.title);
                    self.all.push(Choice { of: Of::Requirements(id.clone()), id, title, group: Group::Standard });
                }
            }
        }
    }

    /// Lists every inverter of a site, at each moment of which something is recorded; by what it was named, and
    /// the file of that.
    fn add_site(&mut self, [word, name]: [&str; 2], shows: &str, found: SiteOperand, group: Group) -> Result<(), OperandError> {
        let named = (found.device.clone(), found.moment);
        let listed = listed(&found, named)?;
        if listed.is_empty() {
            return Err(OperandError::Words(format!("no inverter in {word}")));
        }
        let site = Rc::new(Site { name: name.to_owned(), root: found.root });
        for Listed { title, device, moment, says_moment } in listed {
            let id = format!("{name}:{device}:{}", moment.word());
            let moment_words = if says_moment { format!(", {}", spoken(moment)) } else { String::new() };
            let shows = if shows.is_empty() { String::new() } else { format!(" ({shows})") };
            let title = format!("{title} / {device}{moment_words}{shows}");
            self.all.push(Choice { id, title, group, of: Of::Device { site: site.clone(), device, moment } });
        }
        Ok(())
    }

    /// Lists what was opened in the browser, before everything that was opened earlier; the first of its names.
    pub fn open(&mut self, name: &str, found: SiteOperand) -> Result<String, OperandError> {
        self.opened += 1;
        let word = format!("opened-{}-{}", self.opened, plain(name));
        let before = self.all.len();
        self.add_site([&word; 2], "", found, Group::Opened)?;
        let first = self.all[before].id.clone();
        let mut files: Vec<String> = self.in_group(Group::Opened).filter_map(Choice::file).map(str::to_owned).collect();
        files.dedup();
        let kept = files.split_off(files.len().saturating_sub(MOST_OPENED));
        self.all.retain(|choice| choice.group != Group::Opened || choice.file().is_some_and(|file| kept.iter().any(|kept| kept == file)));
        Ok(first)
    }

    /// Everything of a group.
    pub fn in_group(&self, group: Group) -> impl Iterator<Item = &Choice> {
        self.all.iter().filter(move |choice| choice.group == group)
    }

    /// The choice of this name.
    pub fn named(&self, id: &str) -> Option<&Choice> {
        self.all.iter().find(|choice| choice.id == id)
    }

    /// What is shown at first: what was named, or else the first example.
    pub fn first(&self) -> &Choice {
        let of = |group: Group| self.in_group(group).next();
        of(Group::Named).or_else(|| of(Group::Example)).unwrap_or(&self.all[0])
    }
}

/// A device of a site's file.
struct Listed {
    title: String,
    device: String,
    moment: Moment,
    says_moment: bool,
}

fn listed(found: &SiteOperand, (device, moment): (Option<String>, Option<Moment>)) -> Result<Vec<Listed>, OperandError> {
    let site = site(found)?;
    if let Some(device) = device.as_deref().filter(|device| site.devices.iter().all(|(name, _)| name != *device)) {
        return Err(OperandError::Words(format!("{} has no device `{device}`", site.site)));
    }
    let inverters = site.devices.iter().filter(|(_, device)| Equipment::from(device.kind) == Equipment::Inverter);
    let meant = inverters.filter(|(name, _)| device.as_deref().is_none_or(|device| device == *name));
    let mut all = Vec::new();
    for (name, held) in meant.take(MOST_DEVICES) {
        let recorded = [(Moment::AsFound, held.as_found.is_some()), (Moment::AsLeft, held.as_left.is_some())];
        let mut moments: Vec<Moment> = recorded.into_iter().filter(|(_, is)| *is).map(|(moment, _)| moment).collect();
        if let Some(moment) = moment {
            moments = vec![moment];
        }
        if moments.is_empty() {
            moments.push(Moment::AsLeft);
        }
        let says_moment = moments != [Moment::AsLeft];
        // as left comes first: that is what the device does now
        all.extend(moments.into_iter().rev().map(|moment| Listed {
            title: site.title().into_owned(),
            device: name.to_owned(),
            moment,
            says_moment,
        }));
    }
    Ok(all)
}

/// `as found`.
pub fn spoken(moment: Moment) -> &'static str {
    match moment {
        Moment::AsFound => "as found",
        Moment::AsLeft => "as left",
    }
}

/// Reads a site's text as if it were a file's.
pub fn read(name: &str, text: &str, assessor: &mut Assessor) -> Result<SiteOperand, OperandError> {
    let source = assessor.sources.add(name, text);
    let root = assessor.read_site(source, text)?;
    reader::typed::<SiteFile<'_>>(&root)?;
    Ok(SiteOperand { root, device: None, moment: None })
}

/// A name of letters that mean nothing in an address.
fn plain(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_ascii_alphanumeric() || matches!(c, '.' | '-') { c } else { '-' }).take(60).collect();
    if plain.is_empty() { "site.yaml".to_owned() } else { plain }
}

/// The key by which requirements are named again.
fn key_of(found: &RequirementsOperand) -> String {
    found.overlay.as_ref().map_or_else(|| found.standard.clone(), |of| format!("{}/{}", of.file.network.value, of.file.version.value))
}
