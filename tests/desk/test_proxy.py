# SPDX-License-Identifier: GPL-3.0-or-later
"""Several people behind a proxy with its own login: Debian's nginx with the lines of the manual page, where it is installed, else
a small proxy here."""
import base64
import json
import os
import re
import shutil
import socket
import socketserver
import subprocess
import tempfile
import threading
import time
import unittest

from browser import Desk
from test_http import CALLOUTS, LAYERS, Client, has_terminals, raw, status, stream_lines

PROGRAM, EXAMPLES = os.environ["BLOOMCOAT"], os.environ["EXAMPLES"]
PAGE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../src/man/bloomcoat-desk.1")
NGINX = shutil.which("nginx", path="/usr/sbin:/usr/bin:" + os.environ.get("PATH", ""))
LOGIN = {name: "Basic " + base64.b64encode((name + ":" + name).encode()).decode() for name in ("ann", "ben")}


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def wait_for(port):
    end = time.monotonic() + 20
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=5).close()
        except OSError:
            if time.monotonic() > end:
                raise
            time.sleep(0.05)


class Nginx:
    """With the location block of the manual page; users ann and ben, whose passwords are their names."""

    def __init__(self, folder, port, desk_port):
        with open(PAGE) as file:
            block = re.search(r"\.nf\n(location.*?)\.fi", file.read(), re.S).group(1).replace("\\-", "-")
        block = block.replace("127.0.0.1:8123", "127.0.0.1:%d" % desk_port).replace("/etc/nginx/desk.users", folder + "/users")
        with open(folder + "/users", "w") as file:
            for name in LOGIN:
                file.write("%s:{PLAIN}%s\n" % (name, name))
        os.chmod(folder, 0o755)
        places = "".join("%s_temp_path %s/%s;\n" % (kind, folder, kind) for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi"))
        with open(folder + "/nginx.conf", "w") as file:
            file.write("daemon off; pid %s/pid; error_log stderr;\nevents {}\nhttp {\naccess_log off;\n%sserver {\nlisten 127.0.0.1:%d;\n%s}\n}\n"
                       % (folder, places, port, block))
        self.process = subprocess.Popen([NGINX, "-p", folder, "-c", folder + "/nginx.conf"], stderr=subprocess.DEVNULL)
        wait_for(port)

    def end(self):
        self.process.terminate()
        self.process.wait(20)


class Small:
    """Asks for a login, and passes on what comes as it is."""

    def __init__(self, folder, port, desk_port):
        class Handler(socketserver.BaseRequestHandler):
            def handle(self):
                head = b""
                while b"\r\n\r\n" not in head:
                    piece = self.request.recv(65536)
                    if not piece:
                        return
                    head += piece
                if not any(("Authorization: " + login).encode() in head for login in LOGIN.values()):
                    self.request.sendall(b"HTTP/1.1 401 Unauthorized\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")
                    return
                with socket.create_connection(("127.0.0.1", desk_port)) as there:
                    there.sendall(head)
                    back = threading.Thread(target=self.copy, args=(self.request, there), daemon=True)
                    back.start()
                    self.copy(there, self.request)

            @staticmethod
            def copy(of, to):
                try:
                    while piece := of.recv(65536):
                        to.sendall(piece)
                    to.shutdown(socket.SHUT_WR)
                except OSError:
                    pass

        class Server(socketserver.ThreadingTCPServer):
            allow_reuse_address = daemon_threads = True

        self.server = Server(("127.0.0.1", port), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def end(self):
        self.server.shutdown()
        self.server.server_close()


class BehindAProxy(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        shop = shutil.copytree(EXAMPLES + "/shop", cls.folder.name + "/shop")
        cls.port = free_port()
        cls.desk = Desk(PROGRAM, shop, "--behind-proxy", "http://127.0.0.1:%d" % cls.port)
        cls.proxy = (Nginx if NGINX else Small)(cls.folder.name, cls.port, cls.desk.port)
        cls.ann, cls.ben = (Client(cls.desk, cls.port, Authorization=LOGIN[name]) for name in ("ann", "ben"))

    @classmethod
    def tearDownClass(cls):
        cls.proxy.end()
        cls.desk.__exit__()
        cls.folder.cleanup()

    def test_the_address_is_the_proxys_and_needs_its_login(self):
        self.assertTrue(self.desk.address.startswith("http://127.0.0.1:%d/open/" % self.port))
        self.assertEqual(status(self.ann.get("/")), 200)
        self.assertEqual(status(self.ann.get("/", Authorization=None)), 401)
        self.assertEqual(status(self.ann.get("/", Cookie=None)), 403)
        self.assertEqual(status(self.ann.post("/run", {"command": "materials"}, Origin="http://127.0.0.1:%d" % self.desk.port)), 403)
        self.assertEqual(status(self.ann.post("/run", {"command": "materials"}, Origin="http://evil.example")), 403)

    def test_everybody_is_someone_else(self):
        cookies = {one.cookie for one in (self.ann, self.ben)}
        self.assertEqual(len(cookies), 2)
        mixed = "-".join([self.ann.cookie.split("-")[0] + "-" + self.ann.cookie.split("-")[1], self.ben.cookie.split("-")[2]])
        self.assertEqual(status(self.ann.get("/", Cookie=mixed)), 403)
        again = raw(self.port, self.ann.head("GET", self.desk.address.split(self.ann.host)[1]))
        self.assertIn(self.ann.cookie.encode(), again)  # who has one keeps it

    def test_figures_come_through(self):
        body = {"incident": "air", "substrate": "517642", "layers": [{"material": m, "thickness_nm": t} for m, t in LAYERS], "from_nm": 400,
                "to_nm": 700, "step_nm": 1, "aoi_deg": [0], "callouts": CALLOUTS}
        found = self.ann.figures("/live", body)
        self.assertEqual(len(found["spectrum"]["wavelength_nm"]), 301)
        lines = self.ben.run({"command": "callouts", "operands": [CALLOUTS], "options": [["json", None]]})
        self.assertEqual(lines[-1]["exit"], 0)

    def long_quote(self, person):
        body = json.dumps({"command": "quote", "options": [["callout", "Rmax <= 0.05 %, 425-675 nm, 0-30 deg"], ["substrate", "517642"],
                                                           ["effort", "50"], ["json", None]]})
        connection = socket.create_connection(("127.0.0.1", self.port), timeout=60)
        connection.sendall((person.post_head("/run", len(body)) + body).encode())
        return connection

    def wait_for_word(self, connection, word, seconds=30):
        text, end = b"", time.monotonic() + seconds
        connection.settimeout(seconds)
        while word not in text:
            piece = connection.recv(65536)
            self.assertTrue(piece and time.monotonic() < end, text[-300:])
            text += piece

    def test_one_persons_work_leaves_the_other_a_place(self):
        if not has_terminals():
            self.skipTest("no terminals here: a command says how far it is on a terminal alone")
        anns = [self.long_quote(self.ann)]
        self.wait_for_word(anns[0], b'"progress"')
        anns += [self.long_quote(self.ann) for _ in range(2)]
        for waiting in anns[1:]:
            self.wait_for_word(waiting, b'"waits"')
        bens = self.long_quote(self.ben)
        self.wait_for_word(bens, b'"progress"')  # there is a place for him, though two came before
        for one in [*anns, bens]:
            one.close()


if __name__ == "__main__":
    unittest.main()
