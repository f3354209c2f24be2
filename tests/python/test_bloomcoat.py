# SPDX-License-Identifier: GPL-3.0-or-later
"""The Python module: against closed forms, differences and the program. With numpy where it is installed."""
import json
import math
import os
import subprocess
import tempfile
import unittest

import bloomcoat

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
TABLES = os.path.join(ROOT, "materials")
WAVES = [450.0, 550.0, 650.0]
STACK = [("MgF2", 91.4), ("HfO2", 131.0), ("1.62", 40.0)]
CALLOUTS = ("name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
            "band,R,max,<= 1.2,450,650,0..30,unpolarized\nthrough,T,average,>= 98,450,650,20,p\n")


class Optics(unittest.TestCase):
    def test_quarter_wave(self):
        """R = ((n0 ns - n1^2) / (n0 ns + n1^2))^2: Born and Wolf, Principles of Optics, ch. 1.6.4."""
        surface = bloomcoat.Surface([550.0], [1.38], 1.52).evaluate([0], [550.0 / 4 / 1.38])
        self.assertAlmostEqual(surface.R()[0], ((1.52 - 1.38 ** 2) / (1.52 + 1.38 ** 2)) ** 2, places=14)
        self.assertAlmostEqual(surface.R()[0] + surface.T()[0], 1.0, places=14)

    def test_polarization(self):
        """At Brewster's angle a bare surface reflects no p, and of s the Fresnel formula (same book, ch. 1.5.2)."""
        brewster = math.atan(1.5)
        fresnel_s = math.sin(2 * brewster - math.pi / 2) ** 2
        surface = bloomcoat.Surface([550.0], [], 1.5, aoi_deg=math.degrees(brewster)).evaluate([], [])
        result = bloomcoat.spectrum([], [550.0], 1.5, aoi_deg=math.degrees(brewster), tables=bloomcoat.Tables([]))
        for R in (surface.R, result["R"].__getitem__):
            self.assertAlmostEqual(R("p")[0], 0.0, places=14)
            self.assertAlmostEqual(R("s")[0], fresnel_s, places=14)
            self.assertAlmostEqual(R("unpolarized")[0], fresnel_s / 2, places=14)

    def test_gradient(self):
        for engine in (bloomcoat.Surface(WAVES, [1.38, 2.1 - 0.01j], 1.52, aoi_deg=40.0),
                       bloomcoat.Part(WAVES, [1.38, 2.1 - 0.01j], 1.52, aoi_deg=40.0, back="same")):
            thick = [90.0, 60.0, 30.0]
            slope = {word: (engine.evaluate([0, 1, 0], thick, gradient=True).dR(word), engine.dT(word))
                     for word in ("s", "p", "unpolarized")}
            for word, (dR, dT) in slope.items():
                for layer in range(3):
                    value = []
                    for step in (1e-3, -1e-3):
                        moved = list(thick)
                        moved[layer] += step
                        engine.evaluate([0, 1, 0], moved)
                        value.append((list(engine.R(word)), list(engine.T(word))))
                    for i in range(len(WAVES)):
                        self.assertAlmostEqual(dR[layer][i], (value[0][0][i] - value[1][0][i]) / 2e-3, places=8)
                        self.assertAlmostEqual(dT[layer][i], (value[0][1][i] - value[1][1][i]) / 2e-3, places=8)

    def test_part(self):
        """A bare plate: 2 R / (1 + R) (Knittl, Optics of Thin Films, 1976; from memory)."""
        R = (0.52 / 2.52) ** 2
        self.assertAlmostEqual(bloomcoat.Part([550.0], [], 1.52).evaluate([], []).R()[0], 2 * R / (1 + R), places=14)

    def test_spectrum_is_the_engine(self):
        tables = bloomcoat.Tables(TABLES)
        surface = bloomcoat.Surface(WAVES, ["MgF2", "HfO2", 1.62], "517642", aoi_deg=30.0, tables=tables)
        surface.evaluate([0, 1, 2], [thickness for _, thickness in STACK])
        result = bloomcoat.spectrum(STACK, WAVES, "517642", aoi_deg=30.0, tables=tables)
        for word in ("s", "p", "unpolarized"):
            for i in range(len(WAVES)):
                self.assertAlmostEqual(result["R"][word][i], surface.R(word)[i], places=14)
                self.assertAlmostEqual(result["T"][word][i], surface.T(word)[i], places=14)

    def test_arrays(self):
        if bloomcoat.numpy is None:
            self.skipTest("no numpy")
        surface = bloomcoat.Surface(bloomcoat.numpy.array(WAVES), [bloomcoat.numpy.array([1.38, 1.38, 1.379])], 1.52)
        surface.evaluate([0], [100.0], gradient=True)
        self.assertEqual(surface.R().shape, (3,))
        self.assertEqual(surface.dR().shape, (1, 3))
        first = surface.R()
        surface.evaluate([0], [0.0])
        self.assertNotEqual(first[0], surface.R()[0])  # a copy: the next evaluation does not change it


class Callouts(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.callouts = os.path.join(self.folder.name, "callouts.csv")
        with open(self.callouts, "w") as file:
            file.write(CALLOUTS)
        self.tables = bloomcoat.Tables(TABLES)

    def tearDown(self):
        self.folder.cleanup()

    def program(self, layers):
        """The same by `bloomcoat check --json`."""
        path = os.path.join(self.folder.name, "stack.csv")
        with open(path, "w") as file:
            file.write("role,material,thickness_nm\nincident,air,\n")
            file.writelines("layer,%s,%r\n" % layer for layer in layers)
            file.write("substrate,517642,\n")
        done = subprocess.run([os.environ["BLOOMCOAT"], "check", path, "--callouts", self.callouts, "--json",
                               "--tables", TABLES], stdout=subprocess.PIPE)
        return json.loads(done.stdout)

    def test_check(self):
        result, program = bloomcoat.check(STACK, self.callouts, "517642", tables=self.tables), self.program(STACK)
        self.assertEqual(result["pass"], program["pass"])
        self.assertEqual(len(result["callouts"]), 2)
        for mine, its in zip(result["callouts"], program["callouts"]):
            self.assertEqual((mine["name"], mine["polarization"]), (its["name"], its["polarization"]))
            self.assertAlmostEqual(100 * mine["value"], its["value_percent"], places=9)
            self.assertAlmostEqual(mine["limit_used"], its["limit_used"], places=9)
            self.assertAlmostEqual(mine["aoi_deg"], its["aoi_deg"], places=9)

    def test_draft(self):
        made = bloomcoat.draft(self.callouts, "517642", ["MgF2", "HfO2"], max_layers=4, effort=0.1,
                               tables=self.tables)
        again = bloomcoat.check(made["layers"], self.callouts, "517642", tables=self.tables)
        self.assertAlmostEqual(made["limit_used"], again["limit_used"], places=12)
        self.assertAlmostEqual(made["total_nm"], sum(nm for _, nm in made["layers"]), places=9)
        self.assertTrue(again["pass"])
        self.assertAlmostEqual(self.program(made["layers"])["limit_used"], made["limit_used"], places=9)

    def test_errors(self):
        for call, words in ((lambda: self.tables.index("nosuch", WAVES), "six-digit code"),
                            (lambda: self.tables.index("MgF2", [1.0]), "range of the table"),
                            (lambda: bloomcoat.check(STACK, "missing.csv", "517642", tables=self.tables), "missing"),
                            (lambda: bloomcoat.draft(self.callouts, "517642", [], tables=self.tables), "material"),
                            (lambda: bloomcoat.Surface(WAVES, [1.38], 1.52, incident=1.5 - 0.1j), "absorb"),
                            (lambda: bloomcoat.Surface(WAVES, [1.38], 1.52).R(), "evaluated"),
                            (lambda: bloomcoat.Surface(WAVES, [1.38], 1.52).evaluate([1], [9.0]), "none of the 1"),
                            (lambda: bloomcoat.Surface(WAVES, [[1.38]], 1.52), "expected 3")):
            with self.assertRaises(bloomcoat.Error) as caught:
                call()
            self.assertIn(words, str(caught.exception))

    def test_version(self):
        told = subprocess.run([os.environ["BLOOMCOAT"], "--version"], stdout=subprocess.PIPE).stdout.decode()
        self.assertIn(bloomcoat.version(), told)


if __name__ == "__main__":
    unittest.main()
