"""Has `asleft capture` read images that pymodbus serves, over TCP and over a serial line, and compares what it says with what
`asleft decode` says of the same image. Every request that comes is looked at: only function 3, never too many registers.

    python against_pymodbus.py PROGRAM
"""

import asyncio
import json
import logging
import os
import subprocess
import sys
import threading
import tty
from pathlib import Path

from pymodbus import FramerType
from pymodbus.constants import ExcCodes
from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

HERE = Path(__file__).parent
SITE = "sites/sedge-lane-2.yaml"
logging.getLogger("pymodbus").setLevel(logging.CRITICAL)


class Served:
    """An image behind pymodbus, and what was asked of it."""

    def __init__(self, name, unit, most=125):
        self.run = json.loads((HERE / "images" / f"{name}.json").read_text())["runs"][0]
        self.words = [int(word, 16) for row in self.run["registers"] for word in row.split()]
        self.most = most
        self.asked = []
        block = SimData(self.run["from"], values=self.words, datatype=DataType.REGISTERS)
        self.device = SimDevice(unit, simdata=[block], action=self.look)

    async def look(self, function, start, address, count, current, written):
        self.asked.append((function, address, count))
        if count > self.most:
            return ExcCodes.ILLEGAL_VALUE
        return None


async def program(path, *arguments):
    done = await asyncio.to_thread(subprocess.run, [path, *arguments], capture_output=True, text=True, cwd=HERE)
    return done.returncode, done.stdout, done.stderr


async def compared(path, name, served, *peer):
    """What capture says, against what decode says; what stands beside the settings tells of the peer, and differs."""
    code, read, error = await program(path, "capture", *peer, "--format", "json", "--judge", SITE, "--pause", "0")
    assert read, f"{name}: {error}"
    other, kept, _ = await program(path, "decode", f"images/{name}.json", "--format", "json", "--judge", SITE)
    read, kept = json.loads(read), json.loads(kept)
    for part in ["device", "base", "models", "settings", "not-read", "troubles", "leaves-open"]:
        assert read[part] == kept[part], f"{name}: {part}\n{read[part]}\n{kept[part]}"
    assert (code, read["site"]["verdict"]) == (other, kept["site"]["verdict"]), name
    functions = {function for function, _, _ in served.asked}
    assert functions == {3}, f"{name}: functions {functions}"
    most = max(count for _, _, count in served.asked)
    print(f"  {name}: {len(served.asked)} requests of at most {most} registers, exit {code}, {len(read['settings'])} settings")
    return code, most


async def over_tcp(path, name, unit, most=125, *arguments):
    served = Served(name, unit, most)
    server = ModbusTcpServer(served.device, address=("127.0.0.1", 0))
    await server.serve_forever(background=True)
    port = server.transport.sockets[0].getsockname()[1]
    try:
        return await compared(path, name, served, "--tcp", f"127.0.0.1:{port}", "--unit", str(unit), *arguments)
    finally:
        await server.shutdown()


def bridge(one, other):
    """Carries bytes from one terminal to the other."""
    def carry():
        while True:
            try:
                os.write(other, os.read(one, 512))
            except OSError:
                return
    threading.Thread(target=carry, daemon=True).start()


async def over_a_line(path, name, unit):
    (near, program_end), (far, server_end) = os.openpty(), os.openpty()
    for terminal in (near, program_end, far, server_end):
        tty.setraw(terminal)
    bridge(near, far)
    bridge(far, near)
    served = Served(name, unit)
    server = ModbusSerialServer(served.device, framer=FramerType.RTU, port=os.ttyname(server_end), baudrate=115200)
    await server.serve_forever(background=True)
    try:
        peer = ["--serial", os.ttyname(program_end), "--speed", "115200", "--unit", str(unit)]
        return await compared(path, name, served, *peer)
    finally:
        await server.shutdown()


async def main(path):
    print("over TCP")
    for name, unit in [("conforming", 1), ("base-0", 7), ("base-50000", 247), ("older-only", 3), ("nine-points", 2), ("many-registers", 1), ("volt-var-on", 1), ("scale-missing", 1)]:
        await over_tcp(path, name, unit)
    code, most = await over_tcp(path, "conforming", 1, 125, "--at-once", "123")
    assert code == 0 and 100 < most <= 123
    # a device that gives fewer registers at once than are asked for
    code, _ = await over_tcp(path, "conforming", 1, 10)
    assert code == 0
    code, _ = await over_tcp(path, "fault-overvoltage-1-threshold", 1)
    assert code == 1
    print("over a serial line")
    for name, unit in [("conforming", 17), ("older-only", 1)]:
        await over_a_line(path, name, unit)


asyncio.run(main(sys.argv[1]))
