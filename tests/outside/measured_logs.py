"""What simulated devices did, as a meter would have logged it: `python3 measured_logs.py FOLDER`.

Two other implementations play the devices:
- OpenDSS: an inverter of 5 kVA at the end of a line, with the volt-var and volt-watt curves of region
  Australia A of AS/NZS 4777.2:2020 under an `InvControl`, or with others than those;
- opender, EPRI's public reference model of IEEE Std 1547-2018: one of 10 kVA with the defaults of
  category B, behind a resistance that is solved here.
Supply, sun and what the meter adds (an offset, noise, steps, gaps) are invented and drawn from a seed.

A log is named by its device, what the device does, the log's step and what its meter adds. `index.json`
says what each device does, so that a test can tell right answers from wrong ones.
"""

import csv
import gzip
import io
import json
import logging
import math
import pathlib
import random
import sys

import opendssdirect as dss
import opender

logging.disable(logging.WARNING)

SEED = 1_547_477
DAY = 86_400
BEGINS = {"opendss": "2026-03-02", "opender": "2026-06-01"}

# generator sign: reactive power above zero is supplied
AUSTRALIA_A = {"volt-var": [[207, 44], [220, 0], [240, 0], [258, -60]], "volt-watt": [[253, 100], [260, 20]]}
AUSTRALIA_B = {"volt-var": [[205, 30], [220, 0], [235, 0], [255, -40]], "volt-watt": [[250, 100], [260, 20]]}
LEVEL = {"volt-var": [[207, 0], [258, 0]], "volt-watt": [[253, 100], [260, 100]]}


def turned(points):
    return [[x, -y] for x, y in points]


def halved(points):
    return [[x, y / 2] for x, y in points]


# what it does; what it is set to is AUSTRALIA_A; which functions depart clearly, where the log exercises them
AT_THE_LINE = {
    "as-set": ({}, []),
    "volt-var-off": ({"volt-var": LEVEL["volt-var"]}, ["volt-var"]),
    "volt-var-reversed": ({"volt-var": turned(AUSTRALIA_A["volt-var"])}, ["volt-var"]),
    "volt-var-half": ({"volt-var": halved(AUSTRALIA_A["volt-var"])}, ["volt-var"]),
    "region-b": (AUSTRALIA_B, ["volt-var"]),
    "volt-watt-off": ({"volt-watt": LEVEL["volt-watt"]}, ["volt-watt"]),
    "both-off": (LEVEL, ["volt-var", "volt-watt"]),
    "power-factor": ({"power-factor": -0.9}, ["volt-var"]),
}


class Meter:
    """What a meter makes of what was there: its offset of voltage, its noise, its steps, its gaps."""

    KINDS = {
        "true": {},
        "offset": {"offset": 0.004},
        "noisy": {"noise": 0.0008, "power-noise": 0.004},
        "coarse": {"volts": 0.5, "watts": 50},
        "gaps": {"gaps": 0.15, "noise": 0.0004},
    }

    def __init__(self, kind, nominal, rating, rng):
        self.of, self.nominal, self.rating, self.rng = self.KINDS[kind], nominal, rating, rng

    def rows(self, rows):
        for at, v, p, q in rows:
            if self.rng.random() < self.of.get("gaps", 0):
                continue
            v += self.nominal * (self.of.get("offset", 0) + self.rng.gauss(0, self.of.get("noise", 0)))
            p, q = (x + self.rating * self.rng.gauss(0, self.of.get("power-noise", 0)) if x else x for x in (p, q))
            volts, watts = self.of.get("volts", 0.01), self.of.get("watts", 1)
            yield at, round(round(v / volts) * volts, 2), round(p / watts) * watts, round(q / watts) * watts


def means(samples, step, length):
    """Means of `step` seconds of samples of `length` seconds."""
    each = step // length
    for first in range(0, len(samples) - each + 1, each):
        part = samples[first : first + each]
        yield (part[0][0], *(sum(one[n] for one in part) / each for n in (1, 2, 3)))


def sun(second, cloud):
    """Share of the rating that the sun offers."""
    hour = second % DAY / 3600
    return max(0.0, math.sin(math.pi * (hour - 6) / 13)) * cloud if 6 < hour < 19 else 0.0


class Weather:
    """Clouds and supply as slow noise, each day another; drawn once for all devices of a log."""

    def __init__(self, nominal, swing, middle, rng):
        self.rng, self.nominal, self.swing, self.middle = rng, nominal, swing, middle
        self.cloud, self.supply = 1.0, 0.0

    def at(self, second, length):
        keep = math.exp(-length / 900)
        spread = math.sqrt(1 - keep * keep)
        self.supply = self.supply * keep + self.rng.gauss(0, 0.006) * spread
        if self.rng.random() < length / 1200:
            self.cloud = self.rng.choice([1.0, 1.0, 1.0, 0.8, 0.45, 0.25])
        hour = second % DAY / 3600
        # loads of the street: low in the middle of the day, high in the evening
        street = self.swing * (math.exp(-(((hour - 12.5) / 2.5) ** 2)) - 0.6 * math.exp(-(((hour - 19) / 1.5) ** 2)))
        return self.nominal * (self.middle + street + self.supply), sun(second, self.cloud)


def do(*commands):
    for command in commands:
        dss.Text.Command(command)
        if dss.Error.Number():
            raise SystemExit(f"{command}: {dss.Error.Description()}")


def curve(name, points):
    points = [[points[0][0] - 300, points[0][1]], *points, [points[-1][0] + 300, points[-1][1]]]
    return f"new xycurve.{name} npts={len(points)} xarray={[x / 230 for x, _ in points]} yarray={[y / 100 for _, y in points]}"


def at_the_line(does, days, length, rng, middle):
    """One inverter of 5 kVA behind 0.35 ohm; OpenDSS solves it at each sample."""
    curves = {**AUSTRALIA_A, **does}
    factor = curves.get("power-factor")
    do(
        "clear",
        "set defaultbasefrequency=50",
        "new circuit.c basekv=0.23 pu=1 phases=1 r1=1e-9 x1=1e-9 r0=1e-9 x0=1e-9",
        "new line.l bus1=sourcebus bus2=a phases=1 r1=0.35 x1=0.08 r0=0.35 x0=0.08 c1=0 c0=0 length=1 units=none",
        "new pvsystem.a bus1=a phases=1 kv=0.23 kva=5 pmpp=5 irradiance=1 %cutin=0 %cutout=0 "
        f"pf={factor or 1} wattpriority=no varfollowinverter=no kvarmax=5 kvarmaxabs=5 vminpu=0.1 vmaxpu=3",
        curve("vw", curves["volt-watt"]),
    )
    told = "combimode=vv_vw vvc_curve1=vv"
    if factor:
        told = "mode=voltwatt"
    else:
        do(curve("vv", curves["volt-var"]))
    do(
        f"new invcontrol.of derlist=[pvsystem.a] {told} voltwatt_curve=vw voltwattyaxis=pmpppu voltage_curvex_ref=rated "
        "refreactivepower=varmax monvoltagecalc=avg deltaq_factor=0.3 deltap_factor=0.3 "
        "varchangetolerance=1e-5 activepchangetolerance=1e-5 voltagechangetolerance=1e-6",
        "set controlmode=static",
        "set maxcontroliter=2000",
    )
    weather = Weather(230, 0.02, middle, rng)
    samples = []
    for second in range(0, days * DAY, length):
        volts, offered = weather.at(second, length)
        if offered <= 0.01:
            samples.append((second, volts, 0.0, 0.0))
            continue
        do(f"vsource.source.pu={volts / 230}", f"pvsystem.a.irradiance={offered}")
        dss.Text.Command("solve")
        dss.Circuit.SetActiveElement("pvsystem.a")
        powers, at = dss.CktElement.Powers(), dss.CktElement.VoltagesMagAng()
        samples.append((second, at[0], -powers[0] * 1000, -powers[1] * 1000))
    return samples


def reference(change, length, seconds, course, ohms=0.2, rating=10_000):
    """opender's device with category B, and what is changed in it, played in equal steps."""
    opender.DER.t_s = length
    s = opender.DERCommonFileFormat(NP_PHASE="SINGLE", NP_AC_V_NOM=240.0, NP_VA_MAX=rating, NP_P_MAX=rating, NP_P_MIN_PU=0)
    s.NP_ABNORMAL_OP_CAT, s.NP_NORMAL_OP_CAT = "CAT_III", "CAT_B"
    s.CONST_PF_MODE_ENABLE, s.QV_MODE_ENABLE, s.PV_MODE_ENABLE, s.STATUS_INIT = False, True, True, True
    for key, value in change.items():
        setattr(s, key, value)
    der = opender.DER_PV(s)
    samples, p, q = [], 0.0, 0.0
    for n in range(seconds // length):
        supply, offered = course(n * length)
        volts = supply + ohms * p / supply
        der.update_der_input(v_pu=volts / 240, theta=0, f=60.0, p_dc_pu=offered)
        der.run()
        p, q = float(der.p_out_kw) * 1000, float(der.q_out_kvar) * 1000
        samples.append((n * length, float(volts), p, q))
    return samples


CATEGORY_A = {"QV_CURVE_V1": 0.9, "QV_CURVE_Q1": 0.25, "QV_CURVE_V2": 1.0, "QV_CURVE_Q2": 0, "QV_CURVE_V3": 1.0, "QV_CURVE_Q3": 0, "QV_CURVE_V4": 1.1, "QV_CURVE_Q4": -0.25}
BY_REFERENCE = {
    "as-set": ({}, []),
    "volt-var-off": ({"QV_MODE_ENABLE": False}, ["volt-var"]),
    "volt-var-half": ({"QV_CURVE_Q1": 0.22, "QV_CURVE_Q4": -0.22}, ["volt-var"]),
    "category-a": (CATEGORY_A, ["volt-var"]),
    "volt-watt-off": ({"PV_MODE_ENABLE": False}, ["volt-watt"]),
    "power-factor": ({"QV_MODE_ENABLE": False, "CONST_PF_MODE_ENABLE": True, "CONST_PF": 0.9, "CONST_PF_EXCITATION": "ABS"}, ["volt-var"]),
}
# by single excursions, a row a second
IN_SECONDS = {
    "trips-and-returns": ({}, []),
    "stays-on": ({"UV1_TRIP_T": 60}, ["trips"]),
    "returns-early": ({"ES_DELAY": 20}, ["reconnection"]),
    "returns-at-once": ({"ES_RAMP_RATE": 10}, ["reconnection"]),
}


def excursion(second):
    """0.8 pu for 40 s, twice: longer than the 21 s that category III allows; sun enough."""
    return 240 * (0.8 if 300 <= second < 340 or 1800 <= second < 1840 else 1.01), 0.9


def write(folder, name, begins, step, rows):
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(["time", "voltage [V]", "active power [W]", "reactive power supplied [var]"])
    for second, *values in rows:
        day, rest = divmod(second, DAY)
        date = f"{begins[:8]}{int(begins[8:]) + day:02}"
        out.writerow([f"{date} {rest // 3600:02}:{rest // 60 % 60:02}:{rest % 60:02}", *(f"{value:g}" for value in values)])
    with (folder / f"{name}.csv.gz").open("wb") as file:
        file.write(gzip.compress(text.getvalue().encode(), mtime=0))


def main(folder):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    logs = []

    def logged(by, does, departs, samples, length, step, meter, nominal, rating):
        name = f"{by}-{does}-{step}s-{meter}"
        rows = samples if step == length else means(samples, step, length)
        rng = random.Random(f"{SEED} {name}")
        write(folder, name, BEGINS[by], step, Meter(meter, nominal, rating, rng).rows(rows))
        logs.append({"log": f"{name}.csv.gz", "by": by, "does": does, "departs": departs, "step": step, "meter": meter})

    for does, (change, departs) in AT_THE_LINE.items():
        # vars that work keep the voltage down, so that a cap is reached on a higher supply only
        weeks = at_the_line(change, 10, 60, random.Random(SEED), 1.066 if does == "volt-watt-off" else 1.057)
        kinds = ["true", "offset", "noisy", "coarse", "gaps"] if does == "as-set" else ["noisy", "gaps"]
        for meter in kinds:
            logged("opendss", does, departs, weeks, 60, 300, meter, 230, 5000)
        logged("opendss", does, departs, weeks, 60, 900, "noisy", 230, 5000)
        two_days = weeks[2 * 1440 : 5 * 1440]
        logged("opendss", does, departs, two_days, 60, 60, "offset", 230, 5000)
    for does, (change, departs) in BY_REFERENCE.items():
        weather = Weather(240, 0.025, 1.02, random.Random(SEED + 1))
        samples = reference(change, 20, 6 * DAY, lambda second: weather.at(second, 20))
        for step, meter in [(60, "true"), (300, "noisy"), (900, "gaps")]:
            some = samples[: 3 * DAY // 20] if step == 60 else samples
            logged("opender", does, departs, some, 20, step, meter, 240, 10_000)
    for does, (change, departs) in IN_SECONDS.items():
        samples = reference(change, 1, 3600, excursion, ohms=0.0)
        logged("opender", does, departs, samples, 1, 1, "true", 240, 10_000)
    header = {
        "written-by": "tests/outside/measured_logs.py",
        "opender": opender.__version__,
        "opendssdirect.py": dss.__version__,
        "seed": SEED,
        "data": "invented supply, sun and meters",
        "logs": logs,
    }
    (folder / "index.json").write_text(json.dumps(header, indent=1) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
