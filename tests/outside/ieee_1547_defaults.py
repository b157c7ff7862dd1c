"""IEEE Std 1547-2018 defaults as EPRI's public reference model has them: `python3 ieee_1547_defaults.py > ieee-1547-defaults.json`.

The package's own parameter files and setters give the settings; its model, run as a snapshot, gives
the reactive power and the active power limit that it wants at each voltage. Only numbers are carried.
Voltages are per unit of nominal, reactive power is per cent of rated apparent power (positive
supplies, negative absorbs), active power is per cent of rated active power.
"""

import json
import logging
import re

import opender

logging.disable(logging.WARNING)

VOLTAGES = [0.88, 0.9, 0.91, 0.92, 0.93, 0.95, 0.97, 0.98, 0.99, 1.0, 1.01, 1.02, 1.03, 1.05, 1.06, 1.07, 1.08, 1.09]
POWERS = [0.0, 0.1, 0.2, 0.4, 0.5, 0.6, 0.75, 0.9, 1.0]


def settings(**categories):
    """The package's applied settings after the category has been chosen."""
    return opender.DERCommonFileFormat(**categories)


def shown(number):
    return round(float(number), 9) + 0.0


def percent(per_unit):
    return shown(100 * per_unit)


def by_normal_category(category):
    s = settings(NP_NORMAL_OP_CAT=category)
    points = lambda *pairs: [[shown(x), percent(y)] for x, y in pairs]
    return {
        "volt-var/points [pu, % of rated VA]": points(
            (s.QV_CURVE_V1, s.QV_CURVE_Q1), (s.QV_CURVE_V2, s.QV_CURVE_Q2), (s.QV_CURVE_V3, s.QV_CURVE_Q3), (s.QV_CURVE_V4, s.QV_CURVE_Q4)
        ),
        "volt-var/open-loop-response-time [s]": shown(s.QV_OLRT),
        "volt-var/reference-voltage [pu]": shown(s.QV_VREF),
        "watt-var/points [% of rated W, % of rated VA]": [
            [percent(x), percent(y)]
            for x, y in [
                (s.QP_CURVE_P1_GEN, s.QP_CURVE_Q1_GEN),
                (s.QP_CURVE_P2_GEN, s.QP_CURVE_Q2_GEN),
                (s.QP_CURVE_P3_GEN, s.QP_CURVE_Q3_GEN),
            ]
        ],
        "volt-watt/points [pu, % of rated W]": points((s.PV_CURVE_V1, s.PV_CURVE_P1), (s.PV_CURVE_V2, s.PV_CURVE_P2)),
        "volt-watt/open-loop-response-time [s]": shown(s.PV_OLRT),
    }


def by_abnormal_category(category):
    s = settings(NP_ABNORMAL_OP_CAT=category)
    stage = lambda name, kind, unit: {
        f"threshold [{unit}]": shown(getattr(s, f"{name}_TRIP_{kind}")),
        "clearing-time [s]": shown(getattr(s, f"{name}_TRIP_T")),
    }
    return {
        "overvoltage-2": stage("OV2", "V", "pu"),
        "overvoltage-1": stage("OV1", "V", "pu"),
        "undervoltage-1": stage("UV1", "V", "pu"),
        "undervoltage-2": stage("UV2", "V", "pu"),
        "overfrequency-2": stage("OF2", "F", "Hz"),
        "overfrequency-1": stage("OF1", "F", "Hz"),
        "underfrequency-1": stage("UF1", "F", "Hz"),
        "underfrequency-2": stage("UF2", "F", "Hz"),
    }


def in_every_category():
    s = settings()
    return {
        "enter-service": {
            "lower-voltage [pu]": shown(s.ES_V_LOW),
            "upper-voltage [pu]": shown(s.ES_V_HIGH),
            "lower-frequency [Hz]": shown(s.ES_F_LOW),
            "upper-frequency [Hz]": shown(s.ES_F_HIGH),
            "delay [s]": shown(s.ES_DELAY),
            "ramp-duration [s]": shown(s.ES_RAMP_RATE),
        },
        "frequency-droop": {
            "over-frequency-deadband [Hz]": shown(s.PF_DBOF),
            "under-frequency-deadband [Hz]": shown(s.PF_DBUF),
            "over-frequency-droop [% of nominal frequency for all of rated power]": percent(s.PF_KOF),
            "under-frequency-droop [% of nominal frequency for all of rated power]": percent(s.PF_KUF),
            "open-loop-response-time [s]": shown(s.PF_OLRT),
        },
    }


def wanted(mode, category, **inputs):
    """A snapshot at rated frequency: a model of its own for each, so that no memory is carried over."""
    file = settings(NP_NORMAL_OP_CAT=category)
    setattr(file, mode, True)
    model = opender.DER_PV(file)
    model.update_der_input(**{"f": 60, "v_pu": 1, "p_dc_pu": 1, **inputs})
    model.run()
    return model


def computed(category):
    return {
        "volt-var reactive power [pu voltage, % of rated VA]": [
            [v, percent(wanted("QV_MODE_ENABLE", category, v_pu=v).q_desired_pu)] for v in VOLTAGES
        ],
        "volt-watt active power limit [pu voltage, % of rated W]": [
            [v, percent(wanted("PV_MODE_ENABLE", category, v_pu=v).p_desired_pu)] for v in VOLTAGES
        ],
        "watt-var reactive power [% of rated W, % of rated VA]": [
            [percent(p), percent(wanted("QP_MODE_ENABLE", category, p_dc_pu=p).q_desired_pu)] for p in POWERS
        ],
    }


def main():
    everything = {
        "header": {
            "written-by": "tests/outside/ieee_1547_defaults.py",
            "opender": opender.__version__,
            "standard": "IEEE Std 1547-2018, as EPRI's reference model of it has the defaults",
            "sign": "positive reactive power supplies (raises the voltage), negative absorbs",
        },
        "by normal performance category": {c: by_normal_category(f"CAT_{c}") for c in ["A", "B"]},
        "by abnormal performance category": {c: by_abnormal_category(f"CAT_{c}") for c in ["I", "II", "III"]},
        "in every category": in_every_category(),
        "computed by the model": {c: computed(f"CAT_{c}") for c in ["A", "B"]},
    }
    pair_on_its_line = re.compile(r"\[\s+(-?[\d.]+),\s+(-?[\d.]+)\s+\]")
    print(pair_on_its_line.sub(r"[\1, \2]", json.dumps(everything, indent=1)))


if __name__ == "__main__":
    main()
