//! What is answered to each address.

use super::Program;
use super::choices::{Choice, Choices, Of};
use super::difference::{difference, sentence};
use super::document::{Document, Side, document};
use super::lesson::Lesson;
use super::loaded::{Loaded, RatedInverter, load};
use super::opening::{Opened, open};
use super::panel::Panel;
use super::position::{Position, Reach};
use super::server::{Kind, Request, Response};
use replay::scenario::NamedScenario;
use rules::assess::Assessor;
use rules::operand::OperandError;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use std::collections::BTreeMap;
use std::rc::Rc;
use views::given::above_zero;

/// Everything that answers need.
pub struct Answers {
    assessor: Assessor,
    choices: Choices,
    program: Program,
    /// What was worked out last, the newest at the end.
    loaded: Vec<(String, RatedInverter, Rc<Loaded>)>,
    /// Names and titles of the scenarios at hand.
    scenarios: Option<Vec<(String, String)>>,
}

/// Choices that are kept worked out.
const MOST_LOADED: usize = 16;

/// The rating of a device that stands for requirements, in kilovolt-amperes, and its source, until somebody
/// says others.
const RATED: &str = "5";
const SOURCE: &str = "solar";

impl Answers {
    /// Nothing worked out yet.
    pub fn new(assessor: Assessor, choices: Choices, program: Program) -> Self {
        Self { assessor, choices, program, loaded: Vec::new(), scenarios: None }
    }

    /// The profiles that it answers by.
    #[cfg(feature = "fuzzing")]
    pub fn library(&mut self) -> &mut settings_model::library::Library {
        &mut self.assessor.library
    }

    /// The answer to a request.
    pub fn to(&mut self, request: &Request) -> Response {
        match (request.path.as_str(), request.is_post) {
            ("/", false) => self.page(request),
            ("/at", false) => self.at(request),
            ("/open", true) => self.opened(request),
            ("/page.css", false) => Response::of(Kind::Css, super::document::style()),
            ("/page.js", false) => Response::of(Kind::Script, super::document::SCRIPT),
            ("/icon.svg", false) => Response::of(Kind::Svg, super::document::ICON),
            ("/" | "/at" | "/open" | "/page.css" | "/page.js" | "/icon.svg", _) => Response::method_refusal(),
            _ => Response::refusal(404, "there is no such page here"),
        }
    }

    /// The whole page.
    fn page(&mut self, request: &Request) -> Response {
        let mut faults = Vec::new();
        let asked = asked(request).unwrap_or_else(|says| {
            faults.push(says);
            RatedInverter { rated: format!("{RATED} kVA"), source: SOURCE.to_owned(), nominal: None }
        });
        let mut named = |name: &str| -> Option<String> {
            let id = request.value(name)?;
            if self.choices.named(id).is_none() {
                faults.push(format!("{id} is not among what can be shown; if it was opened here, open it again"));
                return None;
            }
            Some(id.to_owned())
        };
        let first = named("of").unwrap_or_else(|| self.choices.first().id.clone());
        let ids: Vec<String> = std::iter::once(first).chain(named("with")).collect();
        let asked = self.as_rated(&ids, asked);
        let loaded: Vec<Result<Rc<Loaded>, String>> = ids.iter().map(|id| self.loaded(id, &asked)).collect();
        let usable: Vec<&Rc<Loaded>> = loaded.iter().flatten().collect();
        let stand = usable.first().map(|first| {
            let reach = usable.iter().map(|loaded| Reach::of(loaded)).reduce(Reach::joined).expect("one is there");
            let position = position(request, first).unwrap_or_else(|says| {
                faults.push(says);
                Position::nominal(first)
            });
            (position.within(&reach, first), reach)
        });
        let lesson = request.value("play").map(|scenario| self.lesson(scenario, &ids, &asked));
        let scenarios = self.scenarios();
        let sides = ids.iter().zip(&loaded).map(|(id, loaded)| Side { id, loaded: loaded.as_deref().map_err(String::as_str) });
        let page = document(&Document {
            choices: &self.choices,
            sides: sides.collect(),
            asked: &asked,
            stand,
            lesson: lesson.as_ref(),
            scenarios,
            faults: &faults,
        });
        Response::of(Kind::Html, page.into_string())
    }

    /// Beside a device, requirements are shown and played as a device of the same rating.
    fn as_rated(&mut self, ids: &[String], asked: RatedInverter) -> RatedInverter {
        let is_device = |choice: &&Choice| matches!(choice.of, Of::Device { .. });
        let devices: Vec<String> =
            ids.iter().filter_map(|id| self.choices.named(id)).filter(is_device).map(|choice| choice.id.clone()).collect();
        if devices.is_empty() || devices.len() == ids.len() {
            return asked;
        }
        let device = self.loaded(&devices[0], &asked).ok();
        let rated = device.and_then(|device| Exact::nearest(device.operating.device.ratings.apparent / 1000.0, 3));
        rated.map_or_else(|| asked.clone(), |rated| RatedInverter { rated: format!("{rated} kVA"), ..asked.clone() })
    }

    /// A scenario as played by what is shown.
    fn lesson(&mut self, scenario: &str, ids: &[String], asked: &RatedInverter) -> Result<Lesson, String> {
        let chosen: Vec<&Choice> = ids.iter().filter_map(|id| self.choices.named(id)).collect();
        Lesson::play(scenario, &chosen, asked, &mut self.assessor).map_err(|fault| self.shown(fault))
    }

    /// Names and titles of the scenarios at hand, read once.
    fn scenarios(&mut self) -> Vec<(String, String)> {
        let assessor = &mut self.assessor;
        let list = || {
            let keys = assessor.library.scenarios();
            keys.into_iter()
                .filter_map(|key| Some((NamedScenario::at_hand(&key, assessor).ok()??.file.title, key)))
                .map(|(title, key)| (key, title))
                .collect()
        };
        self.scenarios.get_or_insert_with(list).clone()
    }

    /// A fault as people read it.
    fn shown(&self, fault: OperandError) -> String {
        match fault {
            OperandError::Words(says) => says,
            OperandError::Findings(findings) => {
                let shown = findings.iter().map(|finding| (self.program.finding)(finding, &self.assessor.sources));
                shown.collect::<Vec<_>>().join("\n\n")
            }
        }
    }

    /// The parts that depend on the sliders, by their ids, and what is to be heard.
    fn at(&mut self, request: &Request) -> Response {
        let parts = self.parts(request);
        let kind = Kind::Json;
        match parts {
            Ok(parts) => Response::of(kind, json(&serde_json::json!({ "parts": parts.0, "said": parts.1 }))),
            Err(says) => Response::fault(kind, json(&serde_json::json!({ "fault": says }))),
        }
    }

    fn parts(&mut self, request: &Request) -> Result<(BTreeMap<String, String>, String), String> {
        let ids: Vec<&str> = ["of", "with"].into_iter().filter_map(|name| request.value(name)).collect();
        let owned: Vec<String> = ids.iter().map(|id| (*id).to_owned()).collect();
        let asked = &self.as_rated(&owned, asked(request)?);
        let Some(first) = ids.first() else { return Err("nothing to show was named".to_owned()) };
        let loaded = self.loaded(first, asked)?;
        let position = position(request, &loaded)?;
        let others: Vec<Rc<Loaded>> = ids[1..].iter().filter_map(|id| self.loaded(id, asked).ok()).collect();
        let all = std::iter::once(&loaded).chain(&others).zip(["a", "b"]);
        let panels: Vec<Panel<'_>> = all.map(|(loaded, id)| Panel::at(id, loaded, position)).collect();
        let mut parts: Vec<_> = panels.iter().flat_map(Panel::parts).collect();
        let mut said: Vec<String> = panels.iter().map(Panel::sentence).collect();
        if let [one, other] = &panels[..] {
            parts.push(("difference".to_owned(), difference(one, other)));
            said.push(sentence(one, other));
        }
        Ok((parts.into_iter().map(|(id, markup)| (id, markup.into_string())).collect(), said.join(" ")))
    }

    /// A file that was opened in the browser.
    fn opened(&mut self, request: &Request) -> Response {
        let name = request.value("name").unwrap_or_default().to_owned();
        match open(&name, &request.body, &mut self.choices, &self.program) {
            Ok(Opened { choice, says }) => Response::of(Kind::Json, json(&serde_json::json!({ "choice": choice, "says": says }))),
            Err(error) => Response::fault(Kind::Json, json(&serde_json::json!({ "fault": error.to_string() }))),
        }
    }

    /// A choice, worked out now or before; else what is wrong with it, in words.
    fn loaded(&mut self, id: &str, asked: &RatedInverter) -> Result<Rc<Loaded>, String> {
        if let Some(at) = self.loaded.iter().position(|(own, as_asked, _)| own == id && as_asked == asked) {
            let found = self.loaded.remove(at);
            self.loaded.push(found);
            return Ok(self.loaded.last().expect("just put there").2.clone());
        }
        let Some(choice) = self.choices.named(id) else {
            return Err(format!("{id} is not among what can be shown; if it was opened here, open it again"));
        };
        let loaded = load(choice, asked, &mut self.assessor).map(Rc::new).map_err(|fault| self.shown(fault))?;
        if self.loaded.len() >= MOST_LOADED {
            self.loaded.remove(0);
        }
        self.loaded.push((id.to_owned(), asked.clone(), loaded.clone()));
        Ok(loaded)
    }
}

/// The device that stands for requirements: `rated` in kilovolt-amperes, `source`, `nominal` in volts.
fn asked(request: &Request) -> Result<RatedInverter, String> {
    let within = |name: &str, text: String, dimension: Dimension, [low, high]: [i64; 2]| -> Result<String, String> {
        let number = above_zero(name, dimension, &text).map_err(words)?;
        let (low, high) = (Exact::from(low), Exact::from(high));
        let is_within = (low..=high).contains(&number);
        is_within.then_some(text).ok_or_else(|| format!("{name}: from {} to {}", dimension.show(low), dimension.show(high)))
    };
    let rated = format!("{} kVA", request.value("rated").unwrap_or(RATED));
    let source = request.value("source").unwrap_or(SOURCE).to_owned();
    let nominal = request.value("nominal").map(|text| within("Nominal voltage", format!("{text} V"), Dimension::Voltage, [50, 1000]));
    Ok(RatedInverter {
        rated: within("Rating", rated, Dimension::ApparentPower, [100, 100_000_000])?,
        source,
        nominal: nominal.transpose()?,
    })
}

/// A fault in words.
fn words(fault: OperandError) -> String {
    match fault {
        OperandError::Words(says) => says,
        OperandError::Findings(findings) => findings.iter().map(|finding| finding.headline.as_str()).collect::<Vec<_>>().join("; "),
    }
}

/// Where the sliders stand. Power that still is what was full power before stays full power.
fn position(request: &Request, loaded: &Loaded) -> Result<Position, String> {
    let position = Position::of(request, loaded)?;
    let is_untouched = request.value("full").is_some() && request.value("full") == request.value("p");
    Ok(if is_untouched { Position { available: Position::nominal(loaded).available, ..position } } else { position })
}

fn json(value: &serde_json::Value) -> String {
    value.to_string()
}
