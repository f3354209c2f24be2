# SPDX-License-Identifier: GPL-3.0-or-later
"""Three people's tasks in Debian's chromium: typed, dragged, chosen and clicked. With PICTURES=DIR it leaves pictures there."""
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import unittest

from browser import Browser, Desk

if not shutil.which("chromedriver") or not shutil.which("chromium"):
    print("not tried: there is no chromium with its driver here")
    sys.exit(77)

PROGRAM, EXAMPLES = os.environ["BLOOMCOAT"], os.environ["EXAMPLES"]
PICTURES = os.environ.get("PICTURES")
VIEW = "@id='view-%s'"


class InABrowser(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        cls.shop = shutil.copytree(EXAMPLES + "/shop", cls.folder.name + "/shop")
        cls.desk = Desk(PROGRAM, cls.shop)
        cls.browser = Browser(cls.folder.name)
        cls.origin = cls.desk.address.split("/open/")[0]
        cls.browser.open(cls.desk.address)
        cls.browser.wait("return document.querySelector('#view-ask h1')")

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()
        cls.desk.__exit__()
        cls.folder.cleanup()

    def tearDown(self):
        """Nothing complained, nothing left the machine, and nothing is wider than the page."""
        complaints = [entry for entry in self.browser.log("browser") if entry["level"] == "SEVERE"]
        self.assertEqual(complaints, [])
        elsewhere = [address for address in self.browser.requests() if not address.startswith((self.origin + "/", "data:", "blob:", "chrome", "about:"))]
        self.assertEqual(elsewhere, [])

    def go(self, hash):
        self.browser.open(self.origin + "/#" + hash)
        self.browser.wait("return document.querySelector('#view-%s:not([hidden]) h1')" % hash.split("?")[0])

    def verdict(self, view):
        return self.browser.wait("const v = document.querySelector('#view-%s .verdict .word'); return v && !document.querySelector('#view-%s .working') && v.textContent" % (view, view), 240)

    def expect(self, view, word):
        """This verdict, after whatever was there before."""
        try:
            self.browser.wait("const v = document.querySelector('#view-%s .verdict .word'); return v && !document.querySelector('#view-%s .working') && v.textContent === %s" % (view, view, json.dumps(word)), 240)
        except RuntimeError:
            self.fail("%s: %s" % (word, self.browser.run("return document.querySelector('#view-%s').textContent" % view)[:2000]))

    def look(self, name):
        """At both widths nothing sticks out; and the pictures, for whoever wants to see them."""
        for width in (390, 1280):
            self.browser.size(width, 900)
            time.sleep(0.2)
            self.assertLessEqual(self.browser.run("return document.documentElement.scrollWidth"), width, name)
            if PICTURES:
                self.browser.picture("%s/%s-%d.png" % (PICTURES, name, width))

    def figure(self, value, digits):
        return self.browser.run("return import('/look.js').then((m) => m.figure(arguments[0], arguments[1]))", value, digits)

    def printed(self, view, files=()):
        """What the command line that the page shows prints."""
        return json.loads(self.run_shown(view, files).stdout)

    def run_shown(self, view, files):
        line = self.browser.run("return [...document.querySelectorAll('#view-%s .command code')].pop().textContent" % view)
        self.assertTrue(line.startswith("bloomcoat "), line)
        with tempfile.TemporaryDirectory() as folder:
            for name, text in files:
                with open(folder + "/" + name, "w") as file:
                    file.write(text)
            words = [word for word in shlex.split(line)[1:] if word != "--record"]
            return subprocess.run([PROGRAM, *words, "--json"], cwd=folder, capture_output=True, text=True, timeout=300)

    def test_a_callout_in_words_is_the_same_callout(self):
        """What the desk writes of a callout is read back as the same one, or it writes nothing."""
        def understood(note):
            out = subprocess.run([PROGRAM, "callouts", note, "--json"], capture_output=True, text=True, check=True).stdout
            return [{key: value for key, value in row.items() if key != "name"} for row in json.loads(out)["callouts"]]

        notes = {"Ravg <= 0.5 %, 425-675 nm, 20 deg, cone 10 deg": True, "R <= 1 % at 633 nm, 0-30 deg, s and p, per part": True,
                 "T >= 98.5 % 8-12 um, AOI 45 deg, p": True, "Rv < 0.5 %, cone 8 deg": False, "a*b* 2 -3 +- 4 1.5": False,
                 "Ravg <= 0.5 % weighted by D65*photopic, 425-675 nm": False}
        for note, has_words in notes.items():
            for row in understood(note):
                words = self.browser.run("return import('/look.js').then((m) => m.calloutWords(arguments[0]))", row)
                self.assertEqual(words is not None, has_words, note)
                if words is not None:
                    self.assertEqual(understood(words), [row], words)

    def test_the_quoter(self):
        b, view = self.browser, VIEW % "ask"
        self.go("ask")
        box = b.find("//*[%s]//textarea" % view)
        b.type(box, "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 degree shiny")
        self.assertEqual(b.wait("const m = document.querySelector('#view-ask mark'); return m && m.textContent"), "shiny")
        b.type(box, "\ue003" * len(" shiny"))
        b.wait("return !document.querySelector('#view-ask mark') && document.querySelector('#view-ask td')")
        b.click(b.find("//*[%s]//summary[starts-with(., 'I have nd')]" % view))
        b.type(b.field("nd", view), "1.517")
        b.type(b.field("Vd", view), "64.2")
        self.assertEqual(b.run("return document.querySelector('#view-ask input[list]').value"), "517642")
        b.type(b.field("Quantity", view), "200")
        b.type(b.field("Diameter", view), "60")
        b.click(b.button("Can we make it?", view))
        self.expect("ask", "Feasible")
        shown = b.wait("return [...document.querySelectorAll('#view-ask tr.marked td')].map((c) => c.textContent)")
        option = [o for o in self.printed("ask")["options"] if o["recommended"]][0]
        expected = [str(option["layers"]), self.figure(option["total_nm"], 4), self.figure(100 * option["limit_used"], 3) + " %", self.figure(option["yield_percent"], 3),
                    self.figure(option["hours_per_load"], 3), self.figure(option["expected_hours"], 3)]
        self.assertEqual(shown[:6], expected)
        b.wait("return document.querySelector('#view-ask').textContent.includes('Q-0001')")
        for page in ["customer.html", "customer.pdf", "internal.html", "request.csv"]:
            address = b.run("return document.querySelector(`#view-ask a[href*='/%s']`).href" % page)
            self.assertEqual(b.run("return fetch(arguments[0]).then((r) => r.status)", address), 200)
        self.look("quote")
        # reload: the request is still there; and the record has it
        asked = b.run("return location.href")
        b.open("about:blank")
        b.open(asked)
        b.wait("return document.querySelector('#view-ask textarea') && document.querySelector('#view-ask textarea').value.startsWith('Ravg')")
        b.click(b.wait("return [...document.querySelectorAll('#view-ask button')].find((x) => x.getAttribute('aria-label') === 'Open Q-0001')"))
        b.wait("return document.querySelector('#view-ask').textContent.includes('Q-0001 of')")

    def test_what_a_search_finds_appears_while_it_goes_on(self):
        b, view = self.browser, VIEW % "ask"
        self.go("ask?callouts=Rmax+%3C%3D+0.05+%25%2C+425-675+nm%2C+0-30+deg&substrate=517642&unkept=1")
        b.click(b.button("Can we make it?", view))
        b.wait("const f = document.querySelector('#view-ask .found-so-far'); return f && /\\d coatings? .*so far/.test(f.textContent)", 120)
        rows = b.run("return [...document.querySelectorAll('#view-ask .found tbody tr')].map((r) => [...r.cells].map((c) => c.textContent))")
        self.assertTrue(rows)
        self.assertEqual([int(row[0]) for row in rows], sorted({int(row[0]) for row in rows}))
        self.look("found")
        b.click(b.button("Stop with the best so far", view))
        self.expect("ask", "Not feasible")
        self.assertIn("The search was stopped", b.run("return document.querySelector('#view-ask .verdict').textContent"))
        self.assertFalse(b.run("return document.querySelector('#view-ask').textContent.includes('Found so far')"))

    CONTROLS = {"button", "textbox", "searchbox", "combobox", "checkbox", "spinbutton", "slider", "link", "radio", "DisclosureTriangle"}

    def tree(self):
        """What a screen reader is given: [(role, name, properties)]."""
        nodes = self.browser.command("Accessibility.getFullAXTree")["nodes"]
        value = lambda node, part: (node.get(part) or {}).get("value", "")
        return [(value(node, "role"), value(node, "name").strip(), {p["name"]: p["value"].get("value") for p in node.get("properties", [])}, node)
                for node in nodes if not node.get("ignored")]

    def test_a_screen_reader_is_given_all_of_it(self):
        b = self.browser
        for view in ["ask", "design", "inspect", "shop"]:
            self.go(view)
            if view == "design":
                self.verdict("design")
            nodes = self.tree()
            roles = [role for role, *_ in nodes]
            for landmark in ["banner", "navigation", "main", "contentinfo"]:
                self.assertEqual(roles.count(landmark), 1, (view, landmark))
            unnamed = [(role, node.get("backendDOMNodeId")) for role, name, _, node in nodes if role in self.CONTROLS and not name]
            self.assertEqual(unnamed, [], view)
            self.assertEqual([p.get("level") for role, _, p, _ in nodes if role == "heading"].count(1), 1, view)
        # the verdict is in a live region, and what moves twice a second is not
        self.go("design")
        self.verdict("design")
        polite = [p for _, name, p, _ in self.tree() if name.startswith("Meets every callout") or name.startswith("Does not meet")]
        self.assertTrue(polite)
        self.assertTrue(b.run("return document.querySelector('#view-design .verdict').closest('[aria-live=polite]') !== null"))
        sliders = [(name, p) for role, name, p, _ in self.tree() if role == "slider"]
        self.assertEqual(len(sliders), b.run("return document.querySelectorAll('#view-design .layer-table tbody tr').length"))
        self.assertTrue(all("valuemin" in p and "valuemax" in p for _, p in sliders), sliders)

    def test_by_keyboard_alone(self):
        b = self.browser
        self.go("design")
        self.verdict("design")
        keys = lambda *values: b.ask("POST", "/actions", {"actions": [{"type": "key", "id": "keys", "actions": [
            {"type": kind, "value": value} for value in values for kind in ("keyDown", "keyUp")]}]})
        focused = lambda: b.run("return document.activeElement.textContent || document.activeElement.getAttribute('aria-label') || document.activeElement.tagName")
        b.run("document.activeElement.blur(); window.scrollTo(0, 0); document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex')")
        keys("\ue004")
        self.assertEqual(focused(), "To the content")
        keys("\ue007")
        self.assertEqual(b.run("return document.activeElement.id"), "main")
        # every control of the view is reached by Tab, and shows it
        reached, hidden = set(), 0
        for _ in range(150):
            keys("\ue004")
            place = b.run("const a = document.activeElement; if (!a.closest('#view-design')) return null;"
                          " const s = getComputedStyle(a); a.dataset.reached = 1; return [a.tagName, s.outlineStyle !== 'none' || a.tagName === 'g']")
            if place is None:
                break
            reached.add(place[0])
            hidden += not place[1]
        left = b.run("return [...document.querySelectorAll('#view-design :is(button, input, select, textarea, a, summary, [tabindex])')]"
                     ".filter((e) => e.checkVisibility() && !e.disabled && !e.dataset.reached && e.tabIndex >= 0).map((e) => e.outerHTML.slice(0, 80))")
        self.assertEqual((left, hidden), ([], 0))

    def test_the_engineer(self):
        b, view = self.browser, VIEW % "design"
        self.go("design?incident=air&layers=Al2O3:75.211,Ta2O5:109.445,Al2O3:29.864,MgF2:75.575&substrate=517642&callouts=Rmax+%3C%3D+1+%25%2C+425-675+nm%2C+AOI+0-30+deg&aoi=0,30&nm=400,700,1")
        self.expect("design", "Meets every callout")
        curve = "return document.querySelector('#view-design .curve.c0').getAttribute('d')"
        before, address = b.run(curve), b.run("return location.href")
        b.drag(b.find("//*[%s]//*[@data-border='1']" % view), [(5, 0)] * 8)
        b.wait("return document.querySelector('#view-design .curve.c0').getAttribute('d') !== " + json.dumps(before))
        moved = b.wait("const n = document.querySelector(`[data-place='t1']`).valueAsNumber; return n > 115 && n")
        self.assertNotEqual(b.run("return location.href"), address)
        self.assertIn("Ta2O5%3A" + str(moved), b.run("return location.href"))
        self.check_figures()
        after = b.run(curve)
        b.click(b.button("Undo", view))
        self.assertEqual(b.wait("return location.href"), address)
        b.wait("return document.querySelector('#view-design .curve.c0').getAttribute('d') === " + json.dumps(before))
        b.click(b.button("Redo", view))
        b.wait("return document.querySelector('#view-design .curve.c0').getAttribute('d') === " + json.dumps(after))
        # by keyboard
        b.run("document.querySelector(`[data-border='1']`).focus()")
        b.ask("POST", "/actions", {"actions": [{"type": "key", "id": "keys", "actions": [{"type": "keyDown", "value": "\ue012"}, {"type": "keyUp", "value": "\ue012"}]}]})
        b.wait("return document.querySelector(`[data-place='t1']`).valueAsNumber === " + repr(moved - 1).rstrip("0").rstrip("."))
        b.click(b.button("Lay this one beneath", view))
        b.wait("return document.querySelectorAll('#view-design .chart .pinned').length >= 2")
        b.click(b.button("Refine", view))
        b.wait("return [...document.querySelectorAll('#view-design .verdict .word')].some((w) => w.textContent === 'Refined')", 120)
        b.click(b.find("//*[%s]//button[@title='Split in two' and @data-place='Split in two1']" % view))
        b.wait("return document.querySelectorAll('#view-design .layer-table tbody tr').length === 5")
        self.check_figures()
        self.look("design")
        # the address holds all of it
        address = b.run("return location.href")
        shown = b.run("return [...document.querySelectorAll('#view-design .layer-table input')].map((i) => i.value)")
        b.open("about:blank")
        b.open(address)
        self.verdict("design")
        self.assertEqual(b.run("return [...document.querySelectorAll('#view-design .layer-table input')].map((i) => i.value)"), shown)
        # the index gradient of a layer is in the figures and in the stack file
        b.open("about:blank")
        b.open(re.sub("(Ta2O5%3A[0-9.]+)", r"\1%3A6", address, count=1))
        self.verdict("design")
        self.assertEqual(b.run("return document.querySelector(`[data-place='g1']`).value"), "6")
        self.check_figures()
        self.look("graded")

    def check_figures(self):
        """The callouts as they are shown, against the command line with the stack file of the page."""
        b = self.browser
        time.sleep(0.5)
        stack = b.run("return import('/state.js').then((m) => m.stackFile(m.fromAddress(location.hash.split('?')[1])))")
        shown = b.run("return [...document.querySelectorAll('#view-design table.stacked:not(.layer-table) tbody tr')].map((r) => [...r.cells].map((c) => c.textContent)).filter((r) => r.length === 7)")
        found = self.printed("design", [("stack.csv", stack)])
        self.assertEqual([row[1] for row in shown], [self.figure(c["value_percent"], 4) for c in found["callouts"]])
        self.assertEqual([row[3] for row in shown], [self.figure(100 * c["limit_used"], 3) + " %" for c in found["callouts"]])

    def test_the_inspector(self):
        b, view = self.browser, VIEW % "inspect"
        self.go("inspect")
        b.type(b.find("//*[%s]//textarea" % view), "Rmax <= 0.8 %, 425-675 nm, 0 deg; Ravg <= 0.5 %, 425-675 nm, 0-30 deg")
        b.type(b.find("//*[@id='stack-of-scan']"), EXAMPLES + "/window-stack.csv")
        b.type(b.field("Angle of incidence", view), "8")
        b.type(b.field("Uncertainty", view), "0.05")
        b.type(b.find("//*[@id='scans']"), EXAMPLES + "/window-witness-7.txt")
        self.expect("inspect", "A question about the file")
        b.click(b.find("//*[%s]//button[starts-with(., 'Column 2')]" % view))
        b.wait("return document.querySelector('#view-inspect .chart .dots')", 120)
        self.expect("inspect", "Rejected")
        with open(EXAMPLES + "/window-witness-7.txt") as scan, open(EXAMPLES + "/window-stack.csv") as stack:
            found = self.printed("inspect", [("window-witness-7.txt", scan.read()), ("stack.csv", stack.read())])
        shown = b.run("return [...document.querySelectorAll('#view-inspect table.stacked tbody tr')].map((r) => [...r.cells].map((c) => c.textContent))")
        self.assertEqual([row[3] for row in shown if len(row) == 7], [self.figure(layer["fitted_nm"], 5) for layer in found["layers"]])
        self.assertEqual([row[1] for row in shown if len(row) == 5], [self.figure(c["value_percent"], 4) for c in found["callouts"]])
        self.assertIn("HfO2", b.run("return document.querySelector('#view-inspect').textContent"))
        address = b.run("return document.querySelector(`#view-inspect a[href*='certificate.html']`).href")
        self.assertIn("nonconformity", b.run("return fetch(arguments[0]).then((r) => r.text())", address).lower())
        self.look("inspect")
        # one scan more makes a lot
        b.type(b.find("//*[@id='scans']"), EXAMPLES + "/window-witness-8.txt")
        self.expect("inspect", "A question about the file")
        b.click(b.find("//*[%s]//button[starts-with(., 'Column 2')]" % view))
        b.wait("return document.querySelector('#view-inspect').textContent.includes('1 accepted, 1 rejected')", 240)
        self.look("lot")

    def test_the_control_chart(self):
        b, view = self.browser, VIEW % "inspect"
        b.open("about:blank")  # no scan of another test
        self.go("inspect")
        b.type(b.find("//*[%s]//textarea" % view), "Rmax <= 0.8 %, 425-675 nm, 0 deg")
        b.type(b.find("//*[@id='stack-of-scan']"), EXAMPLES + "/window-stack.csv")
        b.type(b.field("Angle of incidence", view), "8")
        b.type(b.field("Uncertainty", view), "0.05")
        names = ["run-%02d.txt" % run for run in range(1, 9)]
        b.type(b.find("//*[@id='scans']"), "\n".join(EXAMPLES + "/history/" + name for name in names))
        b.click(b.button("Control chart", view))
        b.wait("const i = document.querySelector('#view-inspect img.picture'); return i && i.complete && i.naturalWidth", 240)
        files = []
        for name, path in [(name, "/history/" + name) for name in names] + [("stack.csv", "/window-stack.csv")]:
            with open(EXAMPLES + path) as file:
                files.append((name, file.read()))
        alarm = self.run_shown("inspect", files).returncode == 1
        self.assertEqual(self.verdict("inspect"), "The last run is in an alarm" if alarm else "No alarm at the last run")
        self.look("chart")

    def test_the_shop(self):
        b = self.browser
        self.go("shop")
        b.wait("const t = document.querySelector('#view-shop').textContent; return t.includes('BBAR-VIS') && t.includes('thickness_sigma_percent') && t.includes('load_diameter_mm')")
        # two tables, with the figures of the command line
        self.go("shop?compare=tables&a=MgF2&b=SiO2")
        b.wait("return document.querySelector('#compare .chart .curve.c1') && document.querySelector('#compare td')")
        rows = b.run("return Object.fromEntries([...document.querySelectorAll('#compare tbody tr')].map((r) => [r.cells[0].textContent, [...r.cells].slice(1).map((c) => c.textContent)]))")
        found = [json.loads(subprocess.run([PROGRAM, "materials", name, "--json"], capture_output=True, text=True, timeout=60).stdout) for name in ("MgF2", "SiO2")]
        self.assertEqual([float(n) for n in rows["n there"][:2]], [m["n"] for m in found])
        self.assertEqual(rows["n there"][2], "differs")
        # by hand: two standard coatings
        b.run("const s = document.querySelector('#compare select'); s.value = 'standards'; s.dispatchEvent(new Event('change'))")
        b.wait("return [...document.querySelectorAll('#compare select')][1].options[0].value.includes(' on ')")
        b.run("const s = document.querySelectorAll('#compare select')[2]; s.dispatchEvent(new Event('change'))")
        b.wait("return document.querySelector('#compare').textContent.includes('Of its own limits')")
        self.assertIn("compare=standards", b.run("return location.hash"))
        # two entries of the record: what differs between what was asked
        for radius in ("-60", "-80"):
            drafted = subprocess.run([PROGRAM, "draft", "--callout", "Rmax <= 2 %, 500-600 nm, 0 deg", "--substrate", "517642", "--materials", "MgF2", "--radius-mm", radius,
                                      "--clear-aperture-mm", "10", "--shop", self.shop, "--record", "-o", self.folder.name + "/drafted.csv"], capture_output=True, text=True, timeout=120)
            self.assertEqual(drafted.returncode, 0, drafted.stderr)
        entries = json.loads(subprocess.run([PROGRAM, "record", "list", "--shop", self.shop, "--json"], capture_output=True, text=True, timeout=60).stdout)["entries"]
        first, second = [entry["number"] for entry in entries if entry["command"] == "draft"][-2:]
        self.go("shop?compare=record&a=%s&b=%s" % (first, second))
        b.wait("return document.querySelector('#compare').textContent.includes('files were read, byte for byte')")
        rows = b.run("return Object.fromEntries([...document.querySelectorAll('#compare tbody tr')].map((r) => [r.cells[0].textContent, [...r.cells].slice(1).map((c) => c.textContent)]))")
        self.assertEqual(rows["--radius-mm"], ["-60", "-80", "differs"])
        self.assertEqual(rows["--substrate"], ["517642", "517642", "same"])
        self.look("shop")
        self.assertEqual(b.run("return document.querySelectorAll('h1').length"), 4)
        unnamed = b.run("return [...document.querySelectorAll('input, textarea, select')].filter((i) => !i.labels.length && !i.getAttribute('aria-label') && i.type !== 'file').length")
        self.assertEqual(unnamed, 0)


if __name__ == "__main__":
    unittest.main()
