//! The page in a real browser: what it shows is what the command line prints, keys alone are enough, and
//! those who hear it read miss nothing. Needs `chromium` and `chromium-driver`; `.ci/run` installs them and
//! runs these with `cargo test -p cli --test page_browser -- --ignored --nocapture`.

#[path = "page/agreement.rs"]
mod agreement;
#[path = "page/hearing.rs"]
mod hearing;
#[path = "page/looks.rs"]
mod looks;
#[path = "page/served.rs"]
mod served;
#[path = "page/sheet.rs"]
mod sheet;
#[path = "page/webdriver.rs"]
mod webdriver;

mod program;

use serde_json::{Value, json};
use served::Served;
use webdriver::Browser;

/// The page, open in a browser.
pub struct Open {
    served: Served,
    browser: Browser,
}

impl Open {
    /// With these files named, or the examples.
    pub fn with(files: &[&str]) -> Self {
        Self { served: Served::start(&served::root(), files), browser: Browser::start() }
    }

    /// Goes to the page with a query.
    pub fn show(&self, query: &[(&str, &str)]) {
        let coded: Vec<String> = query.iter().map(|(name, value)| format!("{name}={}", coded(value))).collect();
        self.browser.go(&format!("http://127.0.0.1:{}/?{}", self.served.port, coded.join("&")));
        self.browser.wait("return document.documentElement.classList.contains('with-script')", json!([]));
    }

    /// Moves a slider (`-slider`) or a field (`-number`) by script, as a person would leave it, and waits for the answer.
    pub fn move_to(&self, input: &str, value: &str) {
        self.browser.run(
            "const input = document.getElementById(arguments[0]); input.value = arguments[1]; input.dispatchEvent(new Event('input', { bubbles: true }));",
            json!([input, value]),
        );
        self.settled();
    }

    /// Waits until what is shown is what the fields say.
    pub fn settled(&self) {
        self.browser.wait(
            "const at = new URLSearchParams(document.getElementById('answers').dataset.at ?? '');
             return ['v', 'f', 'p'].every((name) => at.get(name) === document.getElementById(`${name}-number`).value)",
            json!([]),
        );
    }

    /// What stands in an element.
    pub fn text(&self, selector: &str) -> String {
        let text = self.browser.run("return document.querySelector(arguments[0])?.innerText ?? null", json!([selector]));
        text.as_str().unwrap_or_else(|| panic!("no {selector}")).replace('\u{a0}', " ").trim().to_owned()
    }

    /// The page as it was served, asked for again.
    pub fn source(&self) -> String {
        let text = self.browser.run_later("const done = arguments[0]; fetch(location.href).then((answer) => answer.text()).then(done)");
        text.as_str().unwrap().to_owned()
    }

    /// The number that an element stands for.
    pub fn value(&self, selector: &str) -> String {
        let value = self.browser.run("return document.querySelector(arguments[0])?.getAttribute('value') ?? null", json!([selector]));
        value.as_str().unwrap_or_else(|| panic!("no {selector}")).to_owned()
    }

    /// No error of the page and no request to another machine so far.
    pub fn nothing_amiss(&self) {
        let errors = self.browser.log("browser");
        assert!(errors.is_empty(), "{errors:#?}");
        let own = format!("http://127.0.0.1:{}/", self.served.port);
        let mut requests = 0;
        for message in self.browser.log("performance") {
            let message: Value = serde_json::from_str(&message).unwrap();
            if message["message"]["method"] == "Network.requestWillBeSent" {
                let url = message["message"]["params"]["request"]["url"].as_str().unwrap().to_owned();
                // the browser's own pages and what is written in an address go nowhere
                if !["chrome:", "data:", "about:"].iter().any(|scheme| url.starts_with(scheme)) {
                    requests += 1;
                    assert!(url.starts_with(&own), "{url}");
                }
            }
        }
        assert!(requests > 0, "the log of requests is empty");
    }
}

/// A value as an address writes it.
fn coded(value: &str) -> String {
    value
        .bytes()
        .map(
            |byte| {
                if byte.is_ascii_alphanumeric() || b"-._/:".contains(&byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }
            },
        )
        .collect()
}
