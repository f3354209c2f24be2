#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""progress.py BUILD [NAME...]: how true the time left is that long runs say on a terminal.

Each run gets a pseudo-terminal as standard error. From its lines: the moment of each, and when it then foresaw the end. Printed
is (moment + time left) / true time at a quarter, a half and three quarters of the way, and the longest wait for a new
line. Not in the suite: some minutes, and only a quiet machine shows what the program can do.
"""
import os
import pty
import random
import re
import select
import subprocess
import sys
import tempfile
import time

CALLOUTS = "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
VISIBLE = CALLOUTS + "band,R,max,<= %s,425,675,0..30,each\nmean,R,average,<= %s,425,675,0..30,unpolarized\n"
PLAIN = CALLOUTS + "band,R,max,<= 0.5,425,675,0,unpolarized\n"
WIDE = CALLOUTS + "band,R,max,<= 0.05,400,900,0..30,each\n"
PROCESS = ("material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma\n"
           "*,0.5,1,1,0.5,0.005\n")
LAYERS = "--substrate 1.52 --materials 1.38,1.65,2.1"


def stack(layers, seed):
    draw = random.Random(seed)
    rows = ["role,material,thickness_nm", "incident,air,"]
    rows += [f"layer,{'2.1' if i % 2 else '1.38'},{draw.uniform(40, 140):.2f}" for i in range(layers)]
    return "\n".join(rows + ["substrate,1.52,", ""])


def many_callouts():
    rows = [f"r{i},R,average,<= {0.3 + 0.01 * i:.2f},{420 + 5 * i},{660 - 3 * i},{i}..{i + 20},unpolarized\n" for i in range(30)]
    return CALLOUTS + "".join(rows)


RUNS = {
    "draft": f"draft {LAYERS} --callouts wide.csv --max-layers 12 --effort 1",
    "draft-deep": f"draft {LAYERS} --callouts wide.csv --max-layers 200",
    "draft-process": f"draft {LAYERS} --callouts visible.csv --process process.csv --max-layers 10 --effort 3",
    "refine": "refine s150.csv --callouts wide.csv",
    "quote": f"quote {LAYERS} --callouts visible.csv --process process.csv --max-layers 8",
    "quote-hard": f"quote {LAYERS} --callouts hard.csv --process process.csv --max-layers 8",
    "quote-many": f"quote {LAYERS} --callouts many.csv --process process.csv --max-layers 8",
    "yield": "yield s20.csv --callouts visible.csv --process process.csv --runs 400000",
    "check": "check s16000.csv --callouts plain.csv",
    "compare": "check s1000.csv s4000.csv s9000.csv --callouts plain.csv",
    "inspect": "inspect w60.csv --stack s60.csv --callouts visible.csv --uncertainty-percent 0.1",
    "inspect-lot": "inspect w20.csv v20.csv u20.csv --stack s20.csv --callouts visible.csv --uncertainty-percent 0.1",
}


def write_inputs(program):
    """Callouts, stacks, and scans of them with 1 % scatter of the layers and 0.03 % noise."""
    files = {"visible.csv": VISIBLE % ("0.5", "0.3"), "hard.csv": VISIBLE % ("0.05", "0.02"), "wide.csv": WIDE, "plain.csv": PLAIN,
             "many.csv": many_callouts(), "process.csv": PROCESS}
    for layers in (20, 60, 150, 1000, 4000, 9000, 16000):
        files[f"s{layers}.csv"] = stack(layers, layers)
    for name, text in files.items():
        with open(name, "w", encoding="utf-8") as file:
            file.write(text)
    for name, layers in (("w60", 60), ("w20", 20), ("v20", 20), ("u20", 20)):
        draw = random.Random(name)
        with open("true.csv", "w", encoding="utf-8") as file:
            for row in stack(layers, layers).splitlines():
                cells = row.split(",")
                if cells[0] == "layer":
                    cells[2] = f"{float(cells[2]) * draw.gauss(1.0, 0.01):.4f}"
                file.write(",".join(cells) + "\n")
        lines = subprocess.run([program, "spectrum", "true.csv", "--from", "400", "--to", "800"], check=True,
                               capture_output=True, text=True).stdout.splitlines()
        rows = [line.split(",") for line in lines if line[:1].isdigit()]
        with open(name + ".csv", "w", encoding="utf-8") as file:
            file.write("wavelength_nm,R (%)\n")
            file.writelines(f"{row[0]},{float(row[3]) + draw.gauss(0.0, 0.03):.4f}\n" for row in rows)


def time_left(text):
    found = re.search(r"about (\d+) (s|min) left", text)
    return None if found is None else float(found.group(1)) * (60.0 if found.group(2) == "min" else 1.0)


def watch(words):
    """The moments of the lines with the end that each foresaw (or None), how long it took, and the exit code."""
    terminal, other = pty.openpty()
    start = time.monotonic()
    process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=other)
    os.close(other)
    lines = []
    while True:
        ready, _, _ = select.select([terminal], [], [], 0.05)
        try:
            text = os.read(terminal, 4096).decode() if ready else ""
        except OSError:  # the other end is closed
            break
        if text.strip():
            now = time.monotonic() - start
            left = time_left(text.split("\r")[-1])
            lines.append((now, None if left is None else now + left))
    code = process.wait()
    return lines, time.monotonic() - start, code


def foreseen(lines, whole, share):
    """The end foreseen by the last line before that share of the way, as a ratio to the true one."""
    ends = [end for now, end in lines if now <= share * whole]
    return "-" if not ends else "none" if ends[-1] is None else f"{ends[-1] / whole:.2f}"


def main():
    program = os.path.abspath(os.path.join(sys.argv[1], "bin", "bloomcoat"))
    names = sys.argv[2:] or list(RUNS)
    print("run            seconds  at 1/4  at 1/2  at 3/4  longest wait for a line, s")
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        write_inputs(program)
        for name in names:
            lines, whole, code = watch([program] + RUNS[name].split())
            if code not in (0, 1):
                sys.exit(f"{name}: ended with {code}")
            moments = [0.0] + [now for now, _ in lines] + [whole]
            wait = max(later - earlier for earlier, later in zip(moments, moments[1:]))
            ratios = [foreseen(lines, whole, share) for share in (0.25, 0.5, 0.75)]
            print(f"{name:14} {whole:7.1f}  {ratios[0]:>6}  {ratios[1]:>6}  {ratios[2]:>6}  {wait:.2f}", flush=True)
        os.chdir("/")


if __name__ == "__main__":
    main()
