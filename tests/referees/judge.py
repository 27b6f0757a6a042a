#!/usr/bin/env python3
"""judge.py REFEREE SET_FOLDER [ASSIMP_TOOL]: holds one referee's verdict on every file of a set against its report."""

import json
import os
import sys

import referees

# Manifold and the assimp tool sum in double. Admesh sums in float32: each of n additions is off by up to 6e-8 of the sum, at
# random, so some sqrt(n) * 6e-8 in all; 1e-5 is three times that for 3000 facets.
VOLUME_RELATIVE = {"reader": 0, "admesh": 1e-5, "assimp": 1e-6, "manifold": 1e-6}
PRINTED_VOLUME_MM3 = {"admesh": 0.5e-6}  # six decimals
# Read as float32 and subtracted: exact, but for admesh, which prints six decimals.
BOX_MM = {"reader": 0, "admesh": 2e-6, "assimp": 0, "manifold": 0}
LENGTH_STEP_MM = 1e-4  # printed lengths are rounded to this
SIGNIFICANT = 6        # other printed numbers


def half_step(value):
    """Half a unit of the last printed digit."""
    return 0.5 * 10 ** (len(str(int(abs(value)))) - SIGNIFICANT) if abs(value) >= 1 else 0.5e-6


def through_holes(part):
    """How many tunnels the report's features make: upright axes on which a hole goes through, each counted once, and
    what else is drawn as one. None of them meet."""
    axes = {(round(f["at_mm"][0], 3), round(f["at_mm"][1], 3))
            for f in part["features"] if f["kind"] in ("clearance_hole", "slot") and "along" not in f}
    return len(axes) + sum(f.get("through", False) for f in part["features"])


def judge(name, part, path, tool=None):
    """Every disagreement as a sentence."""
    if not os.path.isfile(path):
        return [f"{path} is missing"]
    verdict = referees.ALL[name](path, tool)
    truth = verdict if name == "reader" else referees.reader(path)
    said = list(verdict["objections"])

    def hold(what, got, expected, allowed):
        if abs(got - expected) > allowed:
            said.append(f"{what}: {name} says {got!r}, expected {expected!r} within {allowed:.3g}")

    if not verdict["closed"]:
        said.append("not closed")
    if part["mesh"]["closed"] != verdict["closed"]:
        said.append(f"closed: the report says {part['mesh']['closed']}, {name} says {verdict['closed']}")
    hold("facets", verdict["triangles"], part["triangles"], 0)
    volume_allowed = VOLUME_RELATIVE[name] * abs(truth["volume_mm3"]) + PRINTED_VOLUME_MM3.get(name, 0)
    hold("volume_mm3", verdict["volume_mm3"], truth["volume_mm3"], volume_allowed)
    hold("volume_mm3 in the report", verdict["volume_mm3"], part["volume_mm3"],
         half_step(part["volume_mm3"]) + volume_allowed)
    for axis in range(3):
        hold(f"box along {'xyz'[axis]}", verdict["box_mm"][axis], truth["box_mm"][axis], BOX_MM[name])
        hold(f"box along {'xyz'[axis]} in the report", verdict["box_mm"][axis], part["bbox_mm"][axis],
             LENGTH_STEP_MM / 2 + BOX_MM[name] + 1e-9)
    if "pieces" in verdict:
        hold("pieces", verdict["pieces"], part["mesh"]["pieces"], 0)
        hold("pieces", verdict["pieces"], 1, 0)
    if "genus" in verdict:
        hold("through holes", verdict["genus"], through_holes(part), 0)
    if name == "reader":
        hold("area_mm2", verdict["area_mm2"], part["area_mm2"], half_step(part["area_mm2"]) + 1e-9 * part["area_mm2"])
        hold("bytes", verdict["bytes"], part["bytes"], 0)
        if verdict["sha256"] != part["sha256"]:
            said.append(f"sha256: the file's is {verdict['sha256']}, the report says {part['sha256']}")
    return said


def main():
    name, folder = sys.argv[1:3]
    tool = sys.argv[3] if len(sys.argv) > 3 else None
    with open(os.path.join(folder, "report.json"), encoding="utf-8") as file:
        parts = json.load(file)["parts"]
    if not parts:
        sys.exit("the report lists no part: nothing was judged")
    wrong = 0
    try:
        for part in parts:
            said = judge(name, part, os.path.join(folder, part["file"]), tool)
            wrong += bool(said)
            print(f"{part['id']}: {'agrees' if not said else '; '.join(said[:8])}")
    except referees.Missing as missing:
        sys.exit(f"{missing}: run scripts/setup, then configure and build again")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
