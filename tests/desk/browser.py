# SPDX-License-Identifier: GPL-3.0-or-later
"""A browser driven over W3C WebDriver (chromedriver), with nothing but Python's own library; and a desk to visit."""
import base64
import http.client
import json
import os
import shutil
import subprocess
import time

ELEMENT = "element-6066-11e4-a52e-4f735466cecf"


class Desk:
    """bloomcoat desk, as long as a `with` lasts."""

    def __init__(self, program, shop, *options):
        self.process = subprocess.Popen([program, "desk", "--no-browser", "--json", "--shop", shop, *options],
                                        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        text = ""
        while "}" not in text:
            line = self.process.stdout.readline()
            if not line:
                raise RuntimeError("the desk did not begin")
            text += line
        said = json.loads(text)
        self.address, self.port = said["address"], said["port"]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.code = self.process.wait(20)
        self.process.stdout.close()


class Browser:
    def __init__(self, folder, width=1280, height=900):
        driver = shutil.which("chromedriver")
        self.process = subprocess.Popen([driver, "--port=0"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
                                        env={**os.environ, "HOME": folder, "TMPDIR": folder}, start_new_session=True)
        while True:
            line = self.process.stdout.readline()
            if not line:
                raise RuntimeError("chromedriver did not begin")
            if "started successfully on port" in line:
                self.port = int(line.rstrip(".\n").rsplit(" ", 1)[1])
                break
        arguments = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--user-data-dir=" + folder + "/profile",
                     "--disable-background-networking", "--disable-component-update", "--no-first-run",
                     "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"]
        self.session = ""
        answer = self.ask("POST", "/session", {"capabilities": {"alwaysMatch": {
            "browserName": "chrome", "goog:chromeOptions": {"args": arguments},
            "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"}}}})
        self.session = "/session/" + answer["sessionId"]
        self.size(width, height)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.ask("DELETE", "")
        finally:
            self.process.terminate()
            self.process.wait(20)

    def ask(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        connection.request(method, self.session + path, None if body is None else json.dumps(body), {"Content-Type": "application/json"})
        value = json.loads(connection.getresponse().read())["value"]
        connection.close()
        if isinstance(value, dict) and "error" in value:
            raise RuntimeError(value["error"] + ": " + value["message"].split("\n")[0])
        return value

    def size(self, width, height):
        self.command("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        self.command("Emulation.setScrollbarsHidden", hidden=True)

    def command(self, name, **parameters):
        return self.ask("POST", "/goog/cdp/execute", {"cmd": name, "params": parameters})

    def open(self, address):
        self.ask("POST", "/url", {"url": address})

    def run(self, script, *arguments):
        return self.ask("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def find(self, path):
        """An element by XPath."""
        return self.ask("POST", "/element", {"using": "xpath", "value": path})

    def wait(self, script, seconds=60):
        """Until a script returns something."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            value = self.run(script)
            if value:
                return value
            time.sleep(0.05)
        raise RuntimeError("not within %d s: %s" % (seconds, script))

    def button(self, words, within="body"):
        return self.find("//*[%s]//button[normalize-space()='%s']" % ("self::" + within if within.isalpha() else within, words))

    def click(self, element):
        self.ask("POST", "/element/" + element[ELEMENT] + "/click", {})

    def type(self, element, text):
        self.ask("POST", "/element/" + element[ELEMENT] + "/value", {"text": text})

    def clear(self, element):
        self.ask("POST", "/element/" + element[ELEMENT] + "/clear", {})

    def field(self, label, within="body"):
        """The control that a label is for."""
        return self.find("//*[@id=//*[%s]//label[starts-with(normalize-space(), '%s')]/@for]" % ("self::" + within if within.isalpha() else within, label))

    def drag(self, element, by):
        """With the mouse, in steps: (dx, dy) each."""
        moves = [{"type": "pointerMove", "duration": 0, "origin": element, "x": 0, "y": 0}, {"type": "pointerDown", "button": 0}]
        moves += [{"type": "pointerMove", "duration": 60, "origin": "pointer", "x": x, "y": y} for x, y in by]
        moves += [{"type": "pointerUp", "button": 0}]
        self.ask("POST", "/actions", {"actions": [{"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": moves}]})

    def log(self, kind):
        return self.ask("POST", "/se/log", {"type": kind})

    def requests(self):
        """Addresses of all that was fetched since the last call."""
        found = []
        for entry in self.log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                found.append(message["params"]["request"]["url"])
        return found

    def picture(self, path, whole=True):
        data = self.command("Page.captureScreenshot", format="png", captureBeyondViewport=whole)["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))
