"""scipy judges what `calibrate` computes: offsets, scales and standard uncertainties of noisy coupons.

usage: calibrate_referee.py PROGRAM KIT. The design matrix is written down here from the coupon's drawing: 80 by 46 mm
between the corner holes of 4 mm, a body of 96 by 62 by 4, towers of 1, 2, 4 and 8. Runs under an interpreter that has
scipy (Debian's python3-scipy)."""

import csv
import json
import os
import random
import subprocess
import sys
import tempfile

import numpy as np
from scipy.optimize import curve_fit

PROGRAM, KIT = sys.argv[1:3]
LIE = sys.argv[3:] == ["--lie"]  # the referee is told wrong values: it must object
SPACINGS = {"1-2": (80, "x"), "3-4": (80, "x"), "1-3": (46, "y"), "2-4": (46, "y")}


def plan_row(feature, quantity, size):
    """Factors of hole, outline, scale x, scale y."""
    if feature.startswith("spacing-"):
        along = SPACINGS[feature[len("spacing-"):]][1]
        sign = 1 if quantity == "far walls" else -1
        return [sign, 0, size if along == "x" else 0, size if along == "y" else 0]
    if quantity == "length":
        return [0, 1, size, 0]
    if quantity == "width":
        return [0, 1, 0, size]
    outline = feature.startswith("boss-")
    return [0 if outline else 1, 1 if outline else 0, size / 2, size / 2]


def drawn(feature, quantity):
    """Nominal sizes by this page's own words, where it has any."""
    if feature.startswith("spacing-"):
        return SPACINGS[feature[len("spacing-"):]][0] + (4 if quantity == "far walls" else -4)
    fixed = {"length": 96, "width": 62, "thickness": 4}
    if quantity in fixed:
        return fixed[quantity]
    if quantity == "over all":
        return 4 + {"1": 1, "2": 2, "3": 4, "4": 8}[feature[-1]]
    if feature.startswith("hole-"):
        return {"1": 3, "2": 4, "3": 5, "4": 6, "5": 8}[feature[-1]]
    if feature.startswith("boss-"):
        return 4 + int(feature[-1])
    return None


def made(feature, quantity, nominal, c):
    """Size in the file of a kit with compensation c = (hole, outline, height)."""
    if feature.startswith("spacing-"):
        return nominal + (c[0] if quantity == "far walls" else -c[0])
    if quantity in ("thickness", "over all"):
        return nominal + c[2]
    return nominal + (c[1] if feature.startswith("boss-") or quantity in ("length", "width") else c[0])


def fit(matrix, y):
    """Coefficients and standard errors; curve_fit scales by the residuals as asked."""
    a = np.array(matrix)
    start = np.zeros(a.shape[1])
    p, covariance = curve_fit(lambda _, *k: a @ np.array(k), np.arange(len(y)), np.array(y), start, absolute_sigma=False)
    return p, np.sqrt(np.diag(covariance))


def near(what, ours, theirs, tolerance):
    if abs(ours - theirs) > tolerance:
        raise SystemExit(f"{what}: {ours} by calibrate, {theirs} by scipy")


def judge(folder, rng):
    c = [round(rng.uniform(-0.2, 0.2), 3) for _ in range(3)]
    kit = json.load(open(KIT, encoding="utf-8"))
    kit["printer"]["compensation"] = dict(zip(("hole_mm", "outline_mm", "height_mm"), c))
    path, sheet, table = (os.path.join(folder, n) for n in ("kit.json", "sheet.csv", "table.csv"))
    json.dump(kit, open(path, "w", encoding="utf-8"))
    if os.path.exists(sheet):
        os.remove(sheet)  # it writes over nothing
    subprocess.run([PROGRAM, "calibrate", path, "--sheet", sheet], check=True, capture_output=True)
    truth = [rng.uniform(-0.2, 0.2), rng.uniform(-0.2, 0.2), rng.uniform(-0.003, 0.003), rng.uniform(-0.003, 0.003)]
    first, scale_z = rng.uniform(-0.1, 0.1), rng.uniform(-0.01, 0.01)
    plan, plan_y, high, high_y, out = [], [], [], [], []
    with open(sheet, newline="", encoding="utf-8") as file:
        rows = [r for r in csv.reader(line for line in file if not line.startswith("#"))]
    out.append(rows[0])
    for row in rows[1:]:
        feature, quantity, nominal = row[0], row[1], row[2]
        if feature == "slicing-program":
            row[3] = "0"
        if nominal:
            nominal = float(nominal)
            if drawn(feature, quantity) not in (None, nominal):
                raise SystemExit(f"{feature} {quantity}: the sheet says {nominal}, the drawing {drawn(feature, quantity)}")
            size = made(feature, quantity, nominal, c)
            repeats = rng.choice((1, 2) if quantity in ("thickness", "over all") else (0, 1, 2))
            for k in range(repeats):
                noise = rng.gauss(0, 0.01)
                if quantity in ("thickness", "over all"):
                    row[3 + k] = f"{size * (1 + scale_z) + first + noise:.4f}"
                    high.append([1, size])
                    high_y.append(float(row[3 + k]) - size)
                else:
                    r = plan_row(feature, quantity, size)
                    row[3 + k] = f"{size + float(np.dot(r, truth)) + noise:.4f}"
                    plan.append(r)
                    plan_y.append(float(row[3 + k]) - size)
        out.append(row)
    with open(table, "w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(out)
    done = subprocess.run([PROGRAM, "calibrate", path, table, "--json"], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        if "printed without it" not in done.stderr:
            raise SystemExit(f"refused: {done.stderr}")
        return "refused"  # a truth that happens to be what the kit had: it would correct twice
    ours = json.loads(done.stdout)
    p, u = fit(plan, plan_y)
    h, uh = fit(high, high_y)
    if LIE:
        p[0] += 0.002
    # Values are printed to 6 significant digits of at most 0.3.
    for name, value, error, got in (
            ("hole", -p[0], u[0], ours["compensation"]["hole_mm"]), ("outline", -p[1], u[1], ours["compensation"]["outline_mm"]),
            ("scale x", p[2], u[2], ours["scale"]["x"]), ("scale y", p[3], u[3], ours["scale"]["y"]),
            ("height", -h[0], uh[0], ours["compensation"]["height_mm"]), ("scale z", h[1], uh[1], ours["scale"]["z"])):
        near(name, got["value"], value, 2e-6)
        near(name + " uncertainty", got["u"], error, 1e-6 + 1e-4 * error)
    near("rms", ours["rms_mm"]["plan"], float(np.sqrt(np.mean((np.array(plan_y) - np.array(plan) @ fit(plan, plan_y)[0]) ** 2))), 2e-6)
    return "judged"


def main():
    rng = random.Random(20260328)
    with tempfile.TemporaryDirectory() as folder:
        verdicts = [judge(folder, rng) for _ in range(30)]
    print(f"{verdicts.count('judged')} coupons agree with scipy, {verdicts.count('refused')} looked as if they would correct twice")
    if verdicts.count("judged") < 20:
        raise SystemExit("too few were judged")


main()
