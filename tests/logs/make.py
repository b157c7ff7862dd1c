#!/usr/bin/env python3
"""Writes the example logs beside it. All of them are invented; no site, no network, no device.

    python3 tests/logs/make.py
"""
import math
import random
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).parent


def write(name, heading, rows):
    with open(HERE / name, "w", newline="\n") as file:
        file.write(heading + "\n")
        file.writelines(row + "\n" for row in rows)


def stamp(start, seconds, digits=0):
    at = start + timedelta(seconds=seconds)
    text = at.strftime("%Y-%m-%dT%H:%M:%S")
    return text + (f".{at.microsecond // 10 ** (6 - digits):0{digits}d}" if digits else "") + "+10:00"


def noon_creep():
    """A sunny day behind a long service: 6 V of rise at full output, a supply that creeps up towards noon.

    The device answers by volt-watt from 253 V to 260 V, trips when its ten-minute average passes 255 V,
    waits 60 s and comes back at 10 % a minute.
    """
    rand, start, step = random.Random(19), datetime(2026, 10, 21, 11, 0), 3
    rows, means, off_until, share, power = [], [], -1, 1.0, 5.0
    for n in range(3 * 3600 // step):
        second = n * step
        hour = 11 + second / 3600
        supply = 247.8 + 2.2 * math.exp(-(((hour - 12.6) / 0.8) ** 2)) + rand.gauss(0, 0.15)
        available = 6.2 * math.exp(-(((hour - 12.4) / 3.2) ** 2)) + rand.gauss(0, 0.02)
        volts = supply + 1.25 * power
        means.append(volts)
        mean = sum(means[-200:]) / 200 if len(means) >= 200 else 0.0
        if mean > 255 and off_until < second and power > 0:
            off_until, share = second + 63, 0.0
        if second <= off_until:
            power = 0.0
            if volts > 253:
                off_until = second + 60
        else:
            share = min(1.0, share + step * 0.1 / 60)
            cap = 6.0 * min(1.0, max(0.2, 1 - 0.8 * (volts - 253) / 7))
            power += (min(available, cap, 5.0, 6.0 * share) - power) * 0.3
        rows.append(f"{stamp(start, second)},{volts:.1f},{50 + rand.gauss(0, 0.015):.2f},{power:.2f},{available:.2f}")
    write("noon-creep.csv", "time,V_L1 [V],f [Hz],P [kW],available power [kW]", rows)


def loose_neutral():
    """Three phases of a workshop; the neutral lets go for a minute and a half, and again."""
    rand, start, rows = random.Random(4), datetime(2026, 9, 3, 15, 20), []
    for second in range(600):
        is_loose = 200 <= second < 290 or 400 <= second < 430
        shift = 24 + 6 * math.sin(second / 7) if is_loose else 0
        volts = [236 + shift, 236 - 1.2 * shift, 236 + 0.3 * shift]
        cells = ",".join(f"{v + rand.gauss(0, 0.3):.1f}" for v in volts)
        rows.append(f"{stamp(start, second)},{cells},{50 + rand.gauss(0, 0.01):.2f}")
    write("loose-neutral.csv", "time,V_L1 [V],V_L2 [V],V_L3 [V],f [Hz]", rows)


def tap_step():
    """A day of one-minute means with a tap step of 4 V at 10:40 and back at 15:10; semicolons and decimal commas."""
    rand, start, rows = random.Random(8), datetime(2026, 11, 4, 6, 0), []
    for minute in range(12 * 60):
        stepped = 4.2 if 280 <= minute < 550 else 0.0
        sun = 5.0 * max(0.0, math.sin(math.pi * minute / 720))
        volts = 246.5 + stepped + 1.1 * sun + rand.gauss(0, 0.4)
        at = start + timedelta(minutes=minute)
        rows.append(f"{at:%Y-%m-%d %H:%M:%S};{volts:.1f};{sun:.2f}".replace(".", ","))
    write("tap-step.csv", "timestamp;voltage L1 avg (V);available power (kW)", rows)


def reclose_twice():
    """A recloser opens and closes twice within a minute."""
    rand, rows = random.Random(2), []
    for n in range(2400):
        second = n / 10
        is_open = 20 <= second < 23 or 63 <= second < 64.5
        volts = abs(rand.gauss(0, 0.4)) if is_open else 232 + rand.gauss(0, 0.3)
        rows.append(f"{second:.1f},{volts:.1f},{'' if is_open else format(50 + rand.gauss(0, 0.01), '.2f')}")
    write("reclose-twice.csv", "t [s],V [V],f [Hz]", rows)


def sags():
    """175 V for 9.9 s, 10.5 s and 11.5 s: must stay, may trip, must be off; 195 V: stays, would not return."""
    for name, volts, lasts in (("sag-9.9s", 175.0, 9.9), ("sag-10.5s", 175.0, 10.5), ("sag-11.5s", 175.0, 11.5), ("sag-195v", 195.0, 120.0)):
        rows = []
        for n in range(int((60 + lasts) * 10)):
            second = n / 10
            sag = volts if 20 <= second < 20 + lasts - 1e-9 else 231.0
            rows.append(f"{second:.1f},{sag:.1f},50.00")
        write(f"{name}.csv", "t [s],V [V],f [Hz]", rows)


def generator():
    """A site on a generator that drifts round the upper reconnection frequency of 50.15 Hz."""
    rand, start, rows = random.Random(11), datetime(2026, 8, 12, 18, 5), []
    for second in range(1200):
        outage = second < 4
        hertz = 50.13 + 0.05 * math.sin(second / 23) + rand.gauss(0, 0.004)
        volts = 12.0 if outage else 229.5 + rand.gauss(0, 0.4)
        rows.append(f"{stamp(start, second)},{volts:.1f},{0 if outage else hertz:.2f}")
    write("generator.csv", "time,V_L1 [V],f [Hz]", rows)


def swell():
    """An isolated system: a heavy load drops off, the regulator overshoots and comes back slowly.

    L3 passes 260 V for 0.4 s and then stays between 253 V and 258 V: a relay that lets go at 97 %
    of 260 V, 252.2 V, stays picked up; one without a drop-off would let go.
    """
    rand, rows = random.Random(4), []
    for n in range(9000):
        second = n / 50
        over = 31.0 if 20 <= second < 20.4 else 25.5 * math.exp(-(second - 20.4) / 60) if 20.4 <= second < 24 else 0.0
        volts = [231 + over * part + rand.gauss(0, 0.2) for part in (0.4, 0.5, 1.0)]
        rows.append(f"{second:.2f}," + ",".join(f"{v:.1f}" for v in volts) + f",{50 + over / 40 + rand.gauss(0, 0.01):.2f}")
    write("swell.csv", "t [s],V_L1 [V],V_L2 [V],V_L3 [V],f [Hz]", rows)


def own_use():
    """A quiet noon under an export limit of 5 kW: what the site uses itself may be given on top of it."""
    rand, start, rows = random.Random(7), datetime(2026, 10, 22, 12, 0), []
    for n in range(720):
        second = n * 5
        used = 0.4 + (2.2 if 900 <= second < 1500 else 0.0) + rand.gauss(0, 0.02)
        available = 6.1 + rand.gauss(0, 0.02)
        power = min(available, 5.0 + used)
        volts = 241 + 0.8 * (power - used) + rand.gauss(0, 0.1)
        rows.append(f"{stamp(start, second)},{volts:.1f},{50 + rand.gauss(0, 0.01):.2f},{power:.2f},{available:.2f},{power - used:.2f}")
    write("own-use.csv", "time,V_L1 [V],f [Hz],P [kW],available power [kW],net_export[kW]", rows)


def charging():
    """A battery that charges on a cold evening: the voltage falls, and for two minutes the frequency."""
    rand, start, rows = random.Random(8), datetime(2026, 7, 14, 17, 30), []
    for n in range(1440):
        second = n * 5
        volts = 222 - 12 * math.exp(-(((second - 3600) / 1500) ** 2)) + rand.gauss(0, 0.2)
        hertz = 49.4 if 600 <= second < 720 else 50 + rand.gauss(0, 0.01)
        wants = -4.6 if second < 6000 else 0.0
        rows.append(f"{stamp(start, second)},{volts:.1f},{hertz:.2f},{wants:.2f}")
    write("charging.csv", "time,V_L1 [V],f [Hz],available power [kW]", rows)


noon_creep()
loose_neutral()
own_use()
charging()
swell()
tap_step()
reclose_twice()
sags()
generator()
