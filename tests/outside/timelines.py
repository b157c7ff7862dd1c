"""Timelines as EPRI's public reference model of IEEE Std 1547-2018 plays them: `python3 timelines.py > timelines.json`.

Each timeline is a list of stretches of constant voltage and frequency, played in equal steps by a
single-phase device with the model's own default settings of a category (some with shorter times, so
that a timeline stays short). Told is each time at which the device tripped, began to enter service,
and had come up. Only numbers are carried. Invented voltages and frequencies, seeded.
"""

import json
import logging
import random

import opender

logging.disable(logging.WARNING)

NOMINAL = 240.0
STAGES = ["uv1", "uv2", "ov1", "ov2", "uf1", "uf2", "of1", "of2"]
GOOD = (1.0, 60.0)


def settings(category, short, in_service):
    s = opender.DERCommonFileFormat(NP_PHASE="SINGLE", NP_AC_V_NOM=NOMINAL, NP_VA_MAX=10_000, NP_P_MAX=10_000, NP_P_MIN_PU=0)
    s.NP_ABNORMAL_OP_CAT = category
    s.STATUS_INIT = in_service
    if short:
        s.ES_DELAY, s.ES_RAMP_RATE = 20, 40
        s.OF1_TRIP_T = s.UF1_TRIP_T = 180
    return s


def played(name, category, step, stretches, short=True, in_service=True):
    opender.DER.t_s = step
    s = settings(category, short, in_service)
    der = opender.DER_PV(s)
    happened, was_tripped, was_up = [], not in_service, in_service
    n = 0
    for seconds, volts, hertz in stretches:
        for _ in range(round(seconds / step)):
            der.update_der_input(v_pu=volts, theta=0, f=hertz, p_dc_pu=1.0)
            der.run()
            is_tripped = der.der_status == "Trip"
            # the model counts a step when it reaches its end; the sample itself stands at its beginning
            at = round(n * step, 6)
            if is_tripped and not was_tripped:
                crit = der.opstatus.tripcrit
                happened.append({"at": at, "what": "tripped", "stages": [x for x in STAGES if getattr(crit, f"{x}_trip")]})
                was_up = False
            if was_tripped and not is_tripped:
                happened.append({"at": at, "what": "entered"})
            is_up = not is_tripped and bool(der.activepowerfunc.es_completed)
            if is_up and not was_up:
                happened.append({"at": at, "what": "up"})
            was_up = is_up
            was_tripped = is_tripped
            n += 1
    trip = lambda x, kind: [round(getattr(s, f"{x.upper()}_TRIP_{kind}"), 6), getattr(s, f"{x.upper()}_TRIP_T")]
    return {
        "name": name,
        "category": category,
        "step": step,
        "in-service": in_service,
        "stages": {x: trip(x, "V" if x[1] == "v" else "F") for x in STAGES},
        "enter-service": {
            "voltage": [s.ES_V_LOW, s.ES_V_HIGH],
            "frequency": [s.ES_F_LOW, s.ES_F_HIGH],
            "delay": s.ES_DELAY,
            "ramp": s.ES_RAMP_RATE,
        },
        "stretches": [list(stretch) for stretch in stretches],
        "happened": happened,
    }


def structured():
    good, hz = GOOD
    for category, uv1, uv2 in [("CAT_I", 2.0, 0.16), ("CAT_II", 10.0, 0.16), ("CAT_III", 21.0, 2.0)]:
        deep = {"CAT_I": 0.40, "CAT_II": 0.40, "CAT_III": 0.45}[category]
        shallow = {"CAT_I": 0.65, "CAT_II": 0.65, "CAT_III": 0.80}[category]
        for factor in (0.9, 1.2):
            yield f"{category} low for {factor} of its time", category, 0.02, [(1, good, hz), (factor * uv1, shallow, hz), (5, good, hz)]
            yield f"{category} very low for {factor} of its time", category, 0.01, [(1, good, hz), (factor * uv2, deep, hz), (3, good, hz)]
        yield f"{category} back after a trip", category, 0.05, [(1, good, hz), (uv1 + 1, shallow, hz), (70, good, hz)]
        yield f"{category} repeated dips", category, 0.02, [(1, good, hz)] + [(0.9 * uv1, shallow, hz), (0.1, good, hz)] * 4
        yield f"{category} high", category, 0.02, [(1, good, hz), (14, 1.15, hz), (3, good, hz)]
        yield f"{category} very high", category, 0.01, [(1, good, hz), (0.5, 1.25, hz), (3, good, hz)]
    yield "low frequency, second stage", "CAT_II", 0.01, [(1, good, hz), (0.5, good, 56.0), (2, good, hz)]
    yield "high frequency, second stage", "CAT_II", 0.01, [(1, good, hz), (0.5, good, 62.5), (2, good, hz)]
    yield "low frequency, first stage, stays", "CAT_II", 0.1, [(1, good, hz), (175, good, 58.0), (5, good, hz)]
    yield "low frequency, first stage, trips", "CAT_II", 0.1, [(1, good, hz), (185, good, 58.0), (80, good, hz)]
    yield "high frequency, first stage, trips", "CAT_III", 0.1, [(1, good, hz), (185, good, 61.5), (80, good, hz)]
    yield "equal is not outside", "CAT_II", 0.05, [(1, good, hz), (15, 1.1, 61.2), (15, 0.7, 58.5), (1, good, hz)]
    yield "an excursion starts the observation again", "CAT_II", 0.05, [(1, good, hz), (11, 0.5, hz), (15, good, hz), (0.5, 0.9, hz), (70, good, hz)]
    yield "too high to return", "CAT_II", 0.05, [(1, good, hz), (11, 0.5, hz), (30, 1.06, hz), (70, 1.05, hz)]
    yield "too fast to return", "CAT_II", 0.05, [(1, good, hz), (11, 0.5, hz), (30, good, 60.15), (70, good, 60.1)]
    yield "a ride-through does not start the ramp again", "CAT_II", 0.05, [(1, good, hz), (11, 0.5, hz), (35, good, hz), (1, 0.8, hz), (60, good, hz)]
    yield "a trip starts the ramp again", "CAT_II", 0.05, [(1, good, hz), (11, 0.5, hz), (35, good, hz), (1, 0.4, hz), (80, good, hz)]
    yield "the deeper stage counts from its own crossing", "CAT_III", 0.02, [(1, good, hz), (3, 0.8, hz), (2.5, 0.4, hz), (3, good, hz)]


def at_random():
    rand = random.Random(1547)
    for n in range(24):
        category = rand.choice(["CAT_I", "CAT_II", "CAT_III"])
        stretches = [(2, *GOOD)]
        for _ in range(rand.randint(3, 7)):
            if rand.random() < 0.45:
                volts, hertz = rand.choice([(rand.uniform(0.2, 0.9), 60.0), (rand.uniform(1.06, 1.3), 60.0), (1.0, rand.choice([56.0, 62.5, 58.2, 61.5]))])
                stretches.append((rand.choice([0.2, 0.5, 1.4, 2.4, 8.0, 12.0, 22.0]), round(volts, 3), hertz))
            else:
                stretches.append((rand.choice([0.3, 5.0, 21.0, 30.0, 66.0]), round(rand.uniform(0.95, 1.04), 3), round(rand.uniform(59.9, 60.05), 2)))
        stretches.append((30, *GOOD))
        yield f"at random {n + 1}", category, rand.choice([0.05, 0.1]), stretches


print(json.dumps({"written by": f"timelines.py with opender {opender.__version__ if hasattr(opender, '__version__') else '2.2.0'}", "timelines": [played(*one) for one in [*structured(), *at_random()]]}, default=float, separators=(",", ":")).replace("{\"name\"", "\n{\"name\""))
