//! Records of an invented office, as many as are wanted.

use record::*;
use rules::provenance::{Figures, Standing, Verdict};
use settings_model::catalogue::Equipment;
use settings_model::claim::Evidence;

const COMPANIES: [&str; 3] = ["Wrenfield Solar (invented)", "Tarn Electrical (invented)", "Brackwater Works (invented)"];

/// What a profile says, for a register to keep.
pub const PROFILE: &str = "kind: overlay # invented\n";

/// The `n`th record: a few kilobytes, one site for each number, every fifth not complying.
pub fn record(n: usize) -> Record {
    let text = |text: &str| text.to_owned();
    let outcome = if n.is_multiple_of(5) { Verdict::DoesNotComply } else { Verdict::Complies };
    let setting = |k: usize| SettingHeld {
        setting: format!("invented-{k}/threshold"),
        title: format!("Invented stage {k}: threshold"),
        required: Some(format!("{} V", 250 + k)),
        complies_within: Some(format!("at most {} V", 250 + k)),
        from: Some(text("Reedmarsh Lines (invented), Issue 3")),
        basis: Some(Standing::Invented),
        as_found: None,
        as_left: Some(RecordedValue { value: format!("{} V", 250 + k), known_by: Some(Evidence::Display), photo: None, read_from: None }),
        state: SettingState::Complies,
    };
    let site = format!("kind: site\nsite: made-{n:06}\n# {}\n", "an invented site. ".repeat(60));
    Record {
        kind: RecordKind::CloseOut,
        format: FORMAT,
        made: Made { tool: text("asleft"), version: text("0.1.0"), as_of: format!("2026-{:02}-{:02}", 1 + n % 12, 1 + n % 28) },
        site: Site {
            name: format!("made-{n:06}"),
            network: Some(text("reedmarsh")),
            answerable: Answerable {
                company: Some(text(COMPANIES[n % 3])),
                branch: Some(format!("branch {}", n % 7)),
                crew: Some(format!("crew {}", n % 40)),
            },
            dates: Dates { installed: Some(text("2026-04-09")), ..Dates::default() },
            work: None,
            exemption: None,
            supply: Supply { connection_point: Some(format!("RM{n:08}")), phases: Some(1), nominal: Some(text("230 V")) },
            export: None,
        },
        requirement: Requirement {
            region: text("a"),
            under: text("Reedmarsh Lines (invented), Issue 3"),
            layers: vec![Layer { title: text("Reedmarsh Lines (invented), Issue 3"), key: text("reedmarsh"), version: text("3.0.0") }],
            profiles: vec![Pin {
                profile: text("overlays/reedmarsh/3.0.0"),
                sha256: canonical::hex(&canonical::sha256(PROFILE.as_bytes())),
            }],
        },
        verdict: CameTo {
            outcome,
            headline: text(outcome.phrase()),
            settings: outcome,
            tests: Verdict::Complies,
            evidence: Verdict::Complies,
            figures: Figures { invented: 20, ..Figures::default() },
            broken_by: None,
            known_by: text("20 taken from the display"),
        },
        devices: vec![Device {
            name: text("inverter-1"),
            kind: Equipment::Inverter,
            under: text("Reedmarsh Lines (invented), Issue 3"),
            model: Some(text("Fernhill K6 (invented)")),
            serial: Some(format!("FK6-{n:07}")),
            firmware: Some(text("2.1.4")),
            nameplate: Some(text("6 kVA")),
            certified: None,
            as_found: None,
            as_left: Some(Moment::default()),
            settings: (0..20).map(setting).collect(),
        }],
        findings: Vec::new(),
        not_checked: Vec::new(),
        not_planned: Vec::new(),
        approvals: Vec::new(),
        tests: Vec::new(),
        photos: Vec::new(),
        instruments: Vec::new(),
        work: None,
        registrations: vec![Registration {
            what: text("entry in the register of connected devices"),
            to: text("the system operator"),
            by: Some(text("2026-05-07")),
            done: None,
            reference: None,
        }],
        missing: Vec::new(),
        cautions: vec![text("Invented.")],
        given: Given {
            site: GivenText { name: text("site.yaml"), sha256: canonical::hex(&canonical::sha256(site.as_bytes())), text: site },
            sheet: None,
            columns: None,
            commissioning: None,
        },
    }
}
