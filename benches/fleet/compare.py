"""One table: `asleft check` on an invented fleet, against reading alone, SQL and a JSON Schema.

Called by benches/fleet.sh, which builds what is run here. Every program has a process of its own and
reads the same file, one thread unless it says otherwise. They take turns, and the best of each
counts. A count that is not what the fleet was made with ends it with exit 1.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
ROUNDS = 3


def timed(command):
    """Wall time, processor time and peak memory of one run, and what it printed."""
    with tempfile.TemporaryFile() as printed:
        begun = time.monotonic()
        child = subprocess.Popen(command, stdout=printed, stderr=subprocess.DEVNULL)
        peak, done = 0, 0
        while not done:
            # what wait4 tells of memory counts this process too, until the other program begins
            peak = max(peak, resident(child.pid))
            done, status, used = os.wait4(child.pid, os.WNOHANG)
            time.sleep(0 if done else 0.01)
        wall = time.monotonic() - begun
        child.returncode = os.waitstatus_to_exitcode(status)
        printed.seek(0)
        return {"wall": wall, "processor": used.ru_utime + used.ru_stime, "peak": peak / 1024, "printed": printed.read()}


def resident(pid):
    """The most memory that a process had at once so far, in kilobytes; Linux only."""
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("VmHWM:")), 0)


def findings_by_fault(printed):
    """How many lines of `--format lines` each kind of finding has; of a fleet of single faults, sites."""
    counts = {}
    for line in printed.decode().splitlines():
        name = line.split("[", 1)[1].split("]", 1)[0]
        counts[name] = counts.get(name, 0) + 1
    return counts


def sql(fleet):
    """What the process for DuckDB does: one thread, the query once."""
    import duckdb

    con = duckdb.connect()
    con.execute("SET threads = 1")
    found = con.execute((HERE / "limits.sql").read_text().replace("FLEET", fleet))
    print(json.dumps(dict(zip([column[0] for column in found.description], found.fetchone()))))


def main(asleft, baselines, fleet, expected):
    expected = json.loads(Path(expected).read_text())
    sites = expected["summary"]["sites"]
    by_fault = {fault["name"]: fault["sites"] for fault in expected["by-fault"]}
    faulty, broken = sum(by_fault.values()), by_fault.get("syntax", 0)

    check = [asleft, "check", fleet, "--as-of", expected["as-of"], "--format", "lines", "--jobs"]
    text = [asleft, "check", fleet, "--as-of", expected["as-of"], "--jobs", "1"]
    only = lambda key: lambda printed: json.loads(printed)[key]
    runs = [
        ("only reading: borrowed serde_json derive", [baselines, "read", fleet], only("refused"), broken),
        ("asleft check, 1 job", [*check, "1"], findings_by_fault, by_fault),
        ("asleft check, 1 job, for people", text, lambda _: None, None),
        ("asleft check, 2 jobs", [*check, "2"], findings_by_fault, by_fault),
        ("five checks in SQL, DuckDB", [sys.executable, __file__, "sql", fleet], json.loads, by_fault),
        ("five checks in a JSON Schema, jsonschema", [baselines, "schema", fleet], only("refused"), faulty),
    ]
    best, wrong = {}, []
    for _ in range(ROUNDS):
        for name, command, counts, wanted in runs:
            run = timed(command)
            if (found := counts(run.pop("printed"))) != wanted:
                wrong.append(f"{name}: found {found}, made with {wanted}")
            kept = best.setdefault(name, run)
            best[name] = {key: max(kept[key], run[key]) if key == "peak" else min(kept[key], run[key]) for key in kept}

    megabytes = os.path.getsize(fleet) / 1e6
    reading = best[runs[0][0]]["processor"]
    print(f"{sites} invented sites of {megabytes / sites * 1e6:.0f} bytes, {faulty} faulty ({faulty / sites:.1%}); best of {ROUNDS} rounds")
    print(f"{'':42}{'wall':>8}{'processor':>11}{'a site':>10}{'peak':>9}{'of reading':>12}")
    for name, run in best.items():
        per_site = run["processor"] / sites * 1e6
        print(f"{name:42}{run['wall']:6.2f} s{run['processor']:9.2f} s{per_site:7.2f} µs{run['peak']:6.0f} MB{reading / run['processor']:12.2f}")
    print("of reading: throughput for each second of processor time, against only reading the same lines")
    for line in dict.fromkeys(wrong):
        print(f"WRONG  {line}")
    sys.exit(bool(wrong))


if sys.argv[1] == "sql":
    sql(sys.argv[2])
else:
    main(*sys.argv[1:])
