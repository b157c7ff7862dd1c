//! `asleft page` as it runs.

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};

/// The program, serving; ended when it is dropped, and then held to have never panicked.
pub struct Served {
    /// The process.
    pub child: Child,
    /// The port that it listens on.
    pub port: u16,
    messages: Arc<Mutex<String>>,
}

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The program, with the same width, day and profiles wherever it runs.
pub fn asleft(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES");
    command.stdin(Stdio::null()).args(arguments);
    command
}

impl Served {
    /// Starts it with these files in a folder.
    pub fn start(folder: &Path, files: &[&str]) -> Self {
        let mut arguments = vec!["page", "--as-of", "2026-11-25"];
        arguments.extend(files);
        Self::by(asleft(&arguments).current_dir(folder))
    }

    /// Starts it by a command of which it is the end.
    pub fn by(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let port = line.trim().strip_prefix("http://127.0.0.1:").and_then(|rest| rest.strip_suffix('/')).and_then(|port| port.parse().ok());
        let messages = Arc::new(Mutex::new(String::new()));
        let (kept, mut from) = (messages.clone(), child.stderr.take().unwrap());
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = from.read(&mut buffer) {
                kept.lock().unwrap().push_str(&String::from_utf8_lossy(&buffer[..count]));
            }
        });
        Self { port: port.unwrap_or_else(|| panic!("printed {line:?}")), child, messages }
    }

    /// What it said beside the address.
    pub fn messages(&self) -> String {
        self.messages.lock().unwrap().clone()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let messages = self.messages();
        assert!(!messages.contains("panicked") || std::thread::panicking(), "{messages}");
    }
}
