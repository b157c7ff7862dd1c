#!/usr/bin/env python3
"""Writes the logs of measured behaviour beside it. All of them are invented; no site, no network, no device.

    python3 tests/logs/behaviour.py

Each is three days of five-minute means at the terminals of larkspur-row-3 (tests/sites), a device of 6 kVA behind a weak
supply: volt-var from 240 V (0 %) to 258 V (-60 %), volt-watt from 253 V to 260 V (20 %), an export limit of 5 kW.

- does-as-set.csv: it does so.
- volt-var-off.csv: the same days, and its volt-var does not act.
"""
import math
import random
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).parent
RATED, LIMIT, STEP, INNER = 6.0, 5.0, 300, 10


def volt_var(volts):
    """Kilovars supplied, below zero absorbed."""
    return -0.6 * RATED * min(1.0, max(0.0, (volts - 240) / 18)) + 0.44 * RATED * min(1.0, max(0.0, (220 - volts) / 13))


def volt_watt(volts):
    """The most kilowatts."""
    return RATED * min(1.0, max(0.2, 1 - 0.8 * (volts - 253) / 7))


def supply(day, hour, wander):
    """Volts with the device off: higher towards noon, and more so each day."""
    return 243.0 + day + 4.5 * math.exp(-(((hour - 12.5) / 3.5) ** 2)) + wander


def log(name, acts):
    rand, start = random.Random(25), datetime(2026, 11, 16)
    power, vars_, wander, rows = 0.0, 0.0, 0.0, []
    for n in range(3 * 86400 // STEP):
        sums = [0.0] * 5
        for inner in range(STEP // INNER):
            second = n * STEP + inner * INNER
            day, hour = second // 86400, second % 86400 / 3600
            wander = 0.97 * wander + rand.gauss(0, 0.12)
            cloud = 0.55 if rand.random() < 0.03 and day == 1 else 1.0
            sun = 6.4 * max(0.0, math.sin(math.pi * (hour - 5.5) / 13)) * cloud
            load = 0.2 + 0.1 * math.sin(hour) ** 2 + (1.8 if 18 < hour < 20.5 else 0.0)
            volts = supply(day, hour, wander) + 0.9 * power + 0.35 * vars_
            vars_ = volt_var(volts) if acts and power > 0.1 else 0.0
            power = min(sun, math.sqrt(RATED**2 - vars_**2), volt_watt(volts), LIMIT + load)
            sums = [old + new for old, new in zip(sums, (volts, power, vars_, sun, power - load))]
        volts, mean, reactive, sun, export = (value / (STEP // INNER) for value in sums)
        # the meter reads 0.3 V too high, and kilowatts to a hundredth
        at = (start + timedelta(seconds=n * STEP)).strftime("%Y-%m-%dT%H:%M:%S+10:00")
        rows.append(f"{at},{volts + 0.3 + rand.gauss(0, 0.05):.1f},{mean:.2f},{reactive:.2f},{sun:.2f},{export:.2f}")
    with open(HERE / name, "w", newline="\n") as file:
        file.write("time,V_L1 [V],P [kW],Q [kvar],available power [kW],net export [kW]\n")
        file.writelines(row + "\n" for row in rows)


log("does-as-set.csv", True)
log("volt-var-off.csv", False)
