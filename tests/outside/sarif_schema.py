"""Writes the OASIS JSON Schema of SARIF 2.1.0 without its prose.

Usage: sarif_schema.py SCHEMA > sarif-schema-2.1.0.json, where SCHEMA is the file as OASIS publishes
it. The crate serde-sarif 0.8.0 on crates.io carries it as `src/schema.json`.

Descriptions bind nothing when a log is validated, and are the standard's own sentences: left out.
"""

import hashlib
import json
import sys

# of the file in serde-sarif 0.8.0
SHA256 = "af47e7b67f24efe74076621fd3a5fbe7398add9e84fe820c971219a385895cea"


def without_prose(schema):
    """A schema without descriptions, at any depth; a property of that name stays."""
    if isinstance(schema, list):
        return [without_prose(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    return {key: without_prose(value) for key, value in schema.items() if not (key == "description" and isinstance(value, str))}


# Of a run's language; strict readers of regular expressions want a bracket that stands for itself
# escaped. It means the same.
LANGUAGE = ("^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$", r"^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}\]?$")


def main():
    text = open(sys.argv[1], "rb").read()
    if hashlib.sha256(text).hexdigest() != SHA256:
        sys.exit(f"{sys.argv[1]}: not the file that was looked at")
    written = json.dumps(without_prose(json.loads(text)), separators=(",", ":"))
    print(written.replace(json.dumps(LANGUAGE[0]), json.dumps(LANGUAGE[1])))


main()
