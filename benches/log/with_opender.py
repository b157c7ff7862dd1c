"""The same log, step by step, by the public reference model of IEEE Std 1547 (opender).

    python3 with_opender.py LOG ROWS

Prints seconds and rows. Only the time is compared: the model's settings are those of another standard.
"""

import csv
import itertools
import logging
import sys
import time

import opender

logging.disable(logging.WARNING)
opender.DER.t_s = 1.0
der = opender.DER_PV(opender.DERCommonFileFormat(NP_PHASE="THREE", NP_AC_V_NOM=400, NP_VA_MAX=10_000, NP_P_MAX=10_000))
begun, rows = time.perf_counter(), 0
with open(sys.argv[1]) as file:
    for row in itertools.islice(csv.reader(file), 1, int(sys.argv[2]) + 1):
        volts = [float(v) for v in row[1:4]]
        # 50 Hz stands for the model's 60
        der.update_der_input(v=volts, theta=[0, -2.0944, 2.0944], f=float(row[4]) * 1.2, p_dc_kw=float(row[5]))
        der.run()
        rows += 1
print(f"{time.perf_counter() - begun:.3f} {rows}")
