"""Writes an invented fleet: a site's settings a line, and a year of five-minute means of each.

    python benches/behaves/made.py FOLDER SITES [--days 365] [--csv]

FOLDER gets `sites.ndjson` and `logs.parquet` (whole sites, each in order of time), with `--csv` `logs.csv` beside it.
Needs numpy and pyarrow. Every fiftieth device has its volt-var off and every seventieth its volt-watt; nothing in it is
measured, and the same number of sites gives the same bytes.
"""

import argparse
import json
import os

import numpy as np
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet as pq

RATED, STEP = 6.0, 300
VOLT_VAR = ([207.0, 220.0, 240.0, 258.0], [2.64, 0.0, 0.0, -3.6])
VOLT_WATT = ([253.0, 260.0], [6.0, 1.2])


def site(n):
    return {
        "kind": "site", "site": f"orchard-{n:05}", "network": "quillbrook",
        "requirements": {"overlay": "^2.0", "region": "australia-a"},
        "dates": {"applied": "2026-02-16", "approved": "2026-03-02", "installed": "2026-04-09"},
        "supply": {"phases": 1, "nominal": "230 V line-neutral"},
        "export": {"kind": "fixed", "approved": "5 kW", "reference": f"QB-2026-{n:05}"},
        "answerable": {"crew": f"west {n % 3 + 1}", "branch": "west"},
        "devices": {"inverter-1": {
            "certified": {"standard": "as-nzs-4777.2", "edition": {"year": 2020, "amendment": 2}},
            "source": "solar", "nameplate": "6 kVA", "model": "Sedge 6S", "firmware": f"1.{n % 2}",
            "as-left": {
                "date": "2026-04-09", "role": "licensed installer", "known-by": "display", "region-selected": "australia-a",
                "settings": {
                    "overvoltage-1": {"threshold": "265 V", "definite-delay": "1.5 s"}, "overvoltage-2": {"threshold": "275 V"},
                    "sustained-overvoltage": {"threshold": "258 V"},
                    "reconnection": {"observation-time": "60 s", "ramp-rate": "10 %/min"},
                    "volt-watt": {"state": "enabled", "points": [["253 V", "100 %"], ["260 V", "20 %"]]},
                    "volt-var": {"state": "enabled", "points": [["207 V", "44 %"], ["220 V", "0 %"], ["240 V", "0 %"], ["258 V", "-60 %"]]},
                    "export-limit": {"state": "enabled", "site-total": "5 kW"},
                },
            },
        }},
    }


def rows(n, days):
    """Time, volts, kilowatts and kilovars of a site."""
    rand, per_day = np.random.default_rng(n), 86400 // STEP
    at = np.arange(days * per_day)
    hour, day = at % per_day * (STEP / 3600), at // per_day
    cloud = np.where(rand.random(len(at)) < 0.1, rand.random(len(at)), 1.0)
    season = 0.75 + 0.25 * np.cos(2 * np.pi * (day - 5) / 365)
    sun = 6.4 * season * np.clip(np.sin(np.pi * (hour - 6) / 12), 0, None) * cloud
    # most supplies are strong, and few ever leave the dead band of volt-var
    supply = 225 + 7 * rand.random() + 2 * np.exp(-(((hour - 12.5) / 3.5) ** 2)) + np.repeat(rand.normal(0, 1.2, days), per_day)
    supply += rand.normal(0, 0.5, len(at))
    resistance, reactance = 0.3 + 2.2 * rand.random() ** 3, 0.3
    power, vars_ = np.minimum(sun, RATED), np.zeros(len(at))
    for _ in range(6):
        volts = supply + resistance * power + reactance * vars_
        wanted = np.zeros(len(at)) if n % 50 == 0 else np.interp(volts, *VOLT_VAR) * (power > 0.1)
        vars_ += 0.6 * (wanted - vars_)
        cap = RATED if n % 70 == 0 else np.interp(volts, *VOLT_WATT)
        power += 0.6 * (np.minimum(np.minimum(sun, cap), np.sqrt(RATED**2 - vars_**2)) - power)
    volts = supply + resistance * power + reactance * vars_
    start = np.datetime64("2025-11-01T00:00:00", "us")
    time = start + at * np.timedelta64(STEP, "s")
    return time, np.round(volts + rand.normal(0, 0.05, len(at)), 1), np.round(power, 2), np.round(vars_, 2)


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("folder")
    arguments.add_argument("sites", type=int)
    arguments.add_argument("--days", type=int, default=365)
    arguments.add_argument("--csv", action="store_true")
    arguments = arguments.parse_args()
    os.makedirs(arguments.folder, exist_ok=True)
    inside = lambda name: os.path.join(arguments.folder, name)
    with open(inside("sites.ndjson"), "w", newline="\n") as file:
        file.writelines(json.dumps(site(n)) + "\n" for n in range(arguments.sites))
    schema = pa.schema([("site", pa.string()), ("time", pa.timestamp("us", tz="UTC")), ("V_L1 [V]", pa.float64()), ("P [kW]", pa.float64()), ("Q [kvar]", pa.float64())])
    as_csv = pa.csv.CSVWriter(inside("logs.csv"), schema) if arguments.csv else None
    with pq.ParquetWriter(inside("logs.parquet"), schema) as out:
        for n in range(arguments.sites):
            time, volts, power, vars_ = rows(n, arguments.days)
            names = pa.array(np.full(len(time), f"orchard-{n:05}"))
            table = pa.table([names, pa.array(time).cast(pa.timestamp("us", tz="UTC")), volts, power, vars_], schema=schema)
            out.write_table(table)
            if as_csv:
                as_csv.write_table(table)
    if as_csv:
        as_csv.close()


if __name__ == "__main__":
    main()
