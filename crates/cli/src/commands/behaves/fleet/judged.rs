//! One device of a fleet: its site's text read, its rows judged, what came of it as a line.

use super::sites::KnownSite;
use super::{Fleet, counters, first};
use crate::commands::behaves::asked::{DeviceQuery, asked};
use crate::commands::behaves::{self, Seen, programs};
use crate::commands::day;
use crate::commands::logged::Refused;
use crate::commands::operand::{Operand, OperandError, SiteOperand};
use crate::report::behaves::FunctionReport;
use crate::report::behaves_counters::CountersLine;
use crate::report::behaves_fleet::{DeviceLine, FleetAnswer, FunctionLine};
use behaviour::reading::LeftOut;
use logs::{Log, LogError, Owner};
use replay::held::site;
use replay::subjects::{NoSite, Subject, subjects};
use settings_model::files::{Device, DeviceKind, SiteFile};
use settings_model::finding::Finding;
use settings_model::reader;
use settings_model::source::Sources;

/// What is told of one device, and what was counted of it where that is asked for.
pub struct Judged {
    pub line: DeviceLine,
    pub counters: Vec<CountersLine>,
    /// The inverters of the site, of which others may lack a log.
    inverters: Vec<String>,
}

impl Fleet<'_> {
    /// What came of the rows of one device.
    pub(super) fn judged(&mut self, of: usize, log_name: &str, owner: &Owner, log: &mut Log) -> Judged {
        let args = self.args;
        let see = |subject: &Subject<'_>, asked: &DeviceQuery| behaves::seen(args, subject, asked, log);
        self.judged_by(of, log_name, owner.device.as_deref(), see)
    }

    /// What comes of its counters.
    pub(super) fn judged_again(&mut self, of: usize, device: &str, lines: &[CountersLine]) -> DeviceLine {
        let (args, today) = (self.args, day(&self.args.under));
        let see = |subject: &Subject<'_>, asked: &DeviceQuery| {
            let Some(first) = lines.first() else { return Err("no counters".to_owned().into()) };
            let about = counters::about(&first.log).ok_or_else(|| "its counters name a column that no log has".to_owned())?;
            let frame = behaves::frame(args, subject, asked, &about, |_| counters::resolution(&first.log))?;
            let under = counters::counted_under(&frame, asked, today);
            lines.iter().try_for_each(|line| counters::are_under(line, &under))?;
            let counted = counters::added_up(lines)?;
            counters::fit(&counted, &frame, asked)?;
            Ok(frame.decided(asked, about, counted))
        };
        self.judged_by(of, "counters", Some(device), see).line
    }

    fn judged_by(
        &mut self,
        of: usize,
        log_name: &str,
        device: Option<&str>,
        see: impl FnOnce(&Subject<'_>, &DeviceQuery) -> Result<Seen, Refused>,
    ) -> Judged {
        let kept = self.assessor.sources.len();
        let judged = self.try_judge(of, log_name, device, see);
        let known = &self.sites.all[of];
        let none = |refused| could_not_tell(known, log_name, why(refused, log_name, &self.assessor.sources));
        let judged = judged.unwrap_or_else(|refused| Judged { line: none(refused), counters: Vec::new(), inverters: Vec::new() });
        if !judged.inverters.is_empty() {
            self.sites.all[of].inverters.clone_from(&judged.inverters);
        }
        // texts that profiles were read after stay with them
        if self.assessor.sources.len() == kept + 1 {
            self.assessor.sources.forget_after(kept);
        }
        judged
    }

    fn try_judge(
        &mut self,
        of: usize,
        log_name: &str,
        device: Option<&str>,
        see: impl FnOnce(&Subject<'_>, &DeviceQuery) -> Result<Seen, Refused>,
    ) -> Result<Judged, Refused> {
        let KnownSite { file, line, text, .. } = &self.sites.all[of];
        let source = self.assessor.sources.add_from_line(file.as_str(), text.as_str(), line.unwrap_or(1));
        let root = self.assessor.read_site(source, text).map_err(OperandError::from)?;
        reader::typed::<SiteFile<'_>>(&root).map_err(OperandError::from)?;
        let operands = [(file.as_str(), Operand::Site(SiteOperand { root, device: device.map(str::to_owned), moment: None }))];
        let [(_, Operand::Site(operand))] = &operands else { return Err("no site".to_owned().into()) };
        let (typed, bare) = ([Some(site(operand)?)], NoSite::default());
        let subjects = subjects(&operands, &typed, &bare, &mut self.assessor)?;
        let [subject] = &subjects[..] else {
            let names: Vec<&str> = subjects.iter().map(|subject| subject.held.name).collect();
            let says = "the site has several inverters: say in a column `device`, or a folder `device=NAME`, whose the rows are";
            return Err(format!("{says} (it has {})", names.join(", ")).into());
        };
        let asked = asked(&subject.held, &operands[0].1, self.args, &self.functions)?;
        let seen = see(subject, &asked)?;
        let known = behaves::known(subject, &asked, &seen, &mut self.assessor);
        let functions = programs::functions(self.args, &asked, &seen, &known);
        let counters = counters::lines(&seen, &asked);
        let unsound: u64 = seen.total.left_out.iter().filter(|(why, _)| LeftOut::is_unsound(**why)).map(|(_, lasted)| lasted).sum();
        let line = DeviceLine {
            device: Some(asked.device.clone()),
            network: typed[0].as_ref().and_then(|site| site.network.as_ref().map(ToString::to_string)),
            family: family(subject),
            rated: asked.rated,
            rows: seen.total.rows,
            days: seen.days,
            unsound_percent: (unsound as f64 / seen.total.read.max(1) as f64 * 1_000.0).round() / 10.0,
            rank: first::rank(&functions, asked.rated),
            ..line_of(&self.sites.all[of], FleetAnswer::from(programs::answer(&functions)), Some(log_name))
        };
        let functions = functions.into_iter().map(function_line).collect();
        let devices = typed[0].iter().flat_map(|site| site.devices.iter());
        let inverters = devices.filter(|(_, device)| device.kind == DeviceKind::Inverter).map(|(name, _)| name.to_owned()).collect();
        Ok(Judged { inverters, line: DeviceLine { functions, unverified: asked.unverified, ..line }, counters })
    }
}

/// A line that says nothing yet but whose it is.
pub fn line_of(site: &KnownSite, answer: FleetAnswer, log: Option<&str>) -> DeviceLine {
    DeviceLine {
        site: site.name.clone(),
        device: None,
        file: site.file.clone(),
        line: site.line,
        log: log.map(str::to_owned),
        answerable: site.answerable.clone(),
        network: None,
        family: None,
        rated: 0.0,
        answer,
        says: None,
        rows: 0,
        days: 0,
        unsound_percent: 0.0,
        functions: Vec::new(),
        rank: None,
        unverified: None,
    }
}

/// A line that says why nothing is told.
pub fn could_not_tell(site: &KnownSite, log: &str, says: String) -> DeviceLine {
    DeviceLine { says: Some(says), ..line_of(site, FleetAnswer::CouldNotTell, Some(log)) }
}

/// The same where something had been told.
pub fn taken_back(line: &DeviceLine, says: String) -> DeviceLine {
    DeviceLine { answer: FleetAnswer::CouldNotTell, says: Some(says), functions: Vec::new(), rank: None, unverified: None, ..line.clone() }
}

/// A line with its answer and no more, once the rest of it was written.
pub fn answer_alone(line: DeviceLine) -> DeviceLine {
    DeviceLine { functions: Vec::new(), rank: None, unverified: None, ..line }
}

/// A fault of a log: `fleet.csv:2043:17: …; …`.
pub fn in_words(log: &str, fault: &LogError) -> String {
    let at = fault.place.as_ref().map_or_else(String::new, |(line, text, meant)| {
        let before = text.get(..meant.start).map_or(0, |before| before.chars().count());
        format!(":{line}:{}", before + 1)
    });
    format!("{log}{at}: {}; {}", terminal::escaped(&fault.says), fault.help)
}

/// Why a device could not be judged, on one line.
fn why(refused: Refused, log: &str, sources: &Sources) -> String {
    match refused {
        Refused::Log(fault) => in_words(log, &fault),
        Refused::Operand(OperandError::Words(says)) => says,
        Refused::Operand(OperandError::Findings(findings)) => {
            let more = findings.len().saturating_sub(1);
            let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
            findings.first().map(|first| format!("{}{more}; `asleft check SITE` says all", of_finding(first, sources))).unwrap_or_default()
        }
    }
}

fn of_finding(finding: &Finding, sources: &Sources) -> String {
    let at = sources.locate(finding.place).map(|place| format!("{place}: ")).unwrap_or_default();
    format!("{at}{}", finding.headline)
}

/// Model and firmware, as the site's file has them.
fn family(subject: &Subject<'_>) -> Option<String> {
    let Device { model, firmware, .. } = subject.held.device;
    let firmware = firmware.as_ref().map_or_else(|| "firmware not stated".to_owned(), |firmware| format!("firmware {firmware}"));
    model.as_ref().map(|model| format!("{model}, {firmware}"))
}

fn function_line(report: FunctionReport) -> FunctionLine {
    let outside = report.minutes.map(|minutes| minutes.outside).filter(|minutes| *minutes > 0.0);
    FunctionLine {
        function: report.function,
        against: report.against,
        answer: report.answer,
        sure: report.sure,
        typical_percent: report.size.as_ref().map(|size| size.typical_percent),
        direction: report.size.map(|size| size.direction),
        minutes_outside: outside,
        looks_like: report.looks_like.and_then(|looks| looks.name),
        needs: report.needs,
    }
}
