"""Ten-minute means as pandas has them: `python3 rolling_means.py > rolling-means.json`.

Invented voltages, seeded; every second and at irregular seconds, a value holding until the next.
An irregular log is filled to one value a second, and the mean at a second is pandas' rolling mean of
the 600 values that held before it. Told are the log, the mean at each of its own times once a window
is full, and the first second at which the mean lies above 255 V.
"""

import json
import random

import pandas as pd

LIMIT = 255.0


def log(rand, irregular, seconds):
    at, rows, volts = 0, [], 253.5
    while at < seconds:
        volts = min(259.0, max(250.0, volts + rand.gauss(0, 0.4)))
        rows.append((at, round(volts, 1)))
        at += rand.choice([1, 2, 3, 7, 19, 60, 240]) if irregular else 1
    return rows


def means(rows):
    held = pd.Series([v for _, v in rows], index=[at for at, _ in rows]).reindex(range(rows[-1][0] + 1)).ffill()
    rolling = held.rolling(600).mean().shift(1)
    above = rolling[rolling > LIMIT + 1e-9]
    at = [at for at, _ in rows if at >= 600]
    at = at[:: max(1, len(at) // 60)]
    return {
        "log": [[at, volts] for at, volts in rows],
        "means": [[second, round(float(rolling[second]), 9)] for second in at],
        "first above": None if above.empty else int(above.index[0]),
    }


rand = random.Random(600)
logs = [means(log(rand, n >= 4, 1200 if n < 4 else 7200)) for n in range(24)]
print(json.dumps({"written by": f"rolling_means.py with pandas {pd.__version__}", "limit": LIMIT, "logs": logs}, separators=(",", ":")).replace('{"log"', '\n{"log"'))
