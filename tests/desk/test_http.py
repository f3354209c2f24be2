# SPDX-License-Identifier: GPL-3.0-or-later
"""The desk over plain sockets: what a stranger gets, what is refused, and figures against those of the command line."""
import base64
import ctypes
import errno
import glob
import json
import os
import re
import shlex
import shutil
import signal
import socket
import struct
import subprocess
import tempfile
import threading
import time
import unittest

from browser import Desk

PROGRAM, EXAMPLES = os.environ["BLOOMCOAT"], os.environ["EXAMPLES"]
CALLOUTS = "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg"
LAYERS = [("Al2O3", 75.211), ("Ta2O5", 109.445), ("Al2O3", 29.864), ("MgF2", 75.575)] * 2
STACK = "role,material,thickness_nm\nsubstrate,517642,\n" + "".join("layer,%s,%r\n" % layer for layer in LAYERS) + "incident,air,\n"


def base64_of(text):
    return base64.b64encode(text.encode()).decode()


def command_line(*words, folder=None):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, cwd=folder, timeout=300)


def raw(port, text, wait=True):
    """Bytes in, bytes out, as they are."""
    with socket.create_connection(("127.0.0.1", port), timeout=120) as connection:
        connection.sendall(text.encode() if isinstance(text, str) else text)
        answer = b""
        while wait:
            piece = connection.recv(65536)
            if not piece:
                break
            answer += piece
        return answer


def status(answer):
    return int(answer.split(b" ", 2)[1]) if answer else 0


class Client:
    """Whoever has the secret. Of a proxy its port, and headers of every request."""

    def __init__(self, desk, port=None, **always):
        self.port = port or desk.port
        self.host = "127.0.0.1:%d" % self.port
        self.always = always
        self.cookie = None
        answer = raw(self.port, self.head("GET", desk.address.split(self.host)[1]))
        self.first = answer.decode()
        self.cookie = [line for line in self.first.split("\r\n") if line.startswith("Set-Cookie: ")][0][12:].split(";")[0]

    def head(self, method, path, **other):
        lines = {"Host": self.host, "Cookie": self.cookie, "Connection": "close", **self.always, **other}
        return "%s %s HTTP/1.1\r\n" % (method, path) + "".join("%s: %s\r\n" % (k.replace("_", "-"), v) for k, v in lines.items() if v is not None) + "\r\n"

    def get(self, path, **other):
        return raw(self.port, self.head("GET", path, **other))

    def post_head(self, path, length, **other):
        return self.head("POST", path, **{"Origin": "http://" + self.host, "Content_Type": "application/json", "Content_Length": str(length), **other})

    def post(self, path, body, **other):
        text = body if isinstance(body, str) else json.dumps(body)
        return raw(self.port, self.post_head(path, len(text.encode()), **other) + text)

    def figures(self, path, body):
        return json.loads(self.post(path, body).split(b"\r\n\r\n", 1)[1])

    def run(self, body):
        """The lines of a job."""
        return list(stream_lines(self.post("/run", body)))


def stream_lines(answer):
    body, text = answer.split(b"\r\n\r\n", 1)[1], b""
    while body:
        size, body = body.split(b"\r\n", 1)
        size = int(size, 16)
        text, body = text + body[:size], body[size + 2:]
    return (json.loads(line) for line in text.split(b"\n") if line)


def filters(process):
    """Filters of system calls that it has; None where the kernel has none."""
    with open("/proc/%d/status" % process) as file:
        found = [line.split()[1] for line in file if line.startswith("Seccomp_filters:")]
    return int(found[0]) if found else None


def runs(process):
    try:
        with open("/proc/%s/stat" % process) as file:
            return file.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


LANDLOCK, SECCOMP, PRCTL = range(3)
CALLS = {"x86_64": (444, 317, 157), "aarch64": (444, 277, 167)}  # landlock_create_ruleset(), seccomp(), prctl()


def without(*missing):
    """What a process does before it becomes the desk: a filter that refuses what is missing, as of a kernel that has none
    (linux/filter.h, linux/seccomp.h)."""
    calls = CALLS[os.uname().machine]
    load, equal, end = 0x20, 0x15, 0x06  # of the number at 0, of an argument at 16; jump when equal; return
    refuse, allow = 0x00050000 | errno.ENOSYS, 0x7FFF0000
    lines = [(load, 0, 0, 0)]
    if LANDLOCK in missing:
        lines += [(equal, 0, 1, calls[LANDLOCK]), (end, 0, 0, refuse)]
    if SECCOMP in missing:  # PR_SET_SECCOMP is 22
        lines += [(equal, 0, 1, calls[SECCOMP]), (end, 0, 0, refuse), (equal, 0, 3, calls[PRCTL]), (load, 0, 0, 16), (equal, 0, 1, 22), (end, 0, 0, refuse)]
    code = b"".join(struct.pack("HBBI", *line) for line in lines + [(end, 0, 0, allow)])
    library = ctypes.CDLL(None)

    def install():
        words = ctypes.create_string_buffer(code, len(code))
        program = ctypes.create_string_buffer(struct.pack("HP", len(code) // 8, ctypes.addressof(words)))
        if library.prctl(38, 1, 0, 0, 0) != 0 or library.prctl(22, 2, program, 0, 0) != 0:  # PR_SET_NO_NEW_PRIVS; SECCOMP_MODE_FILTER
            os._exit(99)
    return install


def has_terminals():
    try:
        for end in os.openpty():
            os.close(end)
    except OSError:
        return False
    return True


class OverASocket(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.shop = shutil.copytree(EXAMPLES + "/shop", cls.folder.name + "/shop")
        cls.desk = Desk(PROGRAM, cls.shop)
        cls.client = Client(cls.desk)
        # looked at by the last test: connections that never make a request
        cls.half = [socket.create_connection(("127.0.0.1", cls.desk.port)) for _ in range(30)]
        for one in cls.half:
            one.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: ")
        cls.begun = time.monotonic()
        cls.trickles = threading.Thread(target=cls.trickle, daemon=True)
        cls.trickles.start()

    @classmethod
    def trickle(cls):
        try:
            while time.monotonic() < cls.begun + 40:
                time.sleep(0.5)
                cls.half[0].sendall(b"x")
        except OSError:
            pass

    @classmethod
    def tearDownClass(cls):
        cls.desk.__exit__()
        cls.folder.cleanup()

    def expect(self, code, answer):
        self.assertEqual(status(answer), code, answer[:300])

    def test_a_stranger_gets_nothing(self):
        for path in ["/", "/desk.js", "/shop.json", "/open/", "/open/" + "0" * 64, "/result/x/y"]:
            answer = self.client.get(path, Cookie=None)
            self.expect(403, answer)
            self.assertIn(b"whoever has its whole address", answer)
            self.assertNotIn(b"Set-Cookie", answer)
        self.expect(403, self.client.post("/run", {"command": "materials"}, Cookie=None))
        self.expect(403, self.client.get("/", Cookie="bloomcoat-%d=%s-%s" % (self.desk.port, "0" * 32, "0" * 64)))

    def test_the_secret_becomes_a_strict_cookie(self):
        self.assertIn("200 OK", self.client.first.split("\r\n")[0])
        cookie = [line for line in self.client.first.split("\r\n") if line.startswith("Set-Cookie")][0]
        self.assertRegex(cookie, r"^Set-Cookie: bloomcoat-\d+=[0-9a-f]{32}-[0-9a-f]{64}; Path=/; HttpOnly; SameSite=Strict$")
        answer = self.client.get("/")
        self.expect(200, answer)
        self.assertIn(b"default-src 'none'; script-src 'self'; style-src 'self';", answer)
        self.assertNotIn(b"unsafe", answer)
        self.assertNotIn(b"<script>", answer)

    def test_others_are_refused(self):
        self.expect(421, self.client.get("/", Host="evil.example:%d" % self.desk.port))
        self.expect(403, self.client.post("/run", {"command": "materials"}, Origin="http://evil.example"))
        self.expect(403, self.client.post("/run", {"command": "materials"}, Origin=None))
        self.expect(403, self.client.get("/", Sec_Fetch_Site="cross-site"))
        self.expect(415, self.client.post("/run", {"command": "materials"}, Content_Type="text/plain"))
        for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "BREW"]:
            self.expect(405, raw(self.desk.port, self.client.head(method, "/")))

    def test_only_the_loopback_address_listens(self):
        with open("/proc/net/tcp") as file:
            rows = [line.split() for line in file][1:]
        places = {row[1] for row in rows if row[3] == "0A" and row[1].endswith(":%04X" % self.desk.port)}
        self.assertEqual(places, {"0100007F:%04X" % self.desk.port})

    def test_paths_lead_nowhere(self):
        for path in ["/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/result/../../etc/passwd",
                     "/result/" + "0" * 32 + "/..%2f..%2fetc%2fpasswd", "/page/index.html", "/index.html"]:
            answer = self.client.get(path)
            self.expect(404, answer)
            self.assertNotIn(b"root:", answer)

    def test_bodies_are_bounded(self):
        self.expect(413, raw(self.desk.port, self.client.post_head("/run", 1 << 40)))
        self.expect(400, self.client.post("/run", "[" * 100000))
        self.expect(400, self.client.post("/run", "no json"))
        self.expect(400, self.client.post("/run", ""))
        self.expect(422, self.client.post("/run", {"command": "desk"}))
        self.expect(422, self.client.post("/nowhere", {}))
        block = b"400000\r\n" + b" " * 0x400000 + b"\r\n"
        head = self.client.post_head("/run", 0, Content_Length=None, Transfer_Encoding="chunked").encode()
        self.expect(413, raw(self.desk.port, head + 7 * block + b"0\r\n\r\n"))

    def live_body(self):
        return {"incident": "air", "substrate": "517642", "layers": [{"material": m, "thickness_nm": t} for m, t in LAYERS], "from_nm": 400,
                "to_nm": 700, "step_nm": 1, "aoi_deg": [0, 30], "callouts": CALLOUTS}

    def test_figures_at_once_are_those_of_the_command_line(self):
        found = self.client.figures("/live", self.live_body())
        with open(self.folder.name + "/stack.csv", "w") as file:
            file.write(STACK)
        spectrum = command_line("spectrum", "stack.csv", "--from", "400", "--to", "700", "--aoi", "0,30", "--json", folder=self.folder.name)
        check = command_line("check", "stack.csv", "--callout", CALLOUTS, "--json", "--shop", self.shop, folder=self.folder.name)
        self.assertEqual(found["spectrum"], json.loads(spectrum.stdout))
        self.assertEqual(found["check"], json.loads(check.stdout))
        self.assertEqual(len(found["spectrum"]["wavelength_nm"]), 301)

    def test_letters_and_lines_stand_out_from_what_is_behind_them(self):
        """Contrast as WCAG 2.1 computes it (W3C Recommendation, 2018): 4.5 for text, 3 for the curves, light and dark."""
        sheets = re.findall(r":root \{(.*?)\}", self.client.get("/desk.css").decode(), re.DOTALL)
        light = dict(re.findall(r"--([\w-]+): (#\w{6})", sheets[0]))
        dark = {**light, **dict(re.findall(r"--([\w-]+): (#\w{6})", sheets[1]))}

        def luminance(colour):
            parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
            linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
            return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear))

        def contrast(a, b):
            low, high = sorted((luminance(a), luminance(b)))
            return (high + 0.05) / (low + 0.05)
        self.assertAlmostEqual(contrast("#000000", "#ffffff"), 21)
        text = [(front, back) for front in ("ink", "soft", "key", "good", "care", "bad") for back in ("paper", "sheet", "tint")]
        text += [(front, kind + "-tint") for kind in ("good", "care", "bad") for front in ("ink", kind)] + [("key-ink", "key"), ("ink", "glass")]
        text += [("ink", "layer-%d" % i) for i in range(1, 7)]
        lines = [("curve-%d" % i, "sheet") for i in range(1, 5)] + [("pinned", "sheet")]
        for name, colours in (("light", light), ("dark", dark)):
            for pairs, least in ((text, 4.5), (lines, 3.0)):
                for front, back in pairs:
                    self.assertGreaterEqual(contrast(colours[front], colours[back]), least, "%s: %s on %s" % (name, front, back))

    def test_index_gradients_are_read_and_computed(self):
        graded = "role,material,thickness_nm,index_gradient_percent\n" + "".join(
            "%s,%s,%s,%s\n" % row for row in [("substrate", "517642", "", ""), *(("layer", m, t, 8) for m, t in LAYERS), ("incident", "air", "", "")])
        with open(self.folder.name + "/stack.csv", "w") as file:
            file.write(graded)
        layers = self.client.figures("/read", {"kind": "stack", "name": "stack.csv", "contents": base64_of(graded)})["layers"]
        self.assertEqual([layer["index_gradient_percent"] for layer in layers], [8] * len(LAYERS))
        found = self.client.figures("/live", {**self.live_body(), "layers": layers})
        check = command_line("check", "stack.csv", "--callout", CALLOUTS, "--json", "--shop", self.shop, folder=self.folder.name)
        self.assertEqual(found["check"], json.loads(check.stdout))
        self.assertNotEqual(found["check"], self.client.figures("/live", self.live_body())["check"])

    def test_what_cannot_be_computed_at_once_is_said(self):
        for change, words in [({"substrate": "nosuch"}, "nosuch"), ({"aoi_deg": [90]}, "angles"), ({"to_nm": 1e9}, "wavelengths"),
                              ({"layers": [{"material": "MgF2", "thickness_nm": -1}]}, "layer 1"), ({"callouts": "foo"}, "foo"),
                              ({"layers": [{"material": "MgF2", "thickness_nm": 1}] * 61}, "61 layers"), ({"layers": [{}]}, "layer 1"),
                              ({"from_nm": 1}, "range"),
                              ({"layers": [{"material": "MgF2", "thickness_nm": 1, "index_gradient_percent": 51}]}, "gradient"), ({"layers": [{"material": "1.38", "thickness_nm": 400}], "substrate": "1.52",
                                                           "callouts": "R < 1 %, 0.305-50 nm"}, "fringes")]:
            answer = self.client.post("/live", {**self.live_body(), **change})
            self.expect(422, answer)
            self.assertIn(words, answer.decode())

    def test_a_command_is_that_of_the_command_line(self):
        lines = self.client.run({"command": "check", "operands": ["stack.csv"], "files": {"stack.csv": base64_of(STACK)}, "results": ["p.svg"],
                                 "options": [["callout", CALLOUTS], ["plot", "p.svg"], ["json", None]]})
        line, end = lines[0]["command"], lines[-1]
        with open(self.folder.name + "/stack.csv", "w") as file:
            file.write(STACK)
        again = command_line(*shlex.split(line)[1:], "--json", folder=self.folder.name)
        self.assertEqual((end["exit"], end["printed"]), (again.returncode, again.stdout))
        self.assertEqual(end["results"], ["p.svg"])
        answer = self.client.get("/result/%s/p.svg?download" % lines[0]["job"])
        with open(self.folder.name + "/p.svg", "rb") as file:
            self.assertEqual(answer.split(b"\r\n\r\n", 1)[1], file.read())
        self.assertIn(b"sandbox; default-src 'none'", answer[:600])
        self.assertIn(b"attachment", answer[:600])

    def test_callouts_are_understood_note_by_note(self):
        notes = self.client.figures("/words", {"words": "Rmax < 1 %, 550 nm\nRavg < 1% foo; T > 99 %, 600 nm"})["notes"]
        self.assertEqual([("error" in note) for note in notes], [False, True, False])
        self.assertEqual(notes[2]["callouts"]["callouts"][0]["limit_percent"], 99)
        self.assertIn("foo", notes[1]["error"])
        again = self.client.figures("/words", {"words": "\n".join(notes[0]["words"] + notes[2]["words"])})["notes"]
        self.assertEqual([note["callouts"]["callouts"] for note in again], [notes[0]["callouts"]["callouts"], notes[2]["callouts"]["callouts"]])

    def test_files_are_read_as_every_command_reads_them(self):
        with open(EXAMPLES + "/window-stack.csv") as file:
            stack = self.client.figures("/read", {"kind": "stack", "name": "window.csv", "contents": base64_of(file.read())})
        self.assertEqual([layer["material"] for layer in stack["layers"]], ["Al2O3", "HfO2", "MgF2"])
        wrong = self.client.figures("/read", {"kind": "stack", "name": "my.csv", "contents": base64_of("role,material\nlayer,MgF2,3")})
        self.assertTrue(wrong["error"].startswith("my.csv:2:"), wrong)

    def hard_quote(self, client=None):
        client = client or self.client
        if not has_terminals():
            self.skipTest("no terminals here (/dev/pts is not mounted): a command says how far it is on a terminal alone")
        body = json.dumps({"command": "quote", "options": [["callout", "Rmax <= 0.05 %, 425-675 nm, 0-30 deg"], ["substrate", "517642"],
                                                           ["effort", "50"], ["json", None]]})
        connection = socket.create_connection(("127.0.0.1", client.port), timeout=120)
        connection.sendall((client.post_head("/run", len(body)) + body).encode())
        text = b""
        while b'"progress"' not in text:
            piece = connection.recv(65536)
            self.assertTrue(piece, text[-300:])
            text += piece
        return connection, text

    def test_what_is_found_comes_one_by_one(self):
        body = {"command": "quote", "options": [["callout", "Rmax <= 0.25 %, 430-670 nm, 0-20 deg"], ["substrate", "517642"], ["materials", "MgF2,HfO2"],
                                                ["max-layers", "3"], ["effort", "0.1"], ["prove", "0"], ["json", None]]}
        plain = json.loads(self.client.run(body)[-1]["printed"])
        body["options"].append(["as-found", None])
        lines = self.client.run(body)
        found, end = [line["found"] for line in lines if "found" in line], lines[-1]
        self.assertEqual(json.loads(end["printed"]), plain)
        self.assertNotIn("{", end["said"])
        self.assertNotIn("--as-found", lines[0]["command"])
        self.assertTrue(plain["exceptions"])
        for exception in plain["exceptions"]:
            self.assertIn({"exception": exception}, found)
        last = {line["option"]["layers"]: line["option"] for line in found if "option" in line}
        self.assertGreaterEqual(len(last), len(plain["options"]))
        for option in plain["options"]:
            shown = dict(last[option["layers"]], recommended=option["recommended"], best_possible=option["best_possible"])
            self.assertIs(shown.pop("forecast"), False)
            for known in ("process_runs", "yield_known_low_percent", "yield_known_high_percent", "yield_known_average_percent"):
                shown.pop(known, None), option.pop(known, None)  # found last of all, for the options that are left
            self.assertEqual(shown, option)

    def children(self, desk=None):
        process = (desk or self.desk).process.pid
        with open("/proc/%d/task/%d/children" % (process, process)) as file:
            mine = file.read().split()
        for task in os.listdir("/proc/%d/task" % process):
            try:
                with open("/proc/%d/task/%s/children" % (process, task)) as file:
                    mine += file.read().split()
            except OSError:
                pass
        return set(mine)

    def test_a_long_job_says_how_far_it_is_and_stops_with_the_best_so_far(self):
        connection, text = self.hard_quote()
        job = json.loads(text.split(b"\r\n\r\n", 1)[1].split(b"\r\n", 1)[1].split(b"\n", 1)[0])["job"]
        self.expect(200, self.client.post("/stop", {"job": job}))
        while True:
            piece = connection.recv(65536)
            if not piece:
                break
            text += piece
        connection.close()
        end = list(stream_lines(text))[-1]
        self.assertIs(json.loads(end["printed"])["interrupted"], True)

    def test_a_job_ends_when_its_page_goes_away(self):
        connection, _ = self.hard_quote()
        self.assertEqual(len(self.children()), 1)
        if "libseccomp" in subprocess.run(["ldd", PROGRAM], capture_output=True, text=True).stdout and filters(os.getpid()) is not None:
            desks = filters(self.desk.process.pid) - filters(os.getpid())
            jobs = filters(int(self.children().pop())) - filters(os.getpid())
            self.assertEqual((desks, jobs), (1, 2))  # a job has its own beside the desk's
        connection.close()
        end = time.monotonic() + 20
        while self.children() and time.monotonic() < end:
            time.sleep(0.1)
        self.assertEqual(self.children(), set())

    def test_a_desk_that_the_kernel_does_not_hold_says_so(self):
        filtered = "libseccomp" in subprocess.run(["ldd", PROGRAM], capture_output=True, text=True).stdout
        if filters(os.getpid()) is None or os.uname().machine not in CALLS:
            self.skipTest("no filters of system calls here")
        landlock = ctypes.CDLL(None).syscall(CALLS[os.uname().machine][LANDLOCK], None, 0, 1) > 0
        for missing, note in [((), ""), ((LANDLOCK,), "the desk is not held to the shop's folder (Landlock cannot be used here)"),
                              ((SECCOMP,), "system calls are not filtered (seccomp cannot be used here)"),
                              ((LANDLOCK, SECCOMP), "the desk runs unconfined (neither Landlock nor seccomp can be used here)")]:
            if (LANDLOCK not in missing and not landlock) or (SECCOMP not in missing and not filtered):
                continue
            said = subprocess.run([PROGRAM, "desk", "--no-browser", "--seconds", "0", "--shop", self.shop], capture_output=True, text=True,
                                  timeout=120, preexec_fn=without(*missing))
            self.assertEqual(said.returncode, 0, said.stderr)
            if note:
                self.assertIn(note, said.stderr)
                self.assertIn("people you trust", said.stderr)
            else:
                self.assertNotIn("cannot be used", said.stderr)

    def test_end_and_what_a_killed_desk_left(self):
        with tempfile.TemporaryDirectory() as folder:
            def begin():
                os.environ["XDG_RUNTIME_DIR"] = folder
                try:
                    return Desk(PROGRAM, self.shop)
                finally:
                    del os.environ["XDG_RUNTIME_DIR"]
            first = begin()
            self.assertEqual(len(glob.glob(folder + "/*")), 1)
            connection, _ = self.hard_quote(Client(first))
            job = self.children(first).pop()
            os.kill(first.process.pid, signal.SIGKILL)
            first.process.wait()
            connection.close()
            end = time.monotonic() + 20
            while runs(job) and time.monotonic() < end:  # what it computed ends with it
                time.sleep(0.05)
            self.assertFalse(runs(job))
            first.process.stdout.close()
            left = glob.glob(folder + "/*")
            self.assertEqual(len(left), 1)
            second = begin()
            self.assertEqual(len(glob.glob(folder + "/*")), 1)
            self.assertNotEqual(glob.glob(folder + "/*"), left)
            self.assertNotEqual(first.address.split("/")[-1], second.address.split("/")[-1])
            second.__exit__()
            self.assertEqual(second.code, 0)
            self.assertEqual(glob.glob(folder + "/*"), [])

    def test_zz_half_open_connections_are_cut_off(self):
        self.expect(200, self.client.get("/"))  # they keep nobody out
        time.sleep(max(0, self.begun + 26 - time.monotonic()))
        for one in self.half:
            one.settimeout(5)
            try:
                self.assertEqual(one.recv(65536)[:12], b"")
            except ConnectionResetError:
                pass
            one.close()


if __name__ == "__main__":
    unittest.main()
