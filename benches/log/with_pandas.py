"""The same questions of the same log, vectorised: trips of each stage and the ten-minute mean.

    python3 with_pandas.py LOG

Prints seconds for reading, seconds for answering, rows, and how many runs each stage would trip on.
Stages as AS/NZS 4777.2:2020 has them in region A (from memory), as in the site that `asleft` plays.
"""

import sys
import time

import numpy as np
import pandas as pd

STAGES = [
    ("voltage", "<", 180.0, 10), ("voltage", "<", 70.0, 1), ("voltage", ">", 265.0, 1), ("voltage", ">", 275.0, 0),
    ("f [Hz]", "<", 47.0, 1), ("f [Hz]", ">", 52.0, 0),
]
PHASES = ["V_L1 [V]", "V_L2 [V]", "V_L3 [V]"]


def runs(outside, at, least):
    """How many runs of rows outside last at least so long."""
    edges = np.diff(np.concatenate(([0], outside.astype(np.int8), [0])))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return int(np.count_nonzero(at[ends] - at[begins] >= least))


begun = time.perf_counter()
log = pd.read_csv(sys.argv[1], parse_dates=["time"])
read = time.perf_counter()
at = log["time"].dt.tz_localize(None).to_numpy().astype("datetime64[s]").astype(np.int64)
phases = [log[phase].to_numpy() for phase in PHASES]
high, low = np.maximum.reduce(phases), np.minimum.reduce(phases)
trips = []
for column, side, threshold, least in STAGES:
    values = log[column].to_numpy() if column != "voltage" else (high if side == ">" else low)
    trips.append(runs(values > threshold if side == ">" else values < threshold, at, least))
mean = np.maximum.reduce([log[phase].rolling(600).mean().to_numpy() for phase in PHASES])
trips.append(runs(mean > 255.0, at, 0))
cap = np.interp(sum(phases) / 3, [253.0, 260.0], [6.0, 1.2])
lost = float(np.maximum(log["available power [kW]"].to_numpy() - cap, 0).sum() / 3600)
answered = time.perf_counter()
print(f"{read - begun:.3f} {answered - read:.3f} {len(log)} {trips} {lost:.1f}")
