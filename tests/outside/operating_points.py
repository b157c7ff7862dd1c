"""Small circuits and where OpenDSS says that they settle: `python3 operating_points.py > operating-points.json`.

A stiff source, a line, and at its end one or more `PVSystem`s, most of them under an `InvControl`
(volt-var, volt-watt, both, reactive power by active power), with either kind of power first. All
sites are invented and drawn with a fixed seed.

What had to be told to OpenDSS so that the question is the same, and what is its own:
- `vminpu`, `vmaxpu`: outside 0.9 to 1.1 pu a `PVSystem` turns from constant power into constant
  impedance unless told otherwise, which gives up to 2 % more power at 255 V.
- An `XYCurve` is extended in a straight line beyond its ends; a level point is added on either side.
- `%cutin=0 %cutout=0`: it would otherwise not start below 20 % of rated.
- `kvarmax`, `kvarmaxabs`: the rating, so that `refreactivepower=varmax` makes a per cent one of the rating.
- `voltwattyaxis=pmpppu` with `pmpp` = `kva`: a per cent of active power is one of the rating; the
  default of other tools, a per cent of what is available, is another function.
- tolerances of the control loop: 1e-9 instead of 0.025, so that it ends on the curve and not beside it.
- A single-phase line has the impedance out and back; a three-phase one that of a line, r0 = r1.
- Its control loop is a damped iteration. Circuits in which it does not end within its most
  iterations are left out and counted; the count is in the header.
- With a four-wire line, `InvControl` would watch the voltage to earth and not to neutral, so those
  circuits have constant power and no control.
"""

import json
import random

import opendssdirect as dss

SEED = 47_770_2
NOMINAL = 230.0
VOLT_WATT = [[[253, 100], [260, 20]], [[250, 100], [260, 20]], [[246, 100], [260, 20]], [[243.8, 100], [253, 0]]]
VOLT_VAR = [
    [[207, 44], [220, 0], [240, 0], [258, -60]],
    [[205, 30], [220, 0], [235, 0], [255, -40]],
    [[207, 60], [220, 0], [235, 0], [244, -60]],
    [[211.6, 44], [225.4, 0], [234.6, 0], [248.4, -44]],
]
WATT_VAR = [[[20, 0], [50, 0], [100, -44]], [[20, 0], [60, 0], [100, -30]]]


def do(*commands):
    for command in commands:
        dss.Text.Command(command)
        if dss.Error.Number():
            raise SystemExit(f"{command}: {dss.Error.Description()}")


def curve(name, points, nominal):
    """Level beyond its ends; the first axis per unit of `nominal`."""
    first, last = points[0], points[-1]
    points = [[first[0] - 500, first[1]], *points, [last[0] + 500, last[1]]]
    xs, ys = [x / nominal for x, _ in points], [y / 100 for _, y in points]
    return f"new xycurve.{name} npts={len(points)} xarray={xs} yarray={ys}"


def circuit(phases, volts):
    base = NOMINAL / 1000 * (3**0.5 if phases == 3 else 1)
    do(
        "clear",
        "set defaultbasefrequency=50",
        f"new circuit.c basekv={base} pu={volts / NOMINAL} phases={phases} r1=1e-9 x1=1e-9 r0=1e-9 x0=1e-9",
    )


def line(name, phases, start, end, r, x):
    do(f"new line.{name} bus1={start} bus2={end} phases={phases} r1={r} x1={x} r0={r} x0={x} c1=0 c0=0 length=1 units=none")


def inverter(name, phases, bus, site):
    base = NOMINAL / 1000 * (3**0.5 if phases == 3 else 1)
    first = "yes" if site["first"] == "active" else "no"
    kva = site["kva"]
    do(
        f"new pvsystem.{name} bus1={bus} phases={phases} kv={base} kva={kva} pmpp={kva} irradiance={site['available']} "
        f"%cutin=0 %cutout=0 pf=1 wattpriority={first} varfollowinverter=no kvarmax={kva} kvarmaxabs={kva} vminpu=0.1 vmaxpu=3"
    )
    functions = site["functions"]
    if not functions:
        return
    told = []
    if "volt-watt" in functions:
        do(curve(f"vw_{name}", functions["volt-watt"], NOMINAL))
        told.append(f"voltwatt_curve=vw_{name} voltwattyaxis=pmpppu")
    if "volt-var" in functions:
        do(curve(f"vv_{name}", functions["volt-var"], NOMINAL))
        told.append(f"vvc_curve1=vv_{name}")
    if "watt-var" in functions:
        do(curve(f"wv_{name}", functions["watt-var"], 100))
        told.append(f"wattvar_curve=wv_{name}")
    both = {"volt-watt", "volt-var"} <= set(functions)
    mode = "combimode=vv_vw" if both else f"mode={''.join(functions).replace('-', '')}"
    do(
        f"new invcontrol.of_{name} derlist=[pvsystem.{name}] {mode} {' '.join(told)} voltage_curvex_ref=rated refreactivepower=varmax "
        "monvoltagecalc=avg deltaq_factor=0.1 deltap_factor=0.1 varchangetolerance=1e-9 activepchangetolerance=1e-9 voltagechangetolerance=1e-9"
    )


def solved():
    do("set controlmode=static", "set tolerance=1e-10", "set maxiterations=1000", "set maxcontroliter=4000")
    dss.Text.Command("solve")
    done = dss.Solution.Converged() and dss.Error.Number() == 0
    return done and dss.Solution.ControlIterations() < 4000


def ended(name, phases, neutral=False):
    dss.Circuit.SetActiveElement(f"pvsystem.{name}")
    powers, volts = dss.CktElement.Powers(), dss.CktElement.Voltages()
    active = -sum(powers[0::2]) if neutral else -sum(powers[: 2 * phases : 2])
    reactive = -sum(powers[1::2]) if neutral else -sum(powers[1 : 2 * phases : 2])
    nodes = [complex(re, im) for re, im in zip(volts[0::2], volts[1::2])]
    between = abs(nodes[0] - nodes[phases]) if neutral else sum(abs(node) for node in nodes[:phases]) / phases
    return {"volts": round(between, 6), "watts": round(active * 1000, 4), "vars": round(reactive * 1000, 4)}


def any_site(rng, phases, functions, first):
    kva = rng.choice([3, 5, 6, 8, 10]) if phases == 1 else rng.choice([10, 15, 20, 30])
    chosen = {"volt-watt": VOLT_WATT, "volt-var": VOLT_VAR, "watt-var": WATT_VAR}
    return {
        "phases": phases,
        "kva": kva,
        "first": first,
        "available": rng.choice([1.0, 1.0, 0.85, 0.5, 0.2]),
        "functions": {name: rng.choice(chosen[name]) for name in functions},
    }


def alone(rng, phases, functions, first):
    """One inverter behind one line."""
    site = any_site(rng, phases, functions, first)
    volts = round(rng.uniform(226, 254), 2)
    rise = rng.uniform(2, 16) * (3 if phases == 3 else 1) * NOMINAL / (site["kva"] * 1000)
    r, x = round(rise, 4), round(rise * rng.uniform(0.05, 0.8), 4)
    circuit(phases, volts)
    line("l", phases, "sourcebus", "a", r, x)
    inverter("a", phases, "a", site)
    found = [ended("a", phases)] if solved() else None
    return {"kind": "alone", "supply": volts, "cables": [[r, x]], "inverters": [site], "settled": found}


def shared(rng, phases):
    """Two inverters at the ends of branches behind a shared line."""
    functions = rng.choice([["volt-watt"], ["volt-var"], ["volt-watt", "volt-var"]])
    sites = [any_site(rng, phases, functions, rng.choice(["active", "reactive"])) for _ in range(2)]
    volts = round(rng.uniform(232, 252), 2)
    per_volt = (3 if phases == 3 else 1) * NOMINAL / (sum(site["kva"] for site in sites) * 1000)
    cables = []
    for most in (10, 3, 3):
        r = rng.uniform(1, most) * per_volt
        cables.append([round(r, 4), round(r * rng.uniform(0.05, 0.6), 4)])
    circuit(phases, volts)
    for name, start, cable in zip("sab", ("sourcebus", "s", "s"), cables):
        line(name, phases, start, name, *cable)
    for name, site in zip("ab", sites):
        inverter(name, phases, name, site)
    found = [ended(name, phases) for name in "ab"] if solved() else None
    return {"kind": "shared", "supply": volts, "cables": cables, "inverters": sites, "settled": found}


def on_four_wires(rng, given):
    """Single-phase inverters on the phases named, behind three lines and a neutral; constant power."""
    volts = round(rng.uniform(228, 246), 2)
    r, neutral = round(rng.uniform(0.05, 0.4), 4), round(rng.uniform(0.05, 0.4), 4)
    x = round(r * 0.2, 4)
    circuit(3, volts)
    do(
        "new reactor.earth bus1=sourcebus.4 bus2=sourcebus.0 phases=1 r=1e-9 x=0",
        f"new line.l bus1=sourcebus.1.2.3.4 bus2=a.1.2.3.4 phases=4 length=1 units=none rmatrix=({r}|0 {r}|0 0 {r}|0 0 0 {neutral}) "
        f"xmatrix=({x}|0 {x}|0 0 {x}|0 0 0 {x}) cmatrix=(0|0 0|0 0 0|0 0 0 0)",
    )
    sites = []
    for phase in given:
        site = {**any_site(rng, 1, [], "active"), "on": phase}
        site["kva"] = rng.choice([3, 5, 6])
        do(
            f"new pvsystem.p{phase} bus1=a.{phase}.4 phases=1 kv={NOMINAL / 1000} kva={site['kva']} pmpp={site['kva']} irradiance={site['available']} "
            "%cutin=0 %cutout=0 pf=1 wattpriority=yes vminpu=0.1 vmaxpu=3"
        )
        sites.append(site)
    found = [ended(f"p{phase}", 1, neutral=True) for phase in given] if solved() else None
    return {"kind": "four-wires", "supply": volts, "cables": [[r, x], [neutral, x]], "inverters": sites, "settled": found}


def main():
    rng = random.Random(SEED)
    circuits = []
    for phases in (1, 3):
        for functions in (["volt-var"], ["volt-watt"], ["volt-watt", "volt-var"], ["watt-var"]):
            for first in ("active", "reactive"):
                circuits += [alone(rng, phases, functions, first) for _ in range(8)]
        circuits += [shared(rng, phases) for _ in range(12)]
    circuits += [on_four_wires(rng, given) for given in ([1], [2], [1, 2], [1, 3], [2, 3], [1, 2, 3], [1, 2, 3], [1, 2, 3]) for _ in range(2)]
    kept = [one for one in circuits if one["settled"]]
    header = {
        "written-by": "tests/outside/operating_points.py",
        "opendssdirect.py": dss.__version__,
        "engine": "dss_python_backend 0.14.5, on OpenDSS revision 3723",
        "seed": SEED,
        "data": "invented",
        "nominal": NOMINAL,
        "not-converged": len(circuits) - len(kept),
    }
    lines = ",\n".join(json.dumps(one) for one in kept)
    print(f'{{\n"header": {json.dumps(header)},\n"circuits": [\n{lines}\n]\n}}')


if __name__ == "__main__":
    main()
