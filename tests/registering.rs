//! The register and its records at the command line: killed writers, full disks, folders that cannot
//! be written to, keys that others may read, profiles that nobody signed.

#[path = "../benches/register/made.rs"]
mod made;

use record::register::{Filter, Register};
use record::{Envelope, canonical};
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").stdin(Stdio::null()).args(arguments);
    for name in ["ASLEFT_PROFILES", "ASLEFT_REGISTER", "ASLEFT_KEY", "ASLEFT_REQUIRE_SIGNED"] {
        command.env_remove(name);
    }
    command
}

fn ran(arguments: &[&str]) -> (Option<i32>, String, String) {
    said(&asleft(arguments).output().unwrap())
}

fn said(output: &Output) -> (Option<i32>, String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// The file of the `n`th invented record.
fn record_file(folder: &Path, n: usize) -> PathBuf {
    let path = folder.join(format!("{n:06}.close-out.json"));
    std::fs::write(&path, Envelope::around(&made::record(n)).bytes()).unwrap();
    path
}

fn add(register: &Path, records: &[PathBuf]) -> Command {
    let mut arguments = vec!["register", "add", "--register", text(register)];
    arguments.extend(records.iter().map(|path| text(path)));
    asleft(&arguments)
}

/// The sites of the records that a writer said are there.
fn acknowledged(stdout: &str) -> Vec<String> {
    // a line that was cut off was not said
    let whole = stdout.rsplit_once('\n').map_or("", |(whole, _)| whole);
    whole.lines().map(|line| line.split("  ").nth(1).expect("entry and site").to_owned()).collect()
}

/// A generator of its own, so that a failure can be run again: `ASLEFT_SEED`.
struct Random(u64);

impl Random {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound.max(1)
    }
}

/// Two writers, killed at random moments: whatever was acknowledged is there, and the register is sound.
/// `ASLEFT_KILLS=200` for as many as were asked for.
#[test]
fn killed_writers_lose_nothing_that_they_acknowledged() {
    let number = |name: &str, without: u64| std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(without);
    let (kills, seed) = (number("ASLEFT_KILLS", 20), number("ASLEFT_SEED", 7));
    let folder = tempfile::tempdir().unwrap();
    let (register, mut random) = (folder.path().join("register.db"), Random(seed));
    const EACH: usize = 12;
    let files = |from: usize| (from..from + EACH).map(|n| record_file(folder.path(), n)).collect::<Vec<_>>();
    // how long a writer takes that nobody kills
    let started = Instant::now();
    assert!(add(&register, &files(0)).output().unwrap().status.success());
    let takes = started.elapsed();
    let (mut there, mut killed, mut cut) = (BTreeSet::new(), 0, 0);
    there.extend((0..EACH).map(|n| format!("made-{n:06}")));
    let mut round = 0;
    while killed < kills {
        round += 1;
        let mut writers: Vec<Child> = (0..2)
            .map(|writer| {
                let mut command = add(&register, &files((2 * round + writer) * EACH));
                command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap()
            })
            .collect();
        for writer in &mut writers {
            // closest together where records are written
            let moment = takes.as_micros() as u64 * (20 + random.below(120)) / 100;
            std::thread::sleep(Duration::from_micros(moment / 2));
            writer.kill().unwrap();
        }
        for mut writer in writers {
            let mut stdout = String::new();
            writer.stdout.take().unwrap().read_to_string(&mut stdout).unwrap();
            killed += u64::from(!writer.wait().unwrap().success());
            let sites = acknowledged(&stdout);
            cut += usize::from(!sites.is_empty() && sites.len() < EACH);
            there.extend(sites);
        }
        let found = Register::open(&register).unwrap();
        let mut sites = BTreeSet::new();
        found
            .each(&Filter::default(), &mut |entry, _| {
                sites.insert(entry.header.site);
                Ok(())
            })
            .unwrap();
        let lost: Vec<&String> = there.difference(&sites).collect();
        assert!(lost.is_empty(), "round {round} of seed {seed}: {lost:?}");
        if round.is_multiple_of(10) || killed >= kills {
            let verified = found.verify(None, &mut |_| {}).unwrap_or_else(|fault| panic!("round {round} of seed {seed}: {fault}"));
            assert!(verified.entries >= there.len() as u64);
        }
    }
    println!("{killed} killed, {cut} in the middle of their records; {} acknowledged records, all there", there.len());
    assert!(cut > 0, "no writer was killed while it wrote");
    // and the next writer goes on where they were stopped
    assert!(add(&register, &files((2 * round + 2) * EACH)).output().unwrap().status.success());
    let (code, says, _) = ran(&["register", "verify", "--register", text(&register)]);
    assert_eq!(code, Some(0), "{says}");
    assert!(says.contains("byte for byte as its last writer left it"), "{says}");
}

/// The program in a shell in which no file may grow beyond so many blocks of 512 bytes; `None` where
/// there is no such shell.
fn without_room(blocks: usize, arguments: &[&str]) -> Option<(Option<i32>, String, String)> {
    let script = format!("trap '' XFSZ; ulimit -f {blocks} || exit 99; exec \"$0\" \"$@\"");
    let output =
        Command::new("sh").args(["-c", &script, env!("CARGO_BIN_EXE_asleft")]).args(arguments).stdin(Stdio::null()).output().ok()?;
    (output.status.code() != Some(99)).then(|| said(&output))
}

#[test]
fn no_room_loses_nothing_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let register = folder.path().join("register.db");
    let files: Vec<PathBuf> = (0..60).map(|n| record_file(folder.path(), n)).collect();
    assert!(add(&register, &files[..10]).output().unwrap().status.success());
    let size = std::fs::metadata(&register).unwrap().len() as usize / 512;
    let mut arguments = vec!["register", "add", "--register", text(&register)];
    arguments.extend(files[10..].iter().map(|path| text(path)));
    let mut there = 10;
    for blocks in [0, 8, size / 2, size, size + 20, size + 100] {
        let Some((code, stdout, stderr)) = without_room(blocks, &arguments) else {
            return println!("skipped: no shell that limits the size of files");
        };
        assert_eq!(code, Some(2), "{blocks} blocks: {stderr}");
        assert!(stderr.contains(text(&register)) && stderr.contains("nothing was added"), "{blocks} blocks: {stderr}");
        assert!(!stderr.contains("panicked"), "{stderr}");
        there += stdout.lines().filter(|line| line.contains("  link ")).count();
        let (code, says, stderr) = ran(&["register", "verify", "--register", text(&register)]);
        assert_eq!(code, Some(0), "{blocks} blocks: {says}{stderr}");
        assert!(says.contains(&format!("{there} entries")), "{blocks} blocks, {there} acknowledged: {says}");
    }
    assert!(there > 10, "some were added before the room ran out");
    assert!(add(&register, &files).output().unwrap().status.success());
    assert_eq!(Register::open(&register).unwrap().len().unwrap(), 60);
}

/// On a disk of its own that runs full, and that is then set read-only. Needs a system that lets a
/// process mount one for itself alone.
#[test]
fn a_full_disk_and_a_folder_that_cannot_be_written_to() {
    let folder = tempfile::tempdir().unwrap();
    let disk = folder.path().join("disk");
    std::fs::create_dir(&disk).unwrap();
    let files: Vec<String> = (0..80).map(|n| text(&record_file(folder.path(), n)).to_owned()).collect();
    let script = format!(
        "mount -t tmpfs -o size=400k tmpfs '{disk}' 2>/dev/null || exit 99
         export ASLEFT_REGISTER='{disk}/register.db'
         \"$0\" register add {files}; echo \"added $?\"
         \"$0\" register verify; echo \"verified $?\"
         mount -o remount,ro '{disk}' || exit 99
         \"$0\" register add {files}; echo \"added $?\"
         \"$0\" register list >/dev/null; echo \"listed $?\"
         \"$0\" register verify; echo \"verified $?\"",
        disk = text(&disk),
        files = files.join(" ")
    );
    let shell = Command::new("unshare").args(["-rm", "sh", "-c", &script, env!("CARGO_BIN_EXE_asleft")]).stdin(Stdio::null()).output();
    let Some(output) = shell.ok().filter(|output| output.status.code() == Some(0)) else {
        return println!("skipped: this system lets nobody mount a disk");
    };
    let (_, stdout, stderr) = said(&output);
    let acknowledged = stdout.lines().filter(|line| line.contains("  link ")).count();
    assert!((5..80).contains(&acknowledged), "{stdout}{stderr}");
    assert_eq!(stdout.matches(&format!("{acknowledged} entries in one chain")).count(), 2, "{stdout}{stderr}");
    for line in ["added 2", "verified 0", "listed 0"] {
        assert!(stdout.contains(line), "{line}: {stdout}{stderr}");
    }
    assert!(!stdout.contains("added 0") && stderr.contains("no room on the disk: nothing was added"), "{stderr}");
    assert!(stderr.contains("cannot be written to: nothing was added"), "{stderr}");
}

#[test]
fn a_private_key_is_its_owners_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (key, public) = (folder.path().join("office.key"), folder.path().join("office.key.pub"));
    let (code, stdout, stderr) = ran(&["keys", "new", "--out", text(&key)]);
    assert_eq!(code, Some(0), "{stderr}");
    let private = std::fs::read_to_string(&key).unwrap();
    let secret = private.lines().nth(1).unwrap();
    assert!(!stdout.contains(secret) && !stderr.contains(secret));
    assert_eq!(stdout, std::fs::read_to_string(&public).unwrap());
    assert_eq!(ran(&["keys", "show", text(&key)]).1, stdout);
    assert_eq!(ran(&["keys", "show", text(&public)]).1, stdout);
    let (code, _, stderr) = ran(&["keys", "new", "--out", text(&key)]);
    assert_eq!(code, Some(2));
    assert!(stderr.contains("never written over"), "{stderr}");
    assert_eq!(std::fs::read_to_string(&key).unwrap(), private);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&key).unwrap().permissions().mode() & 0o777, 0o600);
        let record = record_file(folder.path(), 1);
        for mode in [0o640, 0o604, 0o660] {
            std::fs::set_permissions(&key, std::fs::Permissions::from_mode(mode)).unwrap();
            let (code, _, stderr) = ran(&["seal", text(&record), "--key", text(&key)]);
            assert_eq!(code, Some(2));
            assert!(stderr.contains("others may read this private key") && !stderr.contains(secret), "{stderr}");
        }
    }
}

/// Another program finds the same keys and the same signature good.
#[test]
fn openssl_reads_the_keys_and_checks_the_seal() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    if !Command::new("openssl").arg("version").output().is_ok_and(|output| output.status.success()) {
        return println!("skipped: no openssl");
    }
    ran(&["keys", "new", "--out", text(&at("key"))]);
    let record = record_file(folder.path(), 3);
    assert_eq!(ran(&["seal", text(&record), "--key", text(&at("key"))]).0, Some(0));
    let envelope = Envelope::read(&std::fs::read(&record).unwrap()).unwrap();
    // as DEVELOPERS.md says: what the hash is of, and the hash
    std::fs::write(at("message"), [b"asleft record, seal 1\n".as_slice(), &canonical::of_hex::<32>(envelope.sha256()).unwrap()].concat())
        .unwrap();
    std::fs::write(at("signature"), canonical::of_hex::<64>(&envelope.signatures[0].signature).unwrap()).unwrap();
    let openssl = |arguments: &[&str]| said(&Command::new("openssl").current_dir(folder.path()).args(arguments).output().unwrap());
    let (code, says, stderr) =
        openssl(&["pkeyutl", "-verify", "-pubin", "-inkey", "key.pub", "-rawin", "-in", "message", "-sigfile", "signature"]);
    assert_eq!(code, Some(0), "{says}{stderr}");
    let (code, public, stderr) = openssl(&["pkey", "-in", "key", "-pubout"]);
    assert_eq!(code, Some(0), "{stderr}");
    assert!(std::fs::read_to_string(at("key.pub")).unwrap().ends_with(&public), "{public}");
}

/// A folder with an overlay of an invented network, and keys of two operators.
fn operator(folder: &Path) -> PathBuf {
    let overlay = folder.join("overlays/quillbrook/2.0.0.yaml");
    std::fs::create_dir_all(overlay.parent().unwrap()).unwrap();
    std::fs::copy(root().join("profiles/overlays/quillbrook/2.0.0.yaml"), &overlay).unwrap();
    for key in ["operator.key", "other.key"] {
        assert_eq!(ran(&["keys", "new", "--out", text(&folder.join(key))]).0, Some(0));
    }
    overlay
}

#[test]
fn only_signed_profiles_are_used_where_that_is_asked() {
    let folder = tempfile::tempdir().unwrap();
    let profiles = folder.path().join("profiles");
    let overlay = operator(&profiles);
    // keys are no profiles
    let keys = folder.path().join("keys");
    std::fs::create_dir(&keys).unwrap();
    for name in ["operator.key", "operator.key.pub", "other.key", "other.key.pub"] {
        std::fs::rename(profiles.join(name), keys.join(name)).unwrap();
    }
    let (key, public, other) = (keys.join("operator.key"), keys.join("operator.key.pub"), keys.join("other.key"));
    let site = "tests/sites/larkspur-row-3.yaml";
    let check = |more: &[&str]| {
        let base = ["check", site, "--as-of", "2026-11-25", "--profiles", text(&profiles)];
        ran(&[&base, more].concat())
    };
    let signed = ["--require-signed", text(&public), "--trust-shipped"];
    let refused = |more: &[&str], says: &str| {
        let (code, stdout, stderr) = check(more);
        assert_eq!(code, Some(2), "{stdout}{stderr}");
        // folded to the width of a terminal
        let words = format!("{stdout} {stderr}").split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(says), "{says}: {stdout}{stderr}");
    };
    assert_eq!(check(&[]).0, Some(0));
    refused(&signed, "is not signed: there is no");
    assert_eq!(ran(&["sign-profile", text(&overlay), "--key", text(&other)]).0, Some(0));
    refused(&signed, "and not by");
    assert_eq!(ran(&["sign-profile", text(&overlay), "--key", text(&key)]).0, Some(0));
    assert_eq!(check(&signed).0, Some(0), "{:?}", check(&signed));
    // what comes with the program is nobody's word, unless somebody says that it is good enough
    refused(&signed[..2], "comes with the program");
    // for each verb that uses profiles
    for verb in [
        &["sheet", site][..],
        &["diff", "quillbrook/2.0.0", "as-nzs-4777.2/2020-amd2/australia-a"],
        &["curve", site, "--of", "volt-watt"],
        &["pin", site],
    ] {
        let (code, ..) = ran(&[verb, &["--as-of", "2026-11-25", "--profiles", text(&profiles)], &signed[..2]].concat());
        assert_eq!(code, Some(2), "{verb:?}");
        let (code, _, stderr) = ran(&[verb, &["--as-of", "2026-11-25", "--profiles", text(&profiles)], &signed].concat());
        assert_ne!(code, Some(2), "{verb:?}: {stderr}");
    }
    // one byte more
    let text_of = std::fs::read_to_string(&overlay).unwrap();
    std::fs::write(&overlay, format!("{text_of}\n")).unwrap();
    refused(&signed, "was altered since it was signed");
    std::fs::write(&overlay, &text_of).unwrap();
    assert_eq!(check(&signed).0, Some(0));
    // a file that the program itself is given is a profile too
    let draft = folder.path().join("draft.yaml");
    std::fs::write(&draft, &text_of).unwrap();
    let (code, ..) = ran(&[&["diff", text(&draft), "quillbrook/3.0.0", "--as-of", "2026-11-25"], &signed[..]].concat());
    assert_eq!(code, Some(2));
    // no key, no answer
    let (code, _, stderr) = check(&["--require-signed", text(&overlay), "--trust-shipped"]);
    assert_eq!(code, Some(2));
    assert!(stderr.contains("no Ed25519 key"), "{stderr}");
}

#[test]
fn a_register_takes_sound_records_only_and_all_or_none() {
    let folder = tempfile::tempdir().unwrap();
    let register = folder.path().join("register.db");
    let (good, bad) = (record_file(folder.path(), 1), folder.path().join("bad.json"));
    let altered = String::from_utf8(Envelope::around(&made::record(2)).bytes()).unwrap().replace("251 V", "261 V");
    for (bytes, says) in [
        (altered.clone(), "the record was altered"),
        ("{}".to_owned(), "not a record"),
        (altered.replace("\"format\":1", "\"format\":2"), "was altered"),
        (String::new(), "no JSON"),
    ] {
        std::fs::write(&bad, bytes).unwrap();
        let (code, stdout, stderr) = said(&add(&register, &[good.clone(), bad.clone()]).output().unwrap());
        assert_eq!((code, &*stdout), (Some(2), ""), "{stderr}");
        assert!(stderr.contains(says) && stderr.contains("nothing was added"), "{stderr}");
        assert!(!register.exists());
    }
    let mut lesson = made::record(3);
    lesson.given.site.text.push_str("training: { seed: 4 }\n");
    std::fs::write(&bad, Envelope::around(&lesson).bytes()).unwrap();
    let (code, _, stderr) = said(&add(&register, &[bad]).output().unwrap());
    assert_eq!(code, Some(2));
    assert!(stderr.contains("training"), "{stderr}");
    // the same twice, in one call and in two
    let (code, stdout, _) = said(&add(&register, &[good.clone(), good.clone()]).output().unwrap());
    assert_eq!(code, Some(0));
    assert!(stdout.lines().nth(1).unwrap().contains("was there already; nothing was changed"), "{stdout}");
    let before = std::fs::read(&register).unwrap();
    assert!(said(&add(&register, &[good]).output().unwrap()).1.contains("was there already"));
    assert_eq!(std::fs::read(&register).unwrap(), before);
}
