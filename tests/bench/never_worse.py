# SPDX-License-Identifier: GPL-3.0-or-later
"""never_worse.py NAME FOLDER: compare the quotes that never_worse.sh has written there."""
import json
import sys

RANK = {"feasible": 2, "marginal": 1, "not feasible": 0}


def answer(path):
    with open(path, encoding="utf-8") as text:
        quote = json.load(text)
    option = next(o for o in quote["options"] if o["recommended"])
    return {"verdict": quote["verdict"], "layers": option["layers"], "yield": option["yield_percent"],
            "hours": option["expected_hours"], "used": option["limit_used"]}


def is_worse(new, old):
    if RANK[new["verdict"]] != RANK[old["verdict"]]:
        return RANK[new["verdict"]] < RANK[old["verdict"]]
    if new["verdict"] == "feasible" and new["hours"] is not None:
        return new["hours"] > 1.01 * old["hours"]
    if new["verdict"] == "marginal":
        return new["yield"] < old["yield"] - 0.3
    return new["used"] > 1.01 * old["used"]


def words(a):
    return f"{a['verdict']}, {a['layers']} layers, {a['yield']} %, {a['hours']} h, {a['used']:.3f} of the limits"


def main(name, folder):
    order = [f"layers-{n}" for n in (5, 6, 7, 8, 10)]
    pairs = list(zip(order[1:], order)) + [("seed-2", "layers-8"), ("seed-3", "layers-8"), ("effort-2", "layers-8")]
    worse = 0
    for new, old in pairs:
        a, b = answer(f"{folder}/{new}.json"), answer(f"{folder}/{old}.json")
        if is_worse(a, b):
            worse += 1
            print(f"{name}: {new} is worse than {old}: {words(a)}; {words(b)}")
    print(f"{name}: {worse} of {len(pairs)} worse; layers-8: {words(answer(f'{folder}/layers-8.json'))}")


main(*sys.argv[1:])
