# SPDX-License-Identifier: GPL-3.0-or-later
"""How long after a move of a dragged border its curve and callouts stand on the page: 8 layers, 301 wavelengths, 0 and 30
degrees. Not part of the suite: it measures this machine.  BLOOMCOAT=build/release/bin/bloomcoat EXAMPLES=examples
python3 tests/desk/measure_drag.py"""
import os
import shutil
import tempfile
import time

from browser import Browser, Desk

LAYERS = "Al2O3:75.2,Ta2O5:109.4,Al2O3:29.9,MgF2:20,Ta2O5:30,Al2O3:40,Ta2O5:20,MgF2:75.6"
ADDRESS = "#design?incident=air&layers=%s&substrate=517642&callouts=Ravg+%%3C%%3D+0.5+%%25+and+Rmax+%%3C%%3D+1+%%25%%2C+425-675+nm%%2C+AOI+0-30+deg&aoi=0,30&nm=400,700,1"

with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
    shop = shutil.copytree(os.environ["EXAMPLES"] + "/shop", folder + "/shop")
    with Desk(os.environ["BLOOMCOAT"], shop) as desk, Browser(folder) as browser:
        browser.open(desk.address)
        browser.wait("return document.querySelector('#view-ask h1')")
        browser.open(desk.address.split("/open/")[0] + "/" + ADDRESS % LAYERS)
        browser.wait("return document.querySelector('#view-design .curve.c1')")
        time.sleep(1)
        browser.run("""window.measured = [];
            const svg = document.querySelector('#view-design .chart');
            new MutationObserver(() => window.measured.push(+svg.dataset.milliseconds)).observe(svg, { attributeFilter: ['data-milliseconds'] });""")
        border = browser.find("//*[@id='view-design']//*[@data-border='3']")
        for _ in range(4):
            browser.drag(border, [(1, 0)] * 40 + [(-1, 0)] * 40)
            border = browser.find("//*[@id='view-design']//*[@data-border='3']")
        times = sorted(browser.run("return window.measured"))
        print("%d moves: median %.1f ms, 95 %% within %.1f ms, most %.1f ms" % (
            len(times), times[len(times) // 2], times[int(0.95 * len(times))], times[-1]))
