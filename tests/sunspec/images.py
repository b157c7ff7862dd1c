"""The register images that the tests decode. Devices, makers and numbers are invented.

    python images.py FOLDER

writes each image as `asleft decode` reads it, and of some what pysunspec2 itself reads in them. The images are kept in
`images/`; `run` compares them with what this writes.
"""

import json
import sys
from pathlib import Path

from layout import END, chain, model, raw, read_back

ON, OFF = 1, 0
BITS = dict(max_w=0, fixed_var=2, fixed_pf=3, volt_var=4, freq_watt=5, lv_trip=7, hv_trip=8, watt_var=9, volt_watt=10, lf_trip=12, hf_trip=13)
ALL = sum(1 << bit for bit in BITS.values())


def curve(points, room, **rest):
    """A curve of `room` stored points, of which those given are in use; the others hold old values."""
    names = list(points[0]) if points else []
    left = [{name: raw(7) for name in names}] * (room - len(points))
    return {"ActPt": len(points), **rest, "Pt": points + left}


def trips(key, must, room=5, may=(), momentary=(), marked=1):
    one = lambda points: curve([{key: level, "Tms": time} for level, time in points], room) if points else {
        "ActPt": 0, "Pt": [{key: raw(0xFFFF if key == "V" else 0xFFFFFFFF), "Tms": raw(0xFFFFFFFF)}] * room
    }
    return {"ReadOnly": marked, "MustTrip": one(must), "MayTrip": one(list(may)), "MomCess": one(list(momentary))}


def trip_model(key, scale, sets, room=5, ena=ON, time_scale=-2):
    return {"Ena": ena, "AdptCrvReq": 0, "AdptCrvRslt": 0, "NPt": room, "NCrvSet": len(sets), f"{key}_SF": scale, "Tms_SF": time_scale, "Crv": sets}


def volt_var(points, ref=3, pri=1, marked=1, room=4):
    points = [{"V": v, "Var": var} for v, var in points]
    return curve(points, room, DeptRef=ref, Pri=pri, VRef=100, VRefAuto=100, VRefAutoEna=OFF, VRefAutoTms=300, RspTms=5, ReadOnly=marked)


def volt_watt(points, ref=0, marked=1, room=3):
    return curve([{"V": v, "W": w} for v, w in points], room, DeptRef=ref, RspTms=10, ReadOnly=marked)


VOLT_VAR_B = [(92, 44), (98, 0), (102, 0), (108, -44)]


def conforming():
    """A device of categories B and III of IEEE 1547 as that standard has them: one side of 120 V and 240 V split."""
    return {
        1: {"Mn": "Hollow Fen (invented)", "Md": "Sedge 7600", "Opt": "none", "Vr": "4.2.1", "SN": "HF-000417", "DA": 1},
        701: {"ACType": 1, "St": 1, "InvSt": 3, "ConnSt": 1, "W": 3120, "VA": 3150, "Var": 0, "LLV": 241.2, "Hz": 60.01,
              "W_SF": 0, "VA_SF": 0, "Var_SF": 0, "V_SF": -1, "Hz_SF": -2},
        702: {"WMaxRtg": 7600, "VAMaxRtg": 7600, "VarMaxInjRtg": 3344, "VarMaxAbsRtg": 3344, "VNomRtg": 240, "NorOpCatRtg": 1, "AbnOpCatRtg": 2,
              "CtrlModes": ALL, "WMax": 7600, "VAMax": 7600, "VarMaxInj": 3344, "VarMaxAbs": 3344, "VNom": 240,
              "W_SF": 0, "PF_SF": -2, "VA_SF": 0, "Var_SF": 0, "V_SF": -1, "A_SF": -1},
        703: {"ES": ON, "ESVHi": 105, "ESVLo": 91.7, "ESHzHi": 60.1, "ESHzLo": 59.5, "ESDlyTms": 300, "ESRmpTms": 300, "V_SF": -1, "Hz_SF": -2},
        704: {"PFWInjEna": ON, "WMaxLimPctEna": OFF, "VarSetEna": OFF, "VarSetMod": 3, "VarSetPct": 0, "AntiIslEna": ON,
              "PF_SF": -3, "VarSetPct_SF": -1, "PFWInj": {"PF": 1, "Ext": 1}},
        705: {"Ena": OFF, "AdptCrvReq": 0, "AdptCrvRslt": 0, "NPt": 4, "NCrv": 1, "RvrtTms": 0, "RvrtRem": 0, "RvrtCrv": 0,
              "V_SF": -1, "DeptRef_SF": -1, "RspTms_SF": 0, "Crv": [volt_var(VOLT_VAR_B)]},
        706: {"Ena": OFF, "AdptCrvReq": 0, "AdptCrvRslt": 0, "NPt": 3, "NCrv": 1, "RvrtTms": 0, "RvrtRem": 0, "RvrtCrv": 0,
              "V_SF": -1, "DeptRef_SF": -1, "RspTms_SF": 0, "Crv": [volt_watt([(106, 100), (110, 20)])]},
        707: trip_model("V", -1, [trips("V", [(88, 21), (50, 2)])]),
        708: trip_model("V", -1, [trips("V", [(110, 13), (120, 0.16)])]),
        709: trip_model("Hz", -2, [trips("Hz", [(58.5, 300), (56.5, 0.16)])]),
        710: trip_model("Hz", -2, [trips("Hz", [(61.2, 300), (62, 0.16)])]),
        711: {"Ena": ON, "AdptCtlReq": 0, "AdptCtlRslt": 0, "NCtl": 1, "Db_SF": -3, "K_SF": -3, "RspTms_SF": -1,
              "Ctl": [{"DbOf": 0.036, "DbUf": 0.036, "KOf": 0.05, "KUf": 0.05, "RspTms": 5, "PMin": 0, "ReadOnly": 1}]},
        712: {"Ena": OFF, "AdptCrvReq": 0, "AdptCrvRslt": 0, "NPt": 6, "NCrv": 1, "W_SF": 0, "DeptRef_SF": -1,
              "Crv": [curve([{"W": w, "Var": var} for w, var in [(-100, 44), (-50, 0), (-20, 0), (20, 0), (50, 0), (100, -44)]], 6, DeptRef=3, Pri=1, ReadOnly=1)]},
    }


def older_curve(pairs, names, **rest):
    values = {"ActPt": len(pairs), **rest}
    for n, pair in enumerate(pairs, 1):
        values.update({f"{name}{n}": value for name, value in zip(names, pair)})
    return values


def older_curves(scales, curves, active=1, on=1, room=10):
    return {"ActCrv": active, "ModEna": on, "NCrv": len(curves), "NPt": room, **scales, "curve": curves}


def older():
    """A device that has the older models only: single-phase, 240 V, 60 Hz."""
    by_voltage = {"V_SF": -1, "DeptRef_SF": -1, "RmpIncDec_SF": 0}
    trip = lambda key, pairs: older_curves({"Tms_SF": -2, f"{key}_SF": -1}, [older_curve([(t, l) for l, t in pairs], ["Tms", key], ReadOnly=1)])
    return {
        1: {"Mn": "Hollow Fen (invented)", "Md": "Rush 5000", "Vr": "2.0", "SN": "HF-000033"},
        101: model(101, {"A": 10, "A_SF": 0, "PhVphA": 240, "V_SF": 0, "W": 2400, "W_SF": 0, "Hz": 60, "Hz_SF": 0, "WH": 1, "WH_SF": 0, "St": 4}),
        120: {"DERTyp": 4, "WRtg": 5000, "WRtg_SF": 1, "VARtg": 5000, "VARtg_SF": 1, "VArRtgQ1": 2200, "VArRtgQ4": -2200, "VArRtg_SF": 1},
        121: {"WMax": 5000, "VRef": 240, "VRefOfs": 0, "VAMax": 5000, "VArMaxQ1": 2200, "VArMaxQ4": -2200, "ECPNomHz": 60,
              "WMax_SF": 1, "VRef_SF": 0, "VRefOfs_SF": 0, "VAMax_SF": 1, "VArMax_SF": 1, "ECPNomHz_SF": 0},
        122: {"PVConn": 7, "StorConn": 0, "ECPConn": 1},
        123: {"Conn": 1, "WMaxLimPct": 100, "WMaxLim_Ena": OFF, "OutPFSet": 1, "OutPFSet_Ena": OFF, "VArPct_Ena": OFF, "WMaxLimPct_SF": 0, "OutPFSet_SF": -2, "VArPct_SF": 0},
        126: older_curves(by_voltage, [older_curve([(90, 30), (97, 0), (103, 0), (110, -30)], ["V", "VAr"], DeptRef=1, ReadOnly=0),
                                       older_curve([(92, 44), (98, 0), (102, 0), (108, -44)], ["V", "VAr"], DeptRef=1, ReadOnly=0)], active=2),
        127: {"WGra": 33.3, "HzStr": 0.04, "HzStop": 0.02, "HysEna": 0, "ModEna": 1, "WGra_SF": -1, "HzStrStop_SF": -2},
        129: trip("V", [(88, 21), (50, 2)]),
        130: trip("V", [(110, 13), (120, 0.16)]),
        132: older_curves(by_voltage, [older_curve([(106, 100), (110, 20)], ["V", "W"], DeptRef=1, ReadOnly=0)], on=0),
        134: older_curves({"Hz_SF": -2, "W_SF": 0}, [older_curve([(60.04, 100), (63.04, 0)], ["Hz", "W"], SnptW=0, WRef=100, ReadOnly=0)], on=0),
        135: trip("Hz", [(58.5, 300), (56.5, 0.16)]),
        136: trip("Hz", [(61.2, 300), (62, 0.16)]),
    }


IMAGES = {}


def image(name, note, models, base=40000, patch=None, ends=END, order=None):
    words, places = chain([(number, models[number]) for number in order or models])
    words = words[: -len(END)] + list(ends)
    for (number, offset), value in (patch or {}).items():
        words[places[number] + offset] = value
    IMAGES[name] = dict(note=note, base=base, words=words)


def variant(name, note, change=lambda models: None, of=conforming, **rest):
    models = of()
    change(models)
    image(name, note, models, **rest)


def without(*numbers):
    return lambda models: [models.pop(number) for number in numbers]


def put(number, **values):
    return lambda models: models[number].update(values)


def both(*changes):
    return lambda models: [change(models) for change in changes]


def modes(models, **bits):
    value = ALL
    for name, is_set in bits.items():
        value = value | 1 << BITS[name] if is_set else value & ~(1 << BITS[name])
    models[702]["CtrlModes"] = value


def make():
    variant("conforming", "every newer model, as IEEE 1547 has categories B and III")
    variant("base-0", "the same with its map at 0", base=0)
    variant("base-50000", "the same with its map at 50000", base=50000)
    variant("older-only", "the older models only; the second of two volt-var curves is in force", of=older)
    fixed = both(put(126, ModEna=0), put(123, OutPFSet_Ena=1))
    variant("older-conforming", "the older models, as IEEE 1547 has categories B and III", fixed, of=older)
    variant("older-time", "the same, with a low voltage trip of 2 s", both(fixed, lambda m: m[129]["curve"][0].update(Tms1=2)), of=older)
    variant("older-first-curve", "the same with the first volt-var curve in force", put(126, ActCrv=1), of=older)
    variant("older-no-curve", "the older models; volt-var is switched on, and no curve is in force", put(126, ActCrv=0), of=older)
    variant("older-curve-beyond", "the older models; the third of two curves is named", put(126, ActCrv=3), of=older)
    variant("older-offset", "the older models; the connection point is said to lie 3 V away", put(121, VRefOfs=3), of=older)
    variant("older-of-var", "the older models; volt-var counts in per cent of most reactive power",
            lambda m: [c.update(DeptRef=2, VAr1=100, VAr4=-100) for c in m[126]["curve"]], of=older)
    variant("older-factor", "the older models; a fixed power factor of -0.95, by whichever convention", put(123, OutPFSet=-0.95, OutPFSet_Ena=1), of=older)
    variant("older-frequency-curve", "the older models; the response to high frequency is a curve", both(put(127, ModEna=0), put(134, ModEna=1)), of=older)
    variant("older-and-newer", "newer models and an older one that says the same", lambda m: m.update({126: older()[126]}))

    two = [volt_var(VOLT_VAR_B), volt_var([(90, 30), (97, 0), (103, 0), (110, -30)], marked=0)]
    variant("two-curves", "trap 1: two volt-var curves, the first in force and the last one asked for earlier", put(705, Ena=ON, NCrv=2, AdptCrvReq=2, AdptCrvRslt=1, Crv=two))
    variant("second-marked", "trap 1: the second of two curves is marked as the one in force",
            put(705, Ena=ON, NCrv=2, Crv=[volt_var(VOLT_VAR_B, marked=0), volt_var([(90, 30), (97, 0), (103, 0), (110, -30)])]))
    variant("not-marked", "trap 1: the only curve is not marked as in force", lambda m: m[705]["Crv"][0].update(ReadOnly=0))
    nine = [(90, 44), (92, 44), (95, 22), (98, 0), (100, 0), (102, 0), (105, -22), (108, -44), (110, -44)]
    variant("nine-points", "nine points, all in use", put(705, Ena=ON, NPt=9, Crv=[volt_var(nine, room=9)]))
    variant("nine-stored", "trap 2: nine points are stored, four are in use, the others hold old values", put(705, Ena=ON, NPt=9, Crv=[volt_var(VOLT_VAR_B, room=9)]))
    variant("points-beyond", "trap 2: seven points in use where five are stored", lambda m: m[707]["Crv"][0]["MustTrip"].update(ActPt=7))
    variant("no-points", "trap 2: low voltage trip enabled, and no point in use", lambda m: m[707]["Crv"][0]["MustTrip"].update(ActPt=0))
    variant("points-not-said", "trap 2: how many points are in use is not implemented", lambda m: m[708]["Crv"][0]["MustTrip"].update(ActPt=raw(0xFFFF)))
    variant("neighbours", "trap 3: ride-through and momentary cessation lie beside the trip curve, with other values",
            put(707, Crv=[trips("V", [(88, 21), (50, 2)], may=[(88, 20), (70, 10)], momentary=[(50, 0.08)])]))
    variant("scale-0", "trap 5: trip voltages in whole per cent", put(707, V_SF=0))
    variant("scale-2", "trap 5: trip voltages in hundredths of a per cent", put(707, V_SF=-2))
    variant("many-registers", "trap 6: five points and two sets, a model of 137 registers, with times of two registers at odd places",
            put(709, NCrvSet=2, Crv=[trips("Hz", [(58.5, 300), (56.5, 0.16)]), trips("Hz", [(59.2, 100), (57, 5)], marked=0)]))
    variant("coarse-time", "trap 7: times in tenths of a second, so that 0.16 s is held as 0.2 s",
            put(708, Tms_SF=-1, Crv=[trips("V", [(110, 13), (120, 0.2)])]))
    variant("of-var", "trap 8: volt-var in per cent of most reactive power: 100 is 44 % of rated apparent power",
            put(705, Ena=ON, Crv=[volt_var([(92, 100), (98, 0), (102, 0), (108, -100)], ref=1)]))
    variant("of-var-one-way", "trap 8: the same, where the device absorbs less than it supplies",
            both(put(702, VarMaxAbs=3040), put(705, Ena=ON, Crv=[volt_var([(92, 100), (98, 0), (102, 0), (108, -100)], ref=1)])))
    variant("of-watts", "trap 8: volt-var in per cent of active power on a device that gives 6 kW of 7.6 kVA",
            both(put(702, WMaxRtg=6000, WMax=6000), put(705, Ena=ON, Crv=[volt_var([(92, 55.7), (98, 0), (102, 0), (108, -55.7)], ref=0)])))
    variant("of-available", "trap 8: volt-var in per cent of what is available", put(705, Ena=ON, Crv=[volt_var(VOLT_VAR_B, ref=2)]))
    variant("time-without-scale", "trap 9: the time constant of the reference has no scale", lambda m: m[705]["Crv"][0].update(VRefAutoTms=raw(5000)))
    variant("no-charging", "trap 11: a unit without charging holds 0 in the three charging points",
            put(712, Ena=ON, Crv=[curve([{"W": w, "Var": v} for w, v in [(0, 0), (0, 0), (0, 0), (20, 0), (50, 0), (100, -44)]], 6, DeptRef=3, Pri=1, ReadOnly=1)]))
    variant("fine-deadband", "trap 12: a deadband of 0.017 Hz and a droop of 0.02", lambda m: m[711]["Ctl"][0].update(DbOf=0.017, KOf=0.02))
    variant("factor-absorbing", "trap 13: a fixed power factor of 0.95, under-excited", put(704, PFWInj={"PF": 0.95, "Ext": 1}))
    variant("trip-off", "trap 14: the high voltage trip is switched off", put(708, Ena=OFF))
    variant("function-absent", "trap 15: no volt-watt, and the device says so", both(without(706), lambda m: modes(m, volt_watt=False)))
    variant("model-missing", "trap 15: the device says that it has volt-watt, and its model is not there", without(706))
    variant("contradiction", "trap 15: volt-var is enabled, and the device says that it lacks it", both(put(705, Ena=ON), lambda m: modes(m, volt_var=False)))
    variant("switch-not-said", "trap 15: whether volt-var is enabled is not implemented", put(705, Ena=raw(0xFFFF)))
    variant("scale-missing", "trap 16: trip voltages whose scale is not implemented", patch={(707, 7): 0x8000})
    variant("scale-absurd", "trap 16: trip times of 10 to the 20th", patch={(708, 8): 20})
    variant("scale-tiny", "trap 16: voltages in hundred-millionths of a per cent", patch={(703, 17): 0xFFF8})
    variant("temporary", "trap 17: the volt-var curve in force ends by itself", put(705, Ena=ON, RvrtTms=600, RvrtRem=412))
    variant("temporary-limit", "trap 17: a power limit ends by itself, and no setting hangs on it", put(704, WMaxLimPctEna=ON, WMaxLimPct=60, WMaxLimPct_SF=0, WMaxLimPctRvrtRem=90))
    variant("temporary-factor", "trap 17: a fixed power factor ends by itself", put(704, PFWInjRvrtRem=90))
    variant("under-way", "trap 17: a change of curve is under way", put(705, Ena=ON, NCrv=2, AdptCrvReq=2, AdptCrvRslt=0, Crv=two))
    variant("change-failed", "trap 17: the last change of curve failed", put(705, Ena=ON, NCrv=2, AdptCrvReq=2, AdptCrvRslt=2, Crv=two))
    variant("not-implemented", "trap 18: a per cent that is not implemented is not 6553.5", lambda m: m[703].update(ESVHi=raw(0xFFFF)))
    variant("point-missing", "trap 18: a point in use that is not implemented", lambda m: m[707]["Crv"][0]["MustTrip"]["Pt"][1].update(V=raw(0xFFFF)))
    variant("damaged-text", "trap 19: a serial number with a NUL, an 0xFF and an escape inside", patch={(1, 51): 0x00FF, (1, 52): 0x1B5B})
    variant("only-ratings", "trap 20: base settings are not implemented, so ratings count", put(702, VNom=raw(0xFFFF), WMax=raw(0xFFFF), VAMax=raw(0xFFFF), VarMaxInj=raw(0xFFFF), VarMaxAbs=raw(0xFFFF)))
    variant("no-nominal", "trap 20: neither the nominal voltage nor its rating is implemented", put(702, VNom=raw(0xFFFF), VNomRtg=raw(0xFFFF)))
    variant("deepest-first", "trap 21: trip points from outside in", put(707, Crv=[trips("V", [(50, 2), (88, 21)])]))
    variant("two-at-one", "trap 21: two trip points at one voltage", put(707, Crv=[trips("V", [(88, 21), (88, 2)])]))
    variant("deeper-slower", "trap 21: the deeper trip point is the slower one", put(707, Crv=[trips("V", [(88, 2), (50, 21)])]))
    variant("four-stages", "trap 21: more trip points than stages", put(707, Crv=[trips("V", [(88, 21), (70, 10), (60, 5), (50, 2)])]))
    variant("three-stages", "three stages of low voltage trip", put(707, Crv=[trips("V", [(88, 21), (70, 11), (50, 2)])]))
    variant("earlier-layout", "trap 23: a model one register longer than its counts say", lambda m: m.update({705: longer(m[705], 705)}))
    variant("many-counted", "counts of 65534 in a model that cannot hold them", patch={(705, 5): 65534, (705, 6): 65534})
    variant("short-identity", "model 1 of 65 registers", lambda m: m.update({1: shorter(m[1])}))
    variant("length-0", "a model of no length", patch={(706, 1): 0})
    variant("length-past-end", "a model that reaches past the last address", patch={(706, 1): 65000})
    variant("no-end", "nothing behind the last model", ends=[])
    variant("end-alone", "the end without a length behind it", ends=[0xFFFF])
    variant("unknown-models", "a model of the maker's own, and one without a number of its own, between the others",
            lambda m: m.update({64007: [64007, 3, 1, 2, 3], 713: model(713, {"SoC": 50, "Pct_SF": 0})}), order=[1, 64007, 701, 702, 713] + list(range(703, 713)))
    variant("twice", "volt-var lies there twice", lambda m: m.update({64007: model_of(m, 705)}))
    variant("identity-later", "model 1 is not the first", order=[702, 1, 701] + list(range(703, 713)))
    variant("local-control", "the device is under local control", lambda m: m.update({715: [715, 7, 1, 0, 0, 0, 0, 0, 0]}))
    variant("power-limit", "active power is limited to 60 %", put(704, WMaxLimPctEna=ON, WMaxLimPct=60, WMaxLimPct_SF=0))
    variant("power-limit-of-all", "a limit of active power is switched on, at 100 %", put(704, WMaxLimPctEna=ON, WMaxLimPct=100, WMaxLimPct_SF=0))
    variant("power-held", "active power is held at 3.8 kW", put(704, WSetEna=ON, WSetMod=1, WSet=3800, WSet_SF=0))
    variant("power-limit-not-said", "whether active power is limited is none of the codes", put(704, WMaxLimPctEna=7))
    variant("older-power-limit", "the older models, as IEEE 1547 has categories B and III; active power is limited to 50 %",
            both(fixed, put(123, WMaxLimPct=50, WMaxLim_Ena=ON)), of=older)
    variant("set-below-rating", "the device is set to give less than it is rated for", put(702, WMax=5000, VAMax=5000))
    variant("categories-a-and-i", "the device is rated for categories A and I", put(702, NorOpCatRtg=0, AbnOpCatRtg=0))
    variant("var-of-rating", "the device can supply less reactive power than is asked, by its rating alone", put(702, VarMaxInjRtg=2280, VarMaxInj=raw(0xFFFF)))
    variant("registers-missing", "registers that a selected region stands for: trip voltages of entering service, and the observation time",
            put(703, ESVHi=raw(0xFFFF), ESDlyTms=raw(0xFFFFFFFF)))
    variant("three-phase", "three phases of 277 V and 480 V", both(put(701, ACType=2), put(702, VNom=480, VNomRtg=480, WMaxRtg=50000, WMax=50000, VAMaxRtg=50000, VAMax=50000, W_SF=1, VA_SF=1)))
    variant("other-nominal", "a device on split 120 V and 240 V that counts from 230 V", put(702, VNom=230))
    variant("volt-var-on", "volt-var enabled in place of the fixed power factor", both(put(704, PFWInjEna=OFF), put(705, Ena=ON)))
    variant("no-settings", "a device that names itself and measures, and holds no settings over these models", of=lambda: {n: m for n, m in conforming().items() if n in (1, 701)})
    IMAGES["no-map"] = dict(note="registers of something else", base=0, words=[n * 257 % 65536 for n in range(64)])


def longer(values, number):
    words = model(number, values)
    return [words[0], words[1] + 1] + words[2:] + [0]


def shorter(values):
    words = model(1, values)
    return [words[0], 65] + words[2:-1]


def model_of(models, number):
    return model(number, models[number])


# twenty devices that differ from the conforming one in one setting: what the setting is, and what it was changed to
FAULTS = {
    "undervoltage-1/threshold": lambda m: m[707]["Crv"][0]["MustTrip"]["Pt"][0].update(V=80),
    "undervoltage-1/clearing-time": lambda m: m[707]["Crv"][0]["MustTrip"]["Pt"][0].update(Tms=2),
    "undervoltage-2/threshold": lambda m: m[707]["Crv"][0]["MustTrip"]["Pt"][1].update(V=60),
    "undervoltage-2/clearing-time": lambda m: m[707]["Crv"][0]["MustTrip"]["Pt"][1].update(Tms=1),
    "overvoltage-1/threshold": lambda m: m[708]["Crv"][0]["MustTrip"]["Pt"][0].update(V=115),
    "overvoltage-1/clearing-time": lambda m: m[708]["Crv"][0]["MustTrip"]["Pt"][0].update(Tms=2),
    "overvoltage-2/threshold": lambda m: m[708]["Crv"][0]["MustTrip"]["Pt"][1].update(V=121),
    "overvoltage-2/clearing-time": lambda m: m[708]["Crv"][0]["MustTrip"]["Pt"][1].update(Tms=0.5),
    "underfrequency-1/threshold": lambda m: m[709]["Crv"][0]["MustTrip"]["Pt"][0].update(Hz=59.3),
    "underfrequency-2/clearing-time": lambda m: m[709]["Crv"][0]["MustTrip"]["Pt"][1].update(Tms=5),
    "overfrequency-1/clearing-time": lambda m: m[710]["Crv"][0]["MustTrip"]["Pt"][0].update(Tms=100),
    "overfrequency-2/threshold": lambda m: m[710]["Crv"][0]["MustTrip"]["Pt"][1].update(Hz=63),
    "reconnection/permitted": put(703, ES=OFF),
    "reconnection/lower-voltage": put(703, ESVLo=88),
    "reconnection/observation-time": put(703, ESDlyTms=60),
    "reconnection/ramp-time": put(703, ESRmpTms=10),
    "fixed-power-factor/power-factor": put(704, PFWInj={"PF": 0.9, "Ext": 1}),
    "volt-var/state": put(705, Ena=ON),
    "volt-watt/state": put(706, Ena=ON),
    "over-frequency-response/deadband": lambda m: m[711]["Ctl"][0].update(DbOf=0.5),
    "under-frequency-response/droop": lambda m: m[711]["Ctl"][0].update(KUf=0.03),
    "active-anti-islanding/state": put(704, AntiIslEna=OFF),
    "performance-category/normal": put(702, NorOpCatRtg=0),
    "performance-category/abnormal": put(702, AbnOpCatRtg=0),
    "reactive-capability/supplying": put(702, VarMaxInj=1520),
    "reactive-capability/absorbing": put(702, VarMaxAbs=0),
}


def faults():
    for setting, change in FAULTS.items():
        variant(f"fault-{setting.replace('/', '-')}", f"one fault: {setting}", change)


def text(image):
    rows = [" ".join(f"{word:04x}" for word in image["words"][n : n + 16]) for n in range(0, len(image["words"]), 16)]
    body = ",\n".join(f'        "{row}"' for row in rows)
    note = json.dumps(f"invented, laid out with pysunspec2: {image['note']}")
    return (f'{{\n  "kind": "register-image",\n  "note": {note},\n  "runs": [\n    {{\n      "from": {image["base"]},\n'
            f'      "registers": [\n{body}\n      ]\n    }}\n  ]\n}}\n')


COMPARED = ["conforming", "older-only", "nine-stored", "many-registers", "neighbours", "short-identity"]


def main(folder):
    make()
    faults()
    folder.mkdir(exist_ok=True)
    for name, image in IMAGES.items():
        (folder / f"{name}.json").write_text(text(image))
    for name in COMPARED:
        lines = read_back(IMAGES[name]["words"], IMAGES[name]["base"])
        (folder / f"{name}.points").write_text("\n".join(lines) + "\n")
    print(f"{len(IMAGES)} images")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
