"""DuckDB in front of `asleft behaves --fleet`: it says whose logs need no reading for volt-var, and lays out the rest.

    python benches/behaves/duckdb_screens.py ASLEFT FOLDER

FOLDER is one that `made.py --csv` wrote. Needs duckdb from PyPI. A site whose
voltage never left the dead band of its volt-var, whatever the meter's error, shows nothing of it: that is a greatest value
in SQL. The others are written into one file, site by site and in order of time, and judged. Ends with 1 where a site that was
screened out shows its volt-var after all, or one that was kept gets another answer than among all.
"""

import json
import subprocess
import sys
import time

import duckdb

asleft, folder = sys.argv[1:3]
# the knee of the fleet's volt-var, and the error of its meter
KNEE, ERROR = 240.0, 0.005 * 230.0
ASKED = ["--measured-at", "terminals", "--q-positive", "supplies", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %", "--as-of", "2026-11-25", "--functions", "volt-var", "--format", "ndjson"]


def judged(log):
    begun = time.monotonic()
    done = subprocess.run([asleft, "behaves", "--fleet", f"{folder}/sites.ndjson", log, *ASKED], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert done.returncode <= 2, done.returncode
    lines = [json.loads(line) for line in done.stdout.decode().splitlines()]
    return {line["site"]: line["functions"] for line in lines if line["answer"] != "no-log"}, time.monotonic() - begun


laid = f"{folder}/kept.csv"
begun = time.monotonic()
database = duckdb.connect()
database.execute(f"create view logs as select * from '{folder}/logs.parquet'")
database.execute(f"""create table kept as select site from logs group by site
    having max("V_L1 [V]") filter ("P [kW]" >= 1.5) > {KNEE - ERROR} or min("V_L1 [V]") filter ("P [kW]" >= 1.5) < {220.0 + ERROR}""")
sites, kept = database.execute("select (select count(distinct site) from logs), (select count(*) from kept)").fetchone()
screened = time.monotonic() - begun
database.execute(f"""copy (select * from logs semi join kept using (site) order by site, time)
    to '{laid}' (format csv, header)""")
wrote = time.monotonic() - begun - screened
everything, took_all = judged(f"{folder}/logs.csv")
some, took_some = judged(laid)

answer = lambda functions: [of["answer"] for of in functions if of["against"] == "as-set"]
missed = [site for site in everything if site not in some and answer(everything[site]) != ["not-shown"]]
differ = [site for site in some if some[site] != everything.get(site)]
print(f"{sites} sites, {kept} kept by the screen: {screened:.1f} s to screen, {wrote:.1f} s to lay out, {took_some:.1f} s to judge them; all of them {took_all:.1f} s")
print(f"screened out and yet shown: {len(missed)}; another answer than among all: {len(differ)}")
sys.exit(bool(missed or differ))
