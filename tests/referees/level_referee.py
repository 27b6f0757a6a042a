"""numpy and scipy judge what `level` computes: the split (lstsq), the best possible range (linprog), the map foretold.

usage: level_referee.py PROGRAM KIT. Runs under an interpreter that has scipy (Debian's python3-scipy)."""

import json
import os
import random
import subprocess
import sys
import tempfile

import numpy as np
from scipy.optimize import linprog

PROGRAM, KIT = sys.argv[1:]


def level(folder, points, settings):
    path = os.path.join(folder, "map.csv")
    with open(path, "w") as file:
        file.writelines(f"{x!r},{y!r},{z!r}\n" for x, y, z in points)
    command = [PROGRAM, "level", path, "--kit", os.path.join(folder, "kit.json"), "--json"] + settings
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"{command} ended with {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def near(what, ours, theirs, tolerance):
    if abs(ours - theirs) > tolerance:
        raise SystemExit(f"{what}: {ours} here, {theirs} by scipy, {tolerance} allowed")


def least_range(z, shapes):
    """min h - l with l <= z + shapes c <= h."""
    n, k = shapes.shape
    a = np.vstack([np.hstack([shapes, -np.ones((n, 1)), np.zeros((n, 1))]),
                   np.hstack([-shapes, np.zeros((n, 1)), np.ones((n, 1))])])
    b = np.concatenate([-z, z])
    found = linprog([0] * k + [1, -1], A_ub=a, b_ub=b, bounds=[(None, None)] * (k + 2), method="highs")
    assert found.status == 0, found.message
    return found.fun


def main():
    dice = random.Random(5)
    with open(KIT) as file:
        kit = json.load(file)
    kit["bed_map"] = {"positive_is": "high"}
    width, depth = kit["bed"]["size_mm"]
    worst = 0
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "kit.json"), "w") as file:
            json.dump(kit, file)
        for trial in range(25):
            nx, ny = dice.randint(3, 7), dice.randint(3, 7)
            t = [dice.gauss(0, 0.3) for _ in range(5)]
            points = []
            for i in range(nx):
                for j in range(ny):
                    x, y = -100 + 200 * i / (nx - 1), -90 + 180 * j / (ny - 1)
                    u, v = x / 120, y / 120
                    z = t[0] * u + t[1] * v + 0.1 * t[2] * u * v + 0.1 * t[3] * u * u + 0.1 * t[4] * v * v + dice.gauss(0, 0.01)
                    points.append((x, y, z))
            result = level(folder, points, [])
            p = np.array(points)
            u, v, z = 2 * p[:, 0] / width, 2 * p[:, 1] / depth, p[:, 2]
            a = np.column_stack([np.ones(len(z)), u / 2, v / 2, u * v, u * u, v * v])
            c, residual = np.linalg.lstsq(a, z, rcond=None)[:2]
            sd = np.sqrt(residual[0] / (len(z) - 6)) if len(z) > 6 else 0
            errors = sd * np.sqrt(np.diag(np.linalg.inv(a.T @ a)))
            for k, name in enumerate(["offset", "tilt_x", "tilt_y", "twist", "bow_x", "bow_y"]):
                term = result["split"][name + "_um"]
                near(name, term["value"], 1000 * c[k], 1e-5 * max(1, abs(1000 * c[k])))
                near(name + " uncertainty", term["u"], 1000 * errors[k], 1e-5 * max(1, 1000 * errors[k]))
            # A rigid bed: planes are all that shims reach. Written lengths are rounded to 1e-4.
            near("best possible range", result["best_possible"]["range_mm"], least_range(z, p[:, :2] / 100), 1.01e-4 / 2)
            # The foretold map is the measured one and a plane least squares through the mounts' changes.
            mounts = result["mounts"]
            m = np.array([[1, *mount["at_mm"]] for mount in mounts])
            plane = np.linalg.lstsq(m, np.array([mount["shim_mm"] - mount["now_mm"] for mount in mounts]), rcond=None)[0]
            for x, y, before, after in result["map"]:
                near("foretold", after, before + plane @ [1, x, y], 1e-5)
                worst = max(worst, abs(after - before))
    if worst < 0.05:
        raise SystemExit("no map was changed by shims: this test judged nothing")
    print("25 maps: split, uncertainties, best range and foretold map agree with scipy")


main()
