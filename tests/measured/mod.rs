//! The program run to its end, with what it cost.
#![allow(dead_code, reason = "each test uses what it needs")]

pub mod table;

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use wait4::Wait4;

/// Nothing refused takes longer, in a build for tests, on a busy machine.
const PATIENCE: Duration = Duration::from_secs(300);

/// How a run ended.
pub struct Ended {
    /// The exit code; none where it was killed.
    pub code: Option<i32>,
    pub stdout: Vec<u8>,
    pub stderr: Vec<u8>,
    /// The most memory that it held, in bytes, as the system counted it.
    pub peak: u64,
    pub seconds: f64,
}

/// The root of the project.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Runs the program in a folder.
pub fn asleft(folder: &Path, arguments: &[&str]) -> Ended {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(folder).env("COLUMNS", "100").env("NO_COLOR", "1").args(arguments);
    for name in ["ASLEFT_PROFILES", "ASLEFT_REGISTER", "ASLEFT_KEY", "ASLEFT_REQUIRE_SIGNED"] {
        command.env_remove(name);
    }
    let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let reading = |from: Box<dyn Read + Send>| {
        std::thread::spawn(move || {
            let mut bytes = Vec::new();
            let mut from = from;
            from.read_to_end(&mut bytes).map(|_| bytes).unwrap()
        })
    };
    let (out, err) = (reading(Box::new(child.stdout.take().unwrap())), reading(Box::new(child.stderr.take().unwrap())));
    let (id, began) = (child.id(), Instant::now());
    let (ended, has_ended) = std::sync::mpsc::channel();
    let waiting = std::thread::spawn(move || {
        let used = child.wait4().unwrap();
        let _ = ended.send(());
        used
    });
    if has_ended.recv_timeout(PATIENCE).is_err() {
        let _ = Command::new("kill").args(["-9", &id.to_string()]).status();
        panic!("{arguments:?} does not end");
    }
    let used = waiting.join().unwrap();
    Ended {
        code: used.status.code(),
        stdout: out.join().unwrap(),
        stderr: err.join().unwrap(),
        peak: used.rusage.maxrss,
        seconds: began.elapsed().as_secs_f64(),
    }
}

/// All that it said.
pub fn says(ended: &Ended) -> String {
    String::from_utf8_lossy(&ended.stdout).into_owned() + &String::from_utf8_lossy(&ended.stderr)
}
