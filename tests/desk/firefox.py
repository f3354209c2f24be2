# SPDX-License-Identifier: GPL-3.0-or-later
"""Debian's Firefox, driven over WebDriver BiDi (W3C) through a WebSocket (RFC 6455), with nothing but Python's own library."""
import base64
import json
import os
import shutil
import socket
import struct
import subprocess

from browser import ELEMENT, Browser

PREFERENCES = {"browser.shell.checkDefaultBrowser": False, "datareporting.policy.dataSubmissionEnabled": False, "app.update.disabledForTesting": True,
               "app.normandy.enabled": False, "browser.safebrowsing.downloads.enabled": False, "browser.safebrowsing.malware.enabled": False,
               "browser.safebrowsing.phishing.enabled": False, "network.captive-portal-service.enabled": False, "network.connectivity-service.enabled": False,
               "services.settings.server": "data:,", "browser.aboutConfig.showWarning": False, "browser.startup.page": 0}
CONTROLS = "input, textarea"


class WebSocket:
    def __init__(self, port, path):
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=240)
        key = base64.b64encode(os.urandom(16)).decode()
        self.socket.sendall(("GET %s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
                             "Sec-WebSocket-Key: %s\r\nSec-WebSocket-Version: 13\r\n\r\n" % (path, port, key)).encode())
        self.file = self.socket.makefile("rb")
        first = self.file.readline()
        if b" 101 " not in first:
            raise RuntimeError("no WebSocket: " + first.decode())
        while self.file.readline() not in (b"\r\n", b""):
            pass

    def send(self, text, kind=1):
        data, mask = text.encode(), os.urandom(4)
        size = len(data)
        head = struct.pack("!BB", 0x80 | kind, 0x80 | size) if size < 126 else struct.pack("!BBH", 0x80 | kind, 0xFE, size) if size < 65536 \
            else struct.pack("!BBQ", 0x80 | kind, 0xFF, size)
        self.socket.sendall(head + mask + bytes(byte ^ mask[i & 3] for i, byte in enumerate(data)))

    def receive(self):
        """A text, of however many frames."""
        text = b""
        while True:
            first, size = self.file.read(2)
            size &= 0x7F
            if size == 126:
                size, = struct.unpack("!H", self.file.read(2))
            elif size == 127:
                size, = struct.unpack("!Q", self.file.read(8))
            data = self.file.read(size)
            if first & 0x0F == 9:
                self.send(data.decode(), 10)
            elif first & 0x0F in (0, 1):
                text += data
                if first & 0x80:
                    return text.decode()
            else:
                raise RuntimeError("the browser closed the connection")


class Firefox(Browser):
    """What Browser does, for all but Chromium's own commands."""

    def __init__(self, folder, width=1280, height=900):
        profile = folder + "/firefox"
        os.mkdir(profile)
        with open(profile + "/user.js", "w") as file:
            file.writelines("user_pref(%s, %s);\n" % (json.dumps(name), json.dumps(value)) for name, value in PREFERENCES.items())
        program = shutil.which("firefox-esr") or shutil.which("firefox")
        self.process = subprocess.Popen([program, "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port=0"], stdout=subprocess.DEVNULL,
                                        stderr=subprocess.PIPE, text=True, env={**os.environ, "HOME": folder})
        for line in self.process.stderr:
            if "WebDriver BiDi listening on ws://" in line:
                port = int(line.strip().rsplit(":", 1)[1].split("/")[0])
                break
        else:
            raise RuntimeError("Firefox did not begin")
        self.socket, self.number, self.events = WebSocket(port, "/session"), 0, []
        self.bidi("session.new", capabilities={})
        self.bidi("session.subscribe", events=["log.entryAdded", "network.beforeRequestSent"])
        self.bidi("script.addPreloadScript", functionDeclaration="() => document.addEventListener('securitypolicyviolation', (e) => "
                  "console.error('against the policy: ' + e.violatedDirective + ' ' + e.blockedURI))")
        self.context = self.bidi("browsingContext.getTree")["contexts"][0]["context"]
        self.size(width, height)

    def __exit__(self, *_):
        try:
            self.bidi("browser.close")
        finally:
            self.process.terminate()
            self.process.wait(20)

    def bidi(self, method, **parameters):
        self.number += 1
        self.socket.send(json.dumps({"id": self.number, "method": method, "params": parameters}))
        while True:
            message = json.loads(self.socket.receive())
            if message.get("id") == self.number:
                if message["type"] == "error":
                    raise RuntimeError("%s: %s: %s" % (method, message["error"], message["message"].split("\n")[0]))
                return message["result"]
            self.events.append(message)

    def in_context(self, method, **parameters):
        return self.bidi(method, context=self.context, **parameters)

    def size(self, width, height):
        self.in_context("browsingContext.setViewport", viewport={"width": width, "height": height})

    def command(self, name, **parameters):
        raise NotImplementedError(name + " is Chromium's own")

    def open(self, address):
        self.in_context("browsingContext.navigate", url=address, wait="complete")

    def call(self, script, arguments):
        answer = self.bidi("script.callFunction", functionDeclaration="function () { %s\n}" % script, awaitPromise=True, target={"context": self.context},
                           arguments=arguments, serializationOptions={"maxDomDepth": 0})
        if answer["type"] != "success":
            raise RuntimeError(answer["exceptionDetails"]["text"])
        return answer["result"]

    def run(self, script, *arguments):
        return plain(self.call(script, [local(argument) for argument in arguments]))

    def find(self, path):
        node = self.call("return document.evaluate(arguments[0], document, null, XPathResult.FIRST_ORDERED_NODE_TYPE).singleNodeValue", [local(path)])
        if node["type"] != "node":
            raise RuntimeError("there is no " + path)
        return {ELEMENT: node["sharedId"]}

    def actions(self, sources):
        for source in sources:
            for action in source["actions"]:
                if isinstance(action.get("origin"), dict):
                    action["origin"] = {"type": "element", "element": {"sharedId": action["origin"][ELEMENT]}}
        self.in_context("input.performActions", actions=sources)

    def ask(self, method, path, body=None):
        if path != "/actions":
            raise NotImplementedError(path)
        self.actions(body["actions"])

    def click(self, element):
        self.run("arguments[0].scrollIntoView({ block: 'center' })", element)
        self.actions([{"type": "pointer", "id": "mouse", "actions": [{"type": "pointerMove", "origin": element, "x": 0, "y": 0}, {"type": "pointerDown", "button": 0},
                                                                      {"type": "pointerUp", "button": 0}]}])

    def type(self, element, text):
        if self.run("return arguments[0].type === 'file'", element):
            self.in_context("input.setFiles", element={"sharedId": element[ELEMENT]}, files=text.split("\n"))
            return
        self.run("const e = arguments[0]; e.scrollIntoView({ block: 'center' }); e.focus(); if (e.type !== 'number') e.selectionStart = e.value.length", element)
        self.actions([{"type": "key", "id": "keys", "actions": [{"type": kind, "value": letter} for letter in text for kind in ("keyDown", "keyUp")]}])

    def drag(self, element, by):
        self.run("arguments[0].scrollIntoView({ block: 'center' })", element)
        super().drag(element, by)

    def clear(self, element):
        self.run("const e = arguments[0]; e.focus(); e.value = ''; for (const kind of ['input', 'change']) e.dispatchEvent(new Event(kind, { bubbles: true }))", element)

    def taken(self, method):
        found = [event["params"] for event in self.events if event.get("method") == method]
        self.events = [event for event in self.events if event.get("method") != method]
        return found

    def log(self, kind):
        self.run("return 0")  # what came before is there now
        return [{"level": "SEVERE" if entry["level"] == "error" else entry["level"], "message": entry["text"]} for entry in self.taken("log.entryAdded")]

    def requests(self):
        return [event["request"]["url"] for event in self.taken("network.beforeRequestSent")]

    def picture(self, path, whole=True):
        data = self.in_context("browsingContext.captureScreenshot", origin="document" if whole else "viewport")["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))


def local(value):
    """A value as BiDi takes it."""
    if isinstance(value, dict) and ELEMENT in value:
        return {"sharedId": value[ELEMENT]}
    if isinstance(value, (list, tuple)):
        return {"type": "array", "value": [local(item) for item in value]}
    if value is None:
        return {"type": "null"}
    kind = "boolean" if isinstance(value, bool) else "number" if isinstance(value, (int, float)) else "string"
    return {"type": kind, "value": value}


def plain(result):
    """What came of a script, as Python has it."""
    kind, value = result["type"], result.get("value")
    if kind in ("array", "nodelist", "htmlcollection"):
        return [plain(item) for item in value]
    if kind == "object":
        return {name: plain(item) for name, item in value}
    if kind == "node":
        return {ELEMENT: result["sharedId"]}
    if kind == "number" and isinstance(value, str):
        return float(value.replace("Infinity", "inf"))
    return value
