//! What is answered to each address.

use super::choices::Choices;
use super::difference::{difference, sentence};
use super::document::{Document, Side, document};
use super::loaded::{Asked, Loaded, load};
use super::opening::{Opened, open};
use super::panel::Panel;
use super::position::{Position, Reach};
use super::server::{Kind, Request, Response};
use crate::args::Under;
use crate::commands::operand::Fault;
use crate::commands::operating::Teaching;
use crate::render;
use rules::assess::Assessor;
use settings_model::exact::Exact;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Everything that answers need.
pub struct Answers {
    assessor: Assessor,
    choices: Choices,
    under: Under,
    /// What was worked out last, the newest at the end.
    loaded: Vec<(String, Asked, Rc<Loaded>)>,
}

/// Choices that are kept worked out.
const MOST_LOADED: usize = 16;

/// The rating of a device that stands for requirements, in volt-amperes, until somebody says another.
const RATING: i64 = 5000;

impl Answers {
    /// Nothing worked out yet.
    pub fn new(assessor: Assessor, choices: Choices, under: Under) -> Self {
        Self { assessor, choices, under, loaded: Vec::new() }
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
            Asked { rating: Exact::from(RATING), nominal: None }
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
        let loaded: Vec<Result<Rc<Loaded>, String>> = ids.iter().map(|id| self.loaded(id, asked)).collect();
        let usable: Vec<&Rc<Loaded>> = loaded.iter().flatten().collect();
        let stand = usable.first().map(|first| {
            let reach = usable.iter().map(|loaded| Reach::of(loaded)).reduce(Reach::joined).expect("one is there");
            let position = position(request, first).unwrap_or_else(|says| {
                faults.push(says);
                Position::nominal(first)
            });
            (position.within(&reach, first), reach)
        });
        let sides = ids.iter().zip(&loaded).map(|(id, loaded)| Side { id, loaded: loaded.as_deref().map_err(String::as_str) });
        let page = document(&Document { choices: &self.choices, sides: sides.collect(), asked, stand, faults: &faults });
        Response::of(Kind::Html, page.into_string())
    }

    /// The parts that hang on the sliders, by their ids, and what is to be heard.
    fn at(&mut self, request: &Request) -> Response {
        let parts = self.parts(request);
        let kind = Kind::Json;
        match parts {
            Ok(parts) => Response::of(kind, json(&serde_json::json!({ "parts": parts.0, "said": parts.1 }))),
            Err(says) => Response::fault(kind, json(&serde_json::json!({ "fault": says }))),
        }
    }

    fn parts(&mut self, request: &Request) -> Result<(BTreeMap<String, String>, String), String> {
        let asked = asked(request)?;
        let ids: Vec<&str> = ["of", "with"].into_iter().filter_map(|name| request.value(name)).collect();
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
        match open(&name, &request.body, &mut self.choices, &self.under) {
            Ok(Opened { choice, says }) => Response::of(Kind::Json, json(&serde_json::json!({ "choice": choice, "says": says }))),
            Err(error) => Response::fault(Kind::Json, json(&serde_json::json!({ "fault": error.to_string() }))),
        }
    }

    /// A choice, worked out now or before; else what is wrong with it, in words.
    fn loaded(&mut self, id: &str, asked: Asked) -> Result<Rc<Loaded>, String> {
        if let Some(at) = self.loaded.iter().position(|(own, as_asked, _)| own == id && *as_asked == asked) {
            let found = self.loaded.remove(at);
            self.loaded.push(found);
            return Ok(self.loaded.last().expect("just put there").2.clone());
        }
        let Some(choice) = self.choices.named(id) else {
            return Err(format!("{id} is not among what can be shown; if it was opened here, open it again"));
        };
        let loaded = load(choice, asked, &mut self.assessor).map(Rc::new).map_err(|fault| match fault {
            Fault::Words(says) => says,
            Fault::Findings(findings) => {
                const WIDTH: usize = 88;
                let shown = findings.iter().map(|finding| render::findings::finding(finding, &self.assessor.sources, WIDTH, false));
                shown.collect::<Vec<_>>().join("\n\n")
            }
        })?;
        if self.loaded.len() >= MOST_LOADED {
            self.loaded.remove(0);
        }
        self.loaded.push((id.to_owned(), asked, loaded.clone()));
        Ok(loaded)
    }
}

/// The rating in kilovolt-amperes and the nominal voltage in volts.
fn asked(request: &Request) -> Result<Asked, String> {
    let rating = request.value("rating").map_or_else(|| format!("{RATING} VA"), |text| format!("{text} kVA"));
    let nominal = request.value("nominal").map(|text| format!("{text} V"));
    let Teaching { rating, nominal } = Teaching::of(&rating, nominal.as_deref()).map_err(|slip| format!("{}; {}", slip.says, slip.mend))?;
    Ok(Asked { rating, nominal })
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
