//! The style sheet inside a picture: rules of classes, in light and in dark.

use super::grey;
use std::fmt::Write as _;

/// A style sheet, read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StyleSheet {
    /// Its rules in order.
    pub rules: Vec<Rule>,
}

/// A rule of a style sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// What it is for: `.figure .band.edge` is `[["figure"], ["band", "edge"]]`; `text` is an element.
    pub selectors: Vec<String>,
    /// Names and values.
    pub declarations: Vec<(String, String)>,
    /// Whether it is for reading on dark.
    pub is_dark: bool,
}

impl StyleSheet {
    /// Reads what pictures here are written with: rules, and rules for reading on dark.
    ///
    /// # Errors
    ///
    /// What could not be read, in words.
    pub fn read(text: &str) -> Result<Self, String> {
        let mut sheet = Self::default();
        sheet.read_rules(text, false)?;
        Ok(sheet)
    }

    fn read_rules(&mut self, text: &str, is_dark: bool) -> Result<(), String> {
        let mut rest = text.trim();
        while !rest.is_empty() {
            let (head, inside, after) = block(rest)?;
            match head.strip_prefix('@') {
                None => self.rules.push(rule(head, inside, is_dark)?),
                Some(media) if !is_dark && media.starts_with("media") && media.contains("prefers-color-scheme:dark") => {
                    self.read_rules(inside, true)?;
                }
                Some(other) => return Err(format!("`@{other}` in a picture's style sheet")),
            }
            rest = after.trim();
        }
        Ok(())
    }

    /// The sheet for pictures of one class alone, in colour on a screen and in grey on paper.
    pub fn written_for(&self, class: &str) -> String {
        let rules = |is_dark: bool| self.rules.iter().filter(move |rule| rule.is_dark == is_dark).collect::<Vec<_>>();
        let mut out: String = rules(false).iter().map(|rule| rule.written(class, &rule.declarations)).collect();
        let dark: String = rules(true).iter().map(|rule| rule.written(class, &rule.declarations)).collect();
        let grey: String = rules(false).iter().map(|rule| rule.written(class, &in_grey(&rule.declarations))).collect();
        if !dark.is_empty() {
            let _ = writeln!(out, "@media screen and (prefers-color-scheme:dark){{\n{dark}}}");
        }
        let _ = writeln!(out, "@media print{{\n{grey}}}");
        out
    }
}

impl Rule {
    fn written(&self, class: &str, declarations: &[(String, String)]) -> String {
        if declarations.is_empty() {
            return String::new();
        }
        let selectors: Vec<String> = self.selectors.iter().map(|one| one.replacen(".figure", &format!(".figure.{class}"), 1)).collect();
        let declarations: Vec<String> = declarations.iter().map(|(name, value)| format!("{name}:{value}")).collect();
        format!("{}{{{}}}\n", selectors.join(","), declarations.join(";"))
    }
}

/// What stands before the next brace, in it, and after it.
fn block(text: &str) -> Result<(&str, &str, &str), String> {
    let unreadable = || format!("a picture's style sheet, at `{}`", text.chars().take(40).collect::<String>());
    let open = text.find('{').ok_or_else(unreadable)?;
    let mut depth = 0_usize;
    for (at, sign) in text[open..].char_indices() {
        match sign {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return Ok((text[..open].trim(), &text[open + 1..open + at], &text[open + at + 1..]));
        }
    }
    Err(unreadable())
}

fn rule(head: &str, inside: &str, is_dark: bool) -> Result<Rule, String> {
    let selectors: Vec<String> = head.split(',').map(|one| one.trim().to_owned()).collect();
    if let Some(other) = selectors.iter().find(|one| !one.starts_with(".figure")) {
        return Err(format!("`{other}` in a picture's style sheet: it would reach beyond the picture"));
    }
    if inside.contains("url(") || inside.contains('<') {
        return Err(format!("`{inside}` in a picture's style sheet: it would reach beyond the picture"));
    }
    let declaration = |text: &str| {
        let (name, value) = text.split_once(':').ok_or_else(|| format!("`{text}` in a picture's style sheet"))?;
        Ok((name.trim().to_owned(), value.trim().to_owned()))
    };
    let declarations = inside.split(';').filter(|text| !text.trim().is_empty()).map(declaration).collect::<Result<_, String>>()?;
    Ok(Rule { selectors, declarations, is_dark })
}

/// The colours among declarations, in grey.
fn in_grey(declarations: &[(String, String)]) -> Vec<(String, String)> {
    let grey = |(name, value): &(String, String)| Some((name.clone(), grey::written(grey::of_colour(value)?)));
    declarations.iter().filter_map(grey).collect()
}
