#!/usr/bin/env python3
"""Writes the logs that are refused: a good log, each with one thing wrong, named for it. Invented.

    python3 tests/logs/refused/make.py
"""
from pathlib import Path

HERE = Path(__file__).parent
HEADING = "time,V_L1 [V],f [Hz]"
GOOD = [f"2026-01-14T12:03:{second:02d}+11:00,{240 + second / 10:.1f},50.01" for second in range(12)]


def write(name, heading=HEADING, rows=GOOD, end="\n", raw=None):
    data = raw if raw is not None else ("\n".join([heading, *rows]) + end).encode()
    (HERE / f"{name}.csv").write_bytes(data)


def changed(line, of, to):
    return [row.replace(of, to) if n == line else row for n, row in enumerate(GOOD)]


write("per-unit-as-volts", rows=[row[:26] + f"{1.04 + n / 1000:.3f},50.01" for n, row in enumerate(GOOD)])
write("volts-as-per-unit", heading="time,V_L1 [pu],f [Hz]")
write("line-to-line-as-line-to-neutral", rows=[row.replace(",24", ",41") for row in GOOD])
write("line-to-neutral-as-line-to-line", heading="time,V_L1L2 [V],f [Hz]")
write("no-heading", heading=GOOD[0], rows=GOOD[1:])
write("separator-unknown", heading=HEADING.replace(",", "|"), rows=[row.replace(",", "|") for row in GOOD])
write("decimal-comma-between-commas", rows=[row.replace(".", ",") for row in GOOD])
write("wrong-column", heading="time,room [V],f [Hz]", rows=[row.replace(",24", ",2") for row in GOOD])
write("no-voltage", heading="time,room [C],f [Hz]")
write("no-time", heading="when it was,V_L1 [V],f [Hz]")
write("voltage-twice", heading="time,V_L1 [V],U1 [V]", rows=[row.replace("50.01", "240.0") for row in GOOD])
write("unit-missing", heading="time,V_L1 [V],P")
write("unit-unknown", heading="time,V_L1 [mA],f [Hz]")
write("time-twice", rows=changed(5, ":05+", ":04+"))
write("time-goes-back", rows=changed(5, ":05+", ":01+"))
write("time-unreadable", rows=[row.replace("2026-01-14T", "14/13/2026 ").replace("+11:00", "") for row in GOOD])
write("day-or-month", rows=[row.replace("2026-01-14T", "03/04/2026 ").replace("+11:00", "") for row in GOOD])
write("day-month-or-year", rows=[row.replace("2026-01-14T", "03/04/05 ").replace("+11:00", "") for row in GOOD])
write("twelve-hours-without-halves", rows=changed(11, "T12:03:11", "T01:00:00"))
write("time-without-date", rows=[row[11:19] + row[25:] for row in GOOD])
write("two-times-of-day", heading="date,time,V_L1 [V]", rows=[row[:25] + "," + row[11:19] + ",240.0" for row in GOOD])
write("temperature-is-no-time", heading="T [°C],V_L1 [V],f [Hz]", rows=["21.5" + row[25:] for row in GOOD])
write("supply-of-60-hz", rows=[row.replace("50.01", "60.01") for row in GOOD])
write("supply-of-120-v", rows=[row.replace(",24", ",12") for row in GOOD])
write("no-heading-below-other-lines", raw=("Logger of the switchboard\nserial,4711\n" + "\n".join(GOOD) + "\n").encode())
write("offset-only-sometimes", rows=changed(6, "+11:00", ""))
write("no-number", rows=changed(4, "240.4", "240.4 V"))
write("columns-differ", rows=changed(4, ",50.01", ""))
write("cut-short", rows=GOOD[:-1] + [GOOD[-1][:27]], end="")
write("never-a-voltage", rows=[row[:25] + ",0.0,0.0" for row in GOOD])
write("frequency-implausible", rows=[row.replace("50.01", "314.2") for row in GOOD])
HALVES = HEADING + ",P [W]"
write("thousands-apart", heading=HALVES.replace(",", ";"), rows=[row.replace(",", ";") + ";1,204.5" for row in GOOD])
write("thousands-in-a-log-of-commas", heading=HALVES.replace(",", ";"), rows=[row.replace(",", ";").replace(".", ",") + ";1.204" for row in GOOD])
write("utf-16", raw=("\n".join([HEADING, *GOOD]) + "\n").encode("utf-16"))
write("utf-16-without-a-mark", raw=("\n".join([HEADING, *GOOD]) + "\n").encode("utf-16-be"))
write("workbook", raw=b"PK\x03\x04\x14\x00\x06\x00\x08\x00\x00\x00!\x00" + b"[Content_Types].xml" + bytes(64))
write("empty", raw=b"")
write("no-rows", rows=[])
write("one-row", rows=GOOD[:1])
write("binary", raw=("\n".join([HEADING, *GOOD[:3]]) + "\n").encode() + bytes(40) + b"\n")
write("binary-from-the-start", raw=bytes(range(256)) * 4)
