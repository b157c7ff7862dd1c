"""Writes random JSON with its canonical form and hash, by a library outside this project.

Usage: canonical.py > canonical.json, with rfc8785 0.1.4 from PyPI.
"""

import hashlib
import json
import random
import rfc8785

CHARACTERS = "aZ09-_ \"\\/\b\f\n\r\t\x00\x1f\x7f\x80öé€\u2028\ufb33\uffff😀𝄞"


def text(r):
    return "".join(r.choice(CHARACTERS) for _ in range(r.randrange(8)))


def value(r, depth):
    kind = r.randrange(8 if depth else 6)
    if kind == 0:
        return r.choice([None, True, False])
    if kind == 1:
        return r.randrange(-(2**53) + 1, 2**53)
    if kind == 2:
        return r.uniform(-1, 1) * 10.0 ** r.randrange(-12, 25)
    if kind < 6:
        return text(r)
    if kind == 6:
        return [value(r, depth - 1) for _ in range(r.randrange(6))]
    return {text(r): value(r, depth - 1) for _ in range(r.randrange(8))}


r = random.Random(8785)
cases = []
for _ in range(200):
    one = {text(r): value(r, 3) for _ in range(r.randrange(8))}
    form = rfc8785.dumps(one)
    # as it was made, keys in the order in which they came; and its canonical form
    cases.append({"json": json.dumps(one), "canonical": form.decode(), "sha256": hashlib.sha256(form).hexdigest()})
print(json.dumps({"by": "canonical.py, rfc8785 0.1.4 (PyPI), seed 8785", "cases": cases}, indent=1))
