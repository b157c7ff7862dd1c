"""Breaks code one line at a time in a copy of the tree, and sees that a test notices."""

import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
# seconds until a test that does not end counts as having noticed
LONGEST = 600


def run(test):
    """What came of the tests; `None` where they do not end."""
    with subprocess.Popen(test, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True) as ran:
        try:
            out, err = ran.communicate(timeout=LONGEST)
        except subprocess.TimeoutExpired:
            os.killpg(ran.pid, signal.SIGKILL)
            return None
        return subprocess.CompletedProcess(test, ran.returncode, out, err)


def failed(out):
    """The tests that failed, by what they print."""
    named = [line.split()[1] for line in out.splitlines() if line.startswith("test ") and line.endswith("FAILED")]
    listed = [line.strip() for line in out.splitlines() if line.startswith("    ") and " " not in line.strip()]
    return sorted(set(named + listed))[:3]


def every(broken, code, tests, words):
    """Breaks those of `broken` whose words contain all `words`: what is meant, the file below `code`, what stands there
    and what it becomes. `tests` are what cargo is asked to run. 1 where a broken line passes, else 0."""
    chosen = [one for one in broken if all(word in one[0] for word in words)]
    survived = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = pathlib.Path(folder) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns("target", ".git"))
        test = ["cargo", "test", "--quiet", "--manifest-path", str(tree / "Cargo.toml"), *tests]
        if subprocess.run(test, capture_output=True).returncode:
            sys.exit("the tests fail before anything is broken")
        for meant, name, was, becomes in chosen:
            path = tree / code / name
            text = path.read_text()
            if text.count(was) != 1:
                print(f"NOT FOUND  {meant}: {name} has it {text.count(was)} times", flush=True)
                survived += 1
                continue
            path.write_text(text.replace(was, becomes))
            # what takes long to build does not hang
            built = subprocess.run([*test, "--no-run"], capture_output=True, text=True)
            ran = run(test) if built.returncode == 0 else built
            path.write_text(text)
            if ran is None:
                print(f"hangs      {meant}", flush=True)
                continue
            is_noticed = ran.returncode != 0 and built.returncode == 0
            survived += not is_noticed
            verdict = "caught" if is_noticed else "NO BUILD" if built.returncode else "SURVIVED"
            by = failed(ran.stdout) if is_noticed else []
            print(f"{verdict:<10} {meant}{': ' + ', '.join(by) if by else ''}", flush=True)
    print(f"{len(chosen)} broken, {survived} not noticed")
    return 1 if survived else 0
