//! Help: the verbs in groups by whose day they belong to, and of each verb an example that works as it stands.

use super::Args;
use crate::render::wrapped;
use clap::{Command, CommandFactory};
use std::fmt::Write as _;

/// A group of verbs.
struct Group {
    title: &'static str,
    verbs: &'static [&'static str],
}

/// Whose verbs they are; those of every day come first.
const GROUPS: [Group; 6] = [
    Group { title: "Every day", verbs: &["new", "sheet", "check", "events", "close-out"] },
    Group { title: "At the site", verbs: &["explain", "behaves", "test-sheet", "rise", "identify", "capture", "decode"] },
    Group { title: "In the office", verbs: &["affected", "report", "register", "due", "pin", "keys", "seal", "verify"] },
    Group { title: "Requirements", verbs: &["list", "show", "lint", "diff", "revision-check", "attest", "sign-profile"] },
    Group { title: "Teaching", verbs: &["curve", "trip-map", "scenario", "page", "exercise"] },
    Group { title: "Files", verbs: &["template", "schema", "completions", "man"] },
];

/// Examples by verb, in an order in which each finds the files that those before it made. `my-site.yaml` is a site's
/// file, `log.csv` a log, `registers.json` what `capture --raw` kept.
const EXAMPLES: &[(&str, &[&str])] = &[
    (
        "new",
        &[
            "asleft new my-site.yaml --network quillbrook --phases 1 --export fixed=5kW \\\n    --applied 2026-02-16 --approved 2026-03-02 --installed 2026-04-09 \\\n    --inverter nameplate=6kVA,source=solar,certified=as-nzs-4777.2/2020-amd2",
        ],
    ),
    (
        "new overlay",
        &[
            "asleft new overlay requirements --network hollowmere --title Hollowmere \\\n    --extends as-nzs-4777.2/2020-amd2 --issue \"Issue 1\" --published 2026-01-15 \\\n    --in-force \"applied from 2026-02-01\" --document \"Connection notes\"",
        ],
    ),
    ("sheet", &["asleft sheet my-site.yaml", "asleft sheet my-site.yaml --format csv > sheet.csv"]),
    ("check", &["asleft check my-site.yaml", "asleft check my-site.yaml --filled sheet.csv"]),
    ("events", &["asleft events my-site.yaml log.csv --measured-at terminals --in-service yes"]),
    (
        "behaves",
        &["asleft behaves my-site.yaml log.csv --measured-at terminals --q-positive supplies \\\n    --accuracy \"V 0.5 %, P 1 %, Q 2 %\""],
    ),
    ("close-out", &["asleft close-out my-site.yaml --out record.json"]),
    ("explain", &["asleft explain sustained-overvoltage/threshold --site my-site.yaml"]),
    ("test-sheet", &["asleft test-sheet my-site.yaml"]),
    ("rise", &["asleft rise my-site.yaml --supply 244V"]),
    ("identify", &["asleft identify my-site.yaml"]),
    ("capture", &["asleft capture --tcp 192.0.2.7 --plan"]),
    ("decode", &["asleft decode registers.json"]),
    ("affected", &["asleft affected quillbrook/2.0.0 quillbrook/3.0.0 my-site.yaml"]),
    ("report", &["asleft report record.json --out record.html"]),
    ("keys", &["asleft keys new --out office.key"]),
    ("seal", &["asleft seal record.json --key office.key"]),
    ("verify", &["asleft verify record.json --key office.key.pub"]),
    ("register", &["asleft register add record.json --register office.db"]),
    ("due", &["asleft due --register office.db --within 30d"]),
    ("pin", &["asleft pin my-site.yaml --write"]),
    ("list", &["asleft list", "asleft list settings"]),
    ("show", &["asleft show overlays/quillbrook/3.0.0"]),
    ("lint", &["asleft lint hollowmere/1.0.0 --profiles requirements"]),
    ("diff", &["asleft diff quillbrook/2.0.0 quillbrook/3.0.0"]),
    ("revision-check", &["asleft revision-check quillbrook/2.0.0 quillbrook/3.0.0"]),
    ("attest", &["asleft attest new as-nzs-4777.2/2020-amd2 --region australia-a > my-copy.yaml"]),
    ("sign-profile", &["asleft sign-profile requirements/overlays/hollowmere/1.0.0.yaml --key office.key"]),
    ("curve", &["asleft curve my-site.yaml --of volt-watt --at 245,253..260:1"]),
    ("trip-map", &["asleft trip-map as-nzs-4777.2/2020-amd2/australia-a --of voltage"]),
    ("scenario", &["asleft scenario my-site.yaml sag-to-195-v"]),
    ("page", &["asleft page my-site.yaml"]),
    ("exercise", &["asleft exercise new quillbrook/2.0.0 --students 12 --out class --key answers.yaml"]),
    ("template", &["asleft template quillbrook > template.yaml"]),
    ("schema", &["asleft schema site"]),
    ("completions", &["asleft completions bash"]),
    ("man", &["asleft man check"]),
];

/// The command line, with its help.
pub fn command() -> Command {
    let mut program = Args::command();
    for (verb, examples) in EXAMPLES.iter().copied() {
        let is_known = |program: &Command, verb: &str| program.find_subcommand(verb).is_some();
        match verb.split_once(' ') {
            None if is_known(&program, verb) => program = program.mut_subcommand(verb, |verb| with_examples(verb, examples)),
            Some((verb, of)) => {
                program = program.mut_subcommand(verb, |verb| verb.mut_subcommand(of, |verb| with_examples(verb, examples)));
            }
            // a build without this verb
            None => {}
        }
    }
    let template =
        format!("{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{}\nOptions:\n{{options}}{{after-help}}", groups(&program));
    program.help_template(template)
}

fn with_examples(verb: Command, examples: &[&str]) -> Command {
    let mut text = String::from(if examples.len() == 1 { "Example:" } else { "Examples:" });
    examples.iter().for_each(|example| text.push_str(&format!("\n  {example}")));
    if let Some(more) = verb.get_after_help() {
        text.push_str(&format!("\n\n{more}"));
    }
    verb.after_help(text)
}

fn groups(program: &Command) -> String {
    let widest = program.get_subcommands().map(|verb| verb.get_name().len()).max().unwrap_or_default();
    let width = crate::render::width().min(100);
    let mut text = String::new();
    for Group { title, verbs } in GROUPS {
        let _ = writeln!(text, "{title}:");
        for verb in verbs.iter().filter_map(|verb| program.find_subcommand(verb)) {
            let about = verb.get_about().map(ToString::to_string).unwrap_or_default();
            let about = wrapped(&about, width - widest - 4, widest + 4);
            let _ = writeln!(text, "  {:<widest$}  {about}", verb.get_name());
        }
        let _ = writeln!(text);
    }
    text + "`asleft help VERB` shows what a verb takes, with an example.\n"
}
