"""Records that were tampered with, for tests/cases/verify: made from those that make.sh made."""
import hashlib
import json
from pathlib import Path

RECORDS, CASES = Path("tests/register/records"), Path("tests/cases/verify")


def canonical(value):
    # RFC 8785 for what records hold: text, lists, maps with plain keys, small whole numbers
    return json.dumps(value, separators=(",", ":"), sort_keys=True, ensure_ascii=False)


def forged(case, alter):
    """Altered, with a hash that fits, and no seal."""
    text = (RECORDS / "osier-bank-27.json").read_text()
    envelope = json.loads(text)
    assert canonical(envelope) == text
    alter(envelope["record"])
    envelope["signatures"] = []
    envelope["sha256"] = hashlib.sha256(canonical(envelope["record"]).encode()).hexdigest()
    (CASES / case / "record.json").write_text(canonical(envelope))


def better(record):
    record["verdict"].update(outcome="complies", settings="complies", headline="complies")
    record["findings"] = record["findings"][1:]


def of_another_text(record):
    record["requirement"]["profiles"][0]["sha256"] = "0" * 64


forged("forged", better)
forged("requirement-not-at-hand", of_another_text)
sound = (RECORDS / "larkspur-row-3.json").read_text()
(CASES / "one-byte-altered/record.json").write_text(sound.replace("not enough sun", "not enough fun", 1))
