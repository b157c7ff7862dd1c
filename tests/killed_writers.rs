//! Every writer of a file, killed at drawn moments: what is at its place is the old file or the new one, whole, and what
//! it left beside it is swept away by the next that writes there.
#![cfg(unix)]

use crate::program::{DAY, root};

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant, SystemTime};

const SITE: &str = "tests/sites/brickfield-road-40.yaml";
const RECORD: &str = "tests/register/records/orchard-close-5.json";

/// A writer: its arguments, in which `{}` is the folder; the file that it writes; what is there before, if anything.
struct Writer {
    arguments: &'static [&'static str],
    file: &'static str,
    before: Option<&'static str>,
}

const WRITERS: [Writer; 10] = [
    Writer { arguments: &["pin", "{}/pinned.yaml", "--write", "--as-of", DAY], file: "pinned.yaml", before: Some(SITE) },
    Writer {
        arguments: &["close-out", SITE, "--out", "{}/record.json", "--replace", "--as-of", DAY],
        file: "record.json",
        before: Some(RECORD),
    },
    Writer { arguments: &["seal", "{}/sealed.json", "--key", "{}/office.key"], file: "sealed.json", before: Some(RECORD) },
    Writer { arguments: &["report", RECORD, "--out", "{}/report.html", "--replace"], file: "report.html", before: Some("README.md") },
    Writer {
        arguments: &["curve", SITE, "--of", "volt-watt", "--svg", "{}/curve.svg", "--as-of", DAY],
        file: "curve.svg",
        before: Some("README.md"),
    },
    Writer {
        arguments: &["events", SITE, "tests/logs/sag-11.5s.csv", "--svg", "{}/events.svg", "--as-of", DAY],
        file: "events.svg",
        before: Some("README.md"),
    },
    Writer {
        arguments: &[
            "decode",
            "tests/sunspec/images/three-phase.json",
            "--site",
            "tests/sunspec/sites/sedge-lane-2.yaml",
            "--device",
            "inverter-1",
            "--out",
            "{}/read.yaml",
            "--replace",
        ],
        file: "read.yaml",
        before: Some(SITE),
    },
    Writer { arguments: &["keys", "new", "--out", "{}/new.key"], file: "new.key", before: None },
    Writer {
        arguments: &[
            "new",
            "{}/new.yaml",
            "--standard",
            "as-nzs-4777.2/2020-amd2",
            "--region",
            "australia-a",
            "--phases",
            "1",
            "--export",
            "none",
            "--inverter",
            "source=solar, nameplate=5 kVA, certified=unknown",
        ],
        file: "new.yaml",
        before: None,
    },
    Writer {
        arguments: &["register", "roll-up", "--register", "tests/register/office.db", "--out", "{}/roll-up.html", "--as-of", DAY],
        file: "roll-up.html",
        before: None,
    },
];

struct Random(u64);

impl Random {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound.max(1)
    }
}

fn number(name: &str, without: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(without)
}

impl Writer {
    fn command(&self, folder: &Path) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
        command.current_dir(root()).env_remove("ASLEFT_PROFILES").env_remove("ASLEFT_REGISTER").env_remove("ASLEFT_KEY");
        command.args(self.arguments.iter().map(|argument| argument.replace("{}", folder.to_str().unwrap())));
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
        command
    }

    /// As it is before anything is written.
    fn begin(&self, folder: &Path) {
        let place = folder.join(self.file);
        match self.before {
            Some(before) => drop(fs::copy(root().join(before), place).unwrap()),
            None => drop(fs::remove_file(place)),
        }
    }

    /// One key is never the same as another.
    fn is_written(&self, now: &[u8], new: &[u8]) -> bool {
        if self.file == "new.key" { now.len() == new.len() && now.ends_with(b"-----END PRIVATE KEY-----\n") } else { now == new }
    }

    /// How often the old file was found, and the new one.
    fn killed(&self, kills: u64, random: &mut Random) -> [u64; 2] {
        let folder = tempfile::tempdir().unwrap();
        let (folder, place) = (folder.path(), folder.path().join(self.file));
        if self.arguments.contains(&"{}/office.key") {
            let key = Writer { arguments: &["keys", "new", "--out", "{}/office.key"], file: "office.key", before: None };
            assert!(key.command(folder).status().unwrap().success());
        }
        self.begin(folder);
        let old = fs::read(&place).ok();
        let began = Instant::now();
        let output = self.command(folder).output().unwrap();
        let takes = began.elapsed();
        let new = fs::read(&place).unwrap_or_else(|_| panic!("{}: {}", self.file, String::from_utf8_lossy(&output.stderr)));
        assert!(Some(&new) != old.as_ref(), "{}: {}", self.file, String::from_utf8_lossy(&output.stderr));
        let mut found = [0, 0];
        for _ in 0..kills {
            if self.before.is_none() {
                let _ = fs::remove_file(folder.join(format!("{}.pub", self.file)));
            }
            self.begin(folder);
            let mut child = self.command(folder).stderr(Stdio::null()).spawn().unwrap();
            // closest together towards the end, where the file is written
            let share = if random.below(3) == 0 { random.below(70) } else { 70 + random.below(45) };
            std::thread::sleep(Duration::from_micros(takes.as_micros() as u64 * share / 100));
            let _ = child.kill();
            child.wait().unwrap();
            match fs::read(&place).ok() {
                now if now == old => found[0] += 1,
                Some(now) if self.is_written(&now, &new) => found[1] += 1,
                now => panic!(
                    "{}: neither the old file nor the new one: {:?}",
                    self.file,
                    now.map(|now| String::from_utf8_lossy(&now).into_owned())
                ),
            }
        }
        self.sweeps_up(folder);
        found
    }

    /// The next run leaves nothing of those that were killed. What is younger than a minute may be somebody's.
    fn sweeps_up(&self, folder: &Path) {
        let partial =
            || fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.to_string_lossy().ends_with(".partial"));
        for path in partial() {
            File::open(path).unwrap().set_modified(SystemTime::now() - Duration::from_secs(3600)).unwrap();
        }
        let _ = fs::remove_file(folder.join(format!("{}.pub", self.file)));
        self.begin(folder);
        let output = self.command(folder).output().unwrap();
        assert_eq!(partial().count(), 0, "{}: {}", self.file, String::from_utf8_lossy(&output.stderr));
    }
}

#[test]
fn a_killed_writer_leaves_the_old_file_or_the_new_one() {
    let (kills, mut random) = (number("ASLEFT_KILLS", 60) / WRITERS.len() as u64, Random(number("ASLEFT_SEED", 7)));
    let mut all = [0, 0];
    for writer in &WRITERS {
        let found = writer.killed(kills.max(1), &mut random);
        println!("{}: {} times the old file, {} times the new one", writer.file, found[0], found[1]);
        (0..2).for_each(|n| all[n] += found[n]);
    }
    assert!(all[0] > 0 && all[1] > 0, "{all:?}: every run was killed too early or too late");
}
