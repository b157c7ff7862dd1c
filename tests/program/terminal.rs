//! The program at a terminal: a pseudo-terminal whose other end is this test.

use serial2::SerialPort;
use std::fs::OpenOptions;
use std::os::fd::{AsRawFd, OwnedFd};
use std::os::unix::fs::OpenOptionsExt;
use std::process::{Command, Stdio};
use std::time::Duration;

/// The same terminal, opened so that whoever reads from it waits.
fn blocking(terminal: &OwnedFd) -> OwnedFd {
    /// Of Linux: it does not become the terminal of this process.
    const NO_CONTROL: i32 = 0o400;
    let path = format!("/proc/self/fd/{}", terminal.as_raw_fd());
    OpenOptions::new().read(true).write(true).custom_flags(NO_CONTROL).open(path).unwrap().into()
}

/// What the program shows, and how it ends, when these lines are typed; if it then waits for more, the terminal goes away.
pub fn talk(arguments: &[&str], lines: &[&str]) -> (String, Option<i32>) {
    let (mut ours, theirs) = SerialPort::pair().unwrap();
    ours.set_read_timeout(Duration::from_millis(500)).unwrap();
    let theirs = blocking(&OwnedFd::from(theirs));
    let stdio = || Stdio::from(theirs.try_clone().unwrap());
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(super::root()).env("COLUMNS", "80").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES").args(arguments);
    let mut child = command.stdin(stdio()).stdout(stdio()).stderr(stdio()).spawn().unwrap();
    drop((command, theirs));
    let typed = lines.iter().map(|line| format!("{line}\n")).collect::<String>();
    ours.write_all(typed.as_bytes()).unwrap();
    let (mut shown, mut buffer, mut silences) = (Vec::new(), [0; 4096], 0);
    while silences < PATIENCE {
        match ours.read(&mut buffer) {
            Ok(n) if n > 0 => shown.extend_from_slice(&buffer[..n]),
            _ if child.try_wait().unwrap().is_some() => break,
            _ => silences += 1,
        }
    }
    drop(ours);
    (String::from_utf8_lossy(&shown).into_owned(), child.wait().unwrap().code())
}

/// So many half seconds without a word are waited for.
const PATIENCE: u32 = 10;
