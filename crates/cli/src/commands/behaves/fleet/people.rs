//! The answer for people: one screen of 80 columns, what to look at first at the top.

use crate::args::{Behaves, CountedBy};
use crate::render::{self, capitalised, table, unbroken, wrapped};
use crate::report::behaves_fleet::{BehavesFleetReport, DeviceLine, FleetAnswer, FunctionCount, FunctionLine, GroupCount};
use std::io::{self, Write};

/// So many devices are told without `--all`, and so many groups and names.
const FIRST: usize = 8;
const FEW: usize = 3;
/// What to look at, in the order that keeps people safe, as `words` has it at length.
const LOOK_INTO: &str = "At each look first at the meter, then at the settings as read back, then at the firmware; at the device last, \
by licensed persons.";

/// Writes the answer.
pub fn write(out: &mut dyn Write, report: &BehavesFleetReport, args: &Behaves) -> io::Result<()> {
    let page = Page { report, width: render::width(), all: args.all };
    page.head(out)?;
    page.first(out)?;
    page.functions(out)?;
    page.groups(out, &args.by)?;
    page.told(out, "ASK FOR", "devices whose logs show nothing; what would show it", &page.ask_for())?;
    page.told(out, "NO LOG", "sites and devices without one", &page.of(FleetAnswer::NoLog, named))?;
    page.told(out, "NO SITE", "logs of sites that nobody named, not judged", &report.logs_without_site)?;
    let could_not = page.of(FleetAnswer::CouldNotTell, |line| format!("{}: {}", named(line), line.says.as_deref().unwrap_or_default()));
    page.told(out, "COULD NOT TELL", "and why", &[&could_not[..], &report.not_read].concat())?;
    writeln!(out, "\n{}", wrapped(&format!("{} More with --all.", report.cautions.join(" ")), page.width, 0))
}

/// With lines for programs: what no line says, on standard error.
pub fn say_beside(report: &BehavesFleetReport) -> io::Result<()> {
    let without = report.logs_without_site.iter().map(|log| format!("asleft: no site of this name: {log}"));
    let not_read = report.not_read.iter().map(|says| format!("asleft: {says}"));
    without.chain(not_read).try_for_each(|says| writeln!(terminal::stderr(), "{}", wrapped(&says, render::width(), 8)))
}

struct Page<'r> {
    report: &'r BehavesFleetReport,
    width: usize,
    all: bool,
}

impl Page<'_> {
    fn head(&self, out: &mut dyn Write) -> io::Result<()> {
        let summary = &self.report.summary;
        render::title(out, "FLEET", &format!("{}, as of {}", count(summary.sites, "site", "sites"), self.report.as_of))?;
        let counts = [
            (summary.departs, "departs", "depart"),
            (summary.behaves, "behaves", "behave"),
            (summary.behaves_as_far_as_shown, "behaves as far as shown", "behave as far as shown"),
            (summary.not_shown, "of which the log shows nothing", "of which the logs show nothing"),
            (summary.no_log, "without a log", "without a log"),
            (summary.could_not_tell, "could not be told", "could not be told"),
        ];
        for (devices, one, several) in counts.into_iter().filter(|(devices, ..)| *devices > 0) {
            writeln!(out, "{devices:>7}  {}", if devices == 1 { one } else { several })?;
        }
        if summary.with_unverified_figures == 0 {
            return Ok(());
        }
        let devices = count(summary.with_unverified_figures, "device", "devices");
        let says =
            format!("UNVERIFIED: of {devices}, required figures are from memory or a single source; compare them with a licensed copy.");
        writeln!(out, "  {}", wrapped(&says, self.width - 2, 4))
    }

    fn first(&self, out: &mut dyn Write) -> io::Result<()> {
        let departing: Vec<&DeviceLine> = self.report.devices.iter().filter(|line| line.rank.is_some()).collect();
        if departing.is_empty() {
            return Ok(());
        }
        render::heading(out, "LOOK AT FIRST", "by kind, then certain ones, then kVAh beside what is asked")?;
        writeln!(out, "  {}", wrapped(&format!("Kinds: {}.", self.report.order.join("; ")), self.width - 2, 2))?;
        let mut table = table::table(["Kind", "Site", "What departs", "Sure", "kVAh", "Crew"], self.width);
        for line in departing.iter().take(self.most(FIRST)) {
            let Some(rank) = &line.rank else { continue };
            let sure = if rank.certain { "certain" } else { "likely" };
            let what = line.functions.iter().filter(|of| of.answer == "departs").map(departs).collect::<Vec<_>>().join("\n");
            let [site, device] = [Some(&line.site), line.device.as_ref()].map(|name| name.map_or("", String::as_str));
            let site = format!("{}\n{}", cut(site), cut(device));
            let crew = cut(&line.answerable[2]);
            let missed = if rank.missed_kvah < 10.0 { format!("{:.1}", rank.missed_kvah) } else { format!("{:.0}", rank.missed_kvah) };
            table.add_row([rank.order.to_string(), unbroken(&site), what, sure.to_owned(), missed, unbroken(&crew)]);
        }
        writeln!(out, "{}", table::lines(&table, &[]))?;
        self.more(out, departing.len(), FIRST)?;
        writeln!(out, "  {}", wrapped(LOOK_INTO, self.width - 2, 2))
    }

    fn functions(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.report.by_function.is_empty() {
            return Ok(());
        }
        let rest = "expected: departures though all behave, certain / all";
        render::heading(out, "BY FUNCTION", rest)?;
        let mut table = table::table(["Function", "Assessed", "Behave", "Depart", "Certain", "Expected", "Not shown"], self.width);
        let is_seen = |of: &&FunctionCount| of.assessed > 0;
        for of in self.report.by_function.iter().filter(is_seen) {
            let expected = format!("{} / {}", rounded(of.expected_certain), rounded(of.expected));
            let counts = [of.assessed, of.behaves, of.departs, of.departs_certainly].map(|count| count.to_string());
            let [assessed, behaves, departs, certainly] = counts;
            table.add_row([of.title.to_owned(), assessed, behaves, departs, certainly, unbroken(&expected), of.not_shown.to_string()]);
        }
        table::at_least(&mut table, 0, 14);
        table::at_least(&mut table, 5, 11);
        if self.report.by_function.iter().any(|of| of.assessed > 0) {
            writeln!(out, "{}", table::lines(&table, &[]))?;
        }
        let unseen = self.report.by_function.iter().filter(|of| !is_seen(of)).map(|of| format!("{} ({})", of.title, of.not_shown));
        let unseen: Vec<String> = unseen.collect();
        if unseen.is_empty() {
            return Ok(());
        }
        writeln!(out, "  {}", wrapped(&format!("Shown by no log, and not assessed: {}.", unseen.join(", ")), self.width - 2, 4))
    }

    fn groups(&self, out: &mut dyn Write, asked: &[CountedBy]) -> io::Result<()> {
        let all = [
            (CountedBy::Family, "Model and firmware", &self.report.by_family),
            (CountedBy::Crew, "Crew", &self.report.by_crew),
            (CountedBy::Network, "Network", &self.report.by_network),
        ];
        for (by, title, groups) in all {
            let is_asked = asked.contains(&by);
            // one group, or groups without a departure, say nothing that was not said
            let says_something = groups.iter().filter(|group| !group.name.is_empty()).count() > 1 && groups.iter().any(|g| g.departs > 0);
            if is_asked || (asked.is_empty() && says_something) {
                self.group(out, title, groups, if is_asked { usize::MAX } else { self.most(FEW) })?;
            }
        }
        Ok(())
    }

    fn group(&self, out: &mut dyn Write, title: &str, groups: &[GroupCount], most: usize) -> io::Result<()> {
        writeln!(out)?;
        let mut table = table::table([title, "Devices", "Assessed", "Depart", "Share, 95 %"], self.width);
        for group in groups.iter().take(most) {
            let name = if group.name.is_empty() { "not stated" } else { &group.name };
            let share = group.departs_percent.map_or_else(|| "-".to_owned(), |[low, high]| format!("{low:.1} to {high:.1} %"));
            let [devices, assessed, departs] = [group.devices, group.assessed, group.departs].map(|count| count.to_string());
            table.add_row([terminal::escaped(name).into_owned(), devices, assessed, departs, unbroken(&share)]);
        }
        table::at_least(&mut table, 4, 18);
        writeln!(out, "{}", table::lines(&table, &[]))?;
        self.more(out, groups.len(), most)
    }

    fn ask_for(&self) -> Vec<String> {
        self.of(FleetAnswer::NotShown, |line| {
            let needs = line.functions.iter().find_map(|of| of.needs.as_ref().map(|needs| format!("{}: {needs}", of.function)));
            format!("{}: {}", named(line), needs.unwrap_or_else(|| "nothing that it is set to is judged".to_owned()))
        })
    }

    fn of(&self, answer: FleetAnswer, says: impl Fn(&DeviceLine) -> String) -> Vec<String> {
        self.report.devices.iter().filter(|line| line.answer == answer).map(says).collect()
    }

    fn told(&self, out: &mut dyn Write, words: &str, rest: &str, items: &[String]) -> io::Result<()> {
        if items.is_empty() {
            return Ok(());
        }
        render::heading(out, words, rest)?;
        let told = items.iter().take(self.most(FEW));
        told.into_iter().try_for_each(|item| writeln!(out, "  - {}", wrapped(item, self.width - 4, 4)))?;
        self.more(out, items.len(), FEW)
    }

    fn most(&self, few: usize) -> usize {
        if self.all { usize::MAX } else { few }
    }

    fn more(&self, out: &mut dyn Write, of: usize, told: usize) -> io::Result<()> {
        match of.checked_sub(told).filter(|more| *more > 0 && !self.all) {
            Some(more) => writeln!(out, "  and {more} more with --all"),
            None => Ok(()),
        }
    }
}

/// A name from outside, short enough for a column.
fn cut(name: &str) -> String {
    table::cut(&terminal::escaped(name), 16)
}

fn named(line: &DeviceLine) -> String {
    let site = terminal::escaped(&line.site);
    line.device.as_ref().map_or_else(|| site.clone().into_owned(), |device| format!("{site} / {}", terminal::escaped(device)))
}

/// `volt-var: 32 % less absorbed than set, like off`.
fn departs(of: &FunctionLine) -> String {
    let size = of.typical_percent.zip(of.direction.as_ref()).map(|(percent, direction)| format!(": {percent:.0} % {direction}"));
    let looks_like = of.looks_like.as_ref().map(|name| format!("; looks like: {}", table::cut(name, 24)));
    format!("{}{}{}", capitalised(of.function), size.unwrap_or_default(), looks_like.unwrap_or_default())
}

fn count(count: usize, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}

fn rounded(value: f64) -> String {
    if value < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") }
}
