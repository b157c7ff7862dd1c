//! The sheet as a page of its own, without anything from elsewhere: one sheet of paper, and a form on a phone.

mod rows;

use super::blank::{Blank, blanks};
use super::{SAFETY, SheetQuery, approved, cautions, crew};
use crate::render::origins::Origins;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use rules::sheet::DeviceSheet;
use settings_model::catalogue::Equipment;
use std::io::{self, Write};

/// Writes the page.
pub fn write(out: &mut dyn Write, asked: &SheetQuery<'_>) -> io::Result<()> {
    let (blanks, mut origins) = (blanks(asked.site, asked.sheets), Origins::default());
    let devices: Vec<Markup> = asked.sheets.iter().zip(&blanks).map(|(sheet, blank)| device(asked, sheet, blank, &mut origins)).collect();
    let training = asked.site.training_notice();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                // what is filled in stays on the phone: the page may ask nobody for anything
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'";
                title { @if let Some(notice) = training { (notice) ": " } "Settings sheet, " (asked.site.site) }
                style { (PreEscaped(STYLE)) }
            }
            body data-site=(asked.site.site) data-training=[training] {
                @if let Some(notice) = training {
                    // at the top, and across every printed page
                    p.training role="note" { (notice) }
                    div.watermark aria-hidden="true" { (notice) }
                }
                header {
                    h1 { "Settings sheet " span.site { (asked.site.site) } }
                    p { "As of " (asked.today) ". A number without a unit has the unit of its row. An empty row is not proven." }
                }
                (before_you_start(asked))
                @for device in devices { (device) }
                @if asked.args.all { (sources(&origins)) }
                (saving())
                footer { "The network operator, local rules and the device's manual decide, and not this sheet." }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    writeln!(out, "{}", page.into_string())
}

fn before_you_start(asked: &SheetQuery<'_>) -> Markup {
    let all: Vec<String> = match asked.args.all {
        true => cautions(asked.assessment),
        false => SAFETY.into_iter().map(str::to_owned).chain(asked.notes().0.iter().cloned()).collect(),
    };
    html! {
        section.start {
            h2 { "Before you start" }
            ul { @for caution in &all { li { (caution) } } }
        }
    }
}

fn device(asked: &SheetQuery<'_>, sheet: &DeviceSheet, blank: &Blank, origins: &mut Origins) -> Markup {
    html! {
        section.device {
            h2 { (blank.device) }
            p.under {
                "under " (blank.under)
                @if let Some(says) = approved(asked.site, sheet) { br; "approved here: " (says) }
            }
            @if let Some(says) = &blank.unverified { p.unverified { strong { (says) } } }
            (rows::to_fill_in(sheet, blank, asked.args.all, origins))
            @if sheet.kind != Equipment::Installation { (to_prove(asked, sheet)) }
            @if asked.args.all { (rows::to_read(blank, origins)) }
            @else { p.rest { b { "Not on this page: " } (crew::left_out(asked, std::slice::from_ref(sheet))) ". See them with " code { (asked.command("sheet", " --all")) } "." } }
        }
    }
}

/// What is photographed and tested, and who did it.
fn to_prove(asked: &SheetQuery<'_>, sheet: &DeviceSheet) -> Markup {
    let tests = crew::tests(asked, sheet);
    html! {
        dl.prove {
            dt { "PHOTOGRAPH" } dd { "as found and as left (common practice): " (crew::photographs(sheet).join("; ")) }
            @if !tests.is_empty() {
                dt { "TEST" } dd { (tests.join("; ")) ". Steps and limits: " code { (asked.command("test-sheet", "")) } }
            }
            dt { "SIGN" } dd.sign { span { "signature" } span { "licence" } span { "test instrument" } }
        }
    }
}

/// What a phone does with what was filled in.
fn saving() -> Markup {
    html! {
        section.saving hidden {
            button #save type="button" { "Save as a table (CSV)" }
            p #saved role="status" { "What you fill in stays on this device. Save it, and check it with " code { "asleft check SITE --filled FILE" } "." }
        }
        noscript { p { "Scripts are off here: print this page, or fill in the table of " code { "--format csv" } "." } }
    }
}

fn sources(origins: &Origins) -> Markup {
    html! {
        section.from {
            h2 { "Where each figure was found" }
            ol { @for origin in origins.all() { li { (origin) } } }
        }
    }
}

const STYLE: &str = include_str!("page/page.css");
const SCRIPT: &str = include_str!("page/page.js");
