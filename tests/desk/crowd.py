# SPDX-License-Identifier: GPL-3.0-or-later
"""200 connections at once for a minute (or the seconds given): pages, figures, commands, nonsense and connections that say
nothing. Not part of the suite.  BLOOMCOAT=build/release/bin/bloomcoat EXAMPLES=examples python3 tests/desk/crowd.py [SECONDS]"""
import collections
import os
import random
import shutil
import socket
import sys
import tempfile
import threading
import time

from browser import Desk
from test_http import CALLOUTS, LAYERS, Client, raw, status

seconds, count, lock = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0, collections.Counter(), threading.Lock()


def one(client, seed):
    choose = random.Random(seed)
    body = {"incident": "air", "substrate": "517642", "layers": [{"material": m, "thickness_nm": t} for m, t in LAYERS], "from_nm": 400, "to_nm": 700,
            "step_nm": 1, "aoi_deg": [0, 30], "callouts": CALLOUTS}
    ways = [("page", lambda: client.get("/")), ("figures", lambda: client.post("/live", body)),
            ("command", lambda: client.post("/run", {"command": "callouts", "operands": [CALLOUTS], "options": [["json", None]]})),
            ("stranger", lambda: client.get("/", Cookie=None)),
            ("nonsense", lambda: raw(client.port, bytes(choose.randrange(256) for _ in range(400)) + b"\r\n\r\n")),
            ("silence", lambda: time.sleep(choose.random()) or b"HTTP/1.1 0 "), ("large", lambda: raw(client.port, client.post_head("/run", 1 << 33)))]
    while time.monotonic() < end:
        name, how = choose.choice(ways)
        try:
            found = status(how())
        except (OSError, ValueError, IndexError) as error:
            found = type(error).__name__
        with lock:
            count[name, found] += 1


with tempfile.TemporaryDirectory() as folder:
    shop = shutil.copytree(os.environ["EXAMPLES"] + "/shop", folder + "/shop")
    with Desk(os.environ["BLOOMCOAT"], shop) as desk:
        client, end = Client(desk), time.monotonic() + seconds
        silent = [socket.create_connection(("127.0.0.1", desk.port)) for _ in range(50)]
        threads = [threading.Thread(target=one, args=(client, i)) for i in range(150)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for key, number in sorted(count.items(), key=str):
            print("%-10s %-6s %d" % (*key, number))
        with open("/proc/%d/status" % desk.process.pid) as file:
            print(*[line.strip() for line in file if line.startswith(("VmHWM", "Threads"))])
        print("afterwards:", status(client.get("/")))
    print("exit code", desk.code)
