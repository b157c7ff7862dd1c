"""Random pairs of curves and what numpy says of them: `python3 curves.py > curves.json`.

numpy.interp is straight between points and flat beyond them, as curves are here. It has no steps, so
neither have these curves; steps have tests of their own. About every fifth pair is one function
written with other points. All numbers are invented: they look like volts and per cent.
"""

import json
import random

import numpy

SEED = 20_041_547
PAIRS = 500


def decimal(number):
    """At most nine significant digits, as the files write numbers."""
    text = f"{number:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def any_curve(rng):
    """Two to six points, whose places are decimals with 0, 1 or 2 places."""
    places = rng.choice([1, 10, 100])
    xs = sorted(rng.sample(range(180 * places, 280 * places), rng.randint(2, 6)))
    return [(x / places, rng.randint(-1000, 1000) / rng.choice([1, 10, 10])) for x in xs]


def with_other_points(rng, curve):
    """The same function: more flat ends, and points on the straight lines at halves and quarters.

    The ends stand on multiples of 4 whole units and the levels on multiples of 4, so that a quarter
    of the way is a decimal with two places and no rounding makes another function of it.
    """
    more = [(curve[0][0] - rng.randint(1, 9), curve[0][1]), (curve[-1][0] + rng.randint(1, 9), curve[-1][1])]
    for (x0, y0), (x1, y1) in zip(curve, curve[1:]):
        for quarter in rng.sample([1, 2, 3], rng.randint(0, 3)):
            more.append((x0 + (x1 - x0) * quarter / 4, y0 + (y1 - y0) * quarter / 4))
    return sorted(curve + more)


def pair(rng, is_same):
    if not is_same:
        return any_curve(rng), any_curve(rng)
    xs = sorted(rng.sample(range(180, 280, 4), rng.randint(2, 6)))
    curve = [(float(x), float(rng.randint(-25, 25) * 4)) for x in xs]
    return curve, with_other_points(rng, curve)


def said_by_numpy(rng, one, other):
    """The largest deviation on the merged breakpoints, the first where it is largest, and samples."""
    xs = numpy.unique([x for x, _ in one + other])
    level = lambda curve, at: numpy.interp(at, *zip(*curve))
    gap = level(other, xs) - level(one, xs)
    first = int(numpy.argmax(numpy.abs(gap) > numpy.abs(gap).max() - 1e-11))
    samples = [round(rng.uniform(170, 290), 2) for _ in range(3)] + [one[0][0]]
    return {
        "same": bool(numpy.abs(gap).max() < 1e-9),
        "largest-deviation": {"at": decimal(xs[first]), "other-minus-one": float(gap[first])},
        "one-at": [{"x": decimal(x), "y": float(level(one, x))} for x in samples],
    }


def main():
    rng = random.Random(SEED)
    pairs = []
    for _ in range(PAIRS):
        one, other = pair(rng, is_same=rng.random() < 0.2)
        written = [[[decimal(x), decimal(y)] for x, y in curve] for curve in (one, other)]
        pairs.append({"one": written[0], "other": written[1], **said_by_numpy(rng, one, other)})
    header = {"written-by": "tests/outside/curves.py", "numpy": numpy.__version__, "seed": SEED, "data": "invented", "steps": "none"}
    lines = ",\n".join(json.dumps(pair) for pair in pairs)
    print(f'{{\n"header": {json.dumps(header)},\n"pairs": [\n{lines}\n]\n}}')


if __name__ == "__main__":
    main()
