"""The same bands of the same fleet, vectorised: what `asleft behaves --fleet` is timed against.

    python benches/behaves/with_numpy.py LOGS.parquet

Reads the same columns, and for each of nine constant errors of the meter works out between what vars a device that acts
as set may be read (the curve over the voltages that may have been, moved by Scarf's bound at each kink, tolerance and
error beside it) and above what power none may be; counts minutes outside and minutes that tell, a day at a time. It has
no gaps, no stuck rows, no players of trips, and decides nothing. Prints seconds, rows and minutes outside.
"""

import sys
import time

import numpy as np
import pyarrow.parquet as pq

RATED, NOMINAL, STEP = 6.0, 230.0, 5.0
VOLTS, WATTS, VARS, TOLERANCE = 0.005 * NOMINAL, 0.01 * RATED, 0.015 * RATED, 0.04 * RATED
CURVES = {"volt-var": ([207.0, 220.0, 240.0, 258.0], [2.64, 0.0, 0.0, -3.6]), "volt-watt": ([253.0, 260.0], [6.0, 1.2])}


def bounds(curve, mean, error, spread):
    """Least and greatest mean of a curve, its variable's mean within an error and its deviation within a spread."""
    at, level = (np.array(points) for points in curve)
    low, high = mean - error, mean + error
    ends = np.interp(low, at, level), np.interp(high, at, level)
    least, most = np.minimum(*ends), np.maximum(*ends)
    slopes = np.concatenate(([0.0], np.diff(level) / np.diff(at), [0.0]))
    for x, y, by in zip(at, level, np.diff(slopes)):
        within = (low < x) & (x < high)
        least, most = np.where(within, np.minimum(least, y), least), np.where(within, np.maximum(most, y), most)
        away = np.maximum(np.maximum(low - x, x - high), 0.0)
        moved = by * 0.5 * (np.hypot(spread, away) - away)
        least, most = (least, most + moved) if by > 0 else (least + moved, most)
    return np.maximum(least, level.min()), np.minimum(most, level.max())


def count(time_, volts, power, vars_):
    """Minutes outside for the error that excuses the most, of both responses."""
    day = (time_ // 86_400_000_000 - time_[0] // 86_400_000_000).astype(np.int64)
    days = int(day[-1]) + 1
    step = np.abs(np.diff(volts, prepend=volts[0]))
    spread = np.maximum(1.2 * (step + np.roll(step, -1)) / 2, 0.6)
    loaded, on = power >= 0.25 * RATED, power >= 0.02 * RATED
    outside = []
    for shift in np.linspace(-VOLTS, VOLTS, 9):
        least, most = bounds(CURVES["volt-var"], volts + shift, VOLTS / 8, spread)
        least, most = least - TOLERANCE - VARS, most + TOLERANCE + VARS
        is_outside = loaded & ((vars_ < least) | (vars_ > most))
        tells = loaded & ((least > VARS) | (most < -VARS))
        _, cap = bounds(CURVES["volt-watt"], volts + shift, VOLTS / 8, spread)
        is_above = on & (power > cap + TOLERANCE + WATTS)
        by_day = [np.bincount(day, weights=rows, minlength=days) * STEP for rows in (is_outside, tells, is_above)]
        outside.append((by_day[0].sum(), by_day[2].sum()))
    return np.array(outside).min(axis=0)


begun = time.perf_counter()
file = pq.ParquetFile(sys.argv[1])
rows, total, read = 0, np.zeros(2), 0.0
for group in range(file.num_row_groups):
    before = time.perf_counter()
    table = file.read_row_group(group)
    columns = [table[name].to_numpy() for name in ("time", "V_L1 [V]", "P [kW]", "Q [kvar]")]
    read += time.perf_counter() - before
    columns[0] = columns[0].astype("datetime64[us]").astype(np.int64)
    rows += len(columns[0])
    total += count(*columns)
print(f"{time.perf_counter() - begun:.3f} {read:.3f} {rows} {total[0]:.0f} {total[1]:.0f}")
