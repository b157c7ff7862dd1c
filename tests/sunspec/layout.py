"""Lays out register images with pysunspec2, an implementation of the SunSpec models that is independent of this project.

Values are given in engineering units, with the scale factors; what does not fit a register exactly is refused. A value
written as `raw(n)` goes into its register as it is.
"""

import json
from decimal import Decimal
from pathlib import Path

import sunspec2
import sunspec2.device as device

DEFINITIONS = Path(sunspec2.__file__).parent / "models" / "json"
MARK = [0x5375, 0x6E53]
END = [0xFFFF, 0]


class raw(int):
    """A register's value, not scaled."""


def definition(model):
    return json.loads((DEFINITIONS / f"model_{model}.json").read_text())["group"]


def to_register(value, power, name):
    if isinstance(value, raw) or power is None or isinstance(value, str):
        return value
    scaled = Decimal(str(value)).scaleb(-power)
    if scaled != scaled.to_integral_value():
        raise ValueError(f"{name}: {value} does not fit 10^{power}")
    return int(scaled)


def unscaled(group, values, scales):
    points = {point["name"]: point for point in group["points"]}
    groups = {inner["name"]: inner for inner in group.get("groups", [])}
    registers = {}
    for name, value in values.items():
        if name in groups:
            one = lambda inner: unscaled(groups[name], inner, scales)
            registers[name] = [one(inner) for inner in value] if isinstance(value, list) else one(value)
            continue
        scale = points[name].get("sf")
        power = scales.get(scale) if isinstance(scale, str) else scale
        registers[name] = to_register(value, power, name)
    return registers


def model(number, values):
    """The registers of one model."""
    group = definition(number)
    scales = {name: power for name, power in values.items() if name.endswith("_SF")}
    laid = device.Model(number, data={"ID": number, **unscaled(group, values, scales)})
    mb = laid.get_mb()
    words = [int.from_bytes(mb[n : n + 2], "big") for n in range(0, len(mb), 2)]
    words[1] = len(words) - 2
    return words


def chain(models):
    """A map: the mark, the models one after another, the end. Unknown models are given as lists of registers."""
    words = list(MARK)
    places = {}
    for number, values in models:
        places.setdefault(number, len(words))
        words += values if isinstance(values, list) else model(number, values)
    return words + END, places


def read_back(words, base):
    """Every point as pysunspec2 decodes it, not scaled, by its address: what this project's decoder is compared with."""
    lines = []
    at = 2
    while words[at] != 0xFFFF:
        number, length = words[at], words[at + 1]
        registers = b"".join(word.to_bytes(2, "big") for word in words[at : at + 2 + length])
        if (DEFINITIONS / f"model_{number}.json").exists():
            decoded = device.Model(number, model_len=length, data=registers)
            if decoded.error_info:
                raise ValueError(decoded.error_info)
            collect(decoded, number, base + at, lines)
        at += 2 + length
    return lines


def collect(group, number, start, lines):
    for name, point in group.points.items():
        lines.append(f"{number} {start + point.offset} {name} {json.dumps(point.value)}")
    for inner in group.groups.values():
        for one in inner if isinstance(inner, list) else [inner]:
            collect(one, number, start, lines)
