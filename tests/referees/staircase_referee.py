#!/usr/bin/env python3
"""staircase_referee.py PROGRAM KIT: the steps a layered seat has, by slicing the written files, against the report.

The STL is cut by planes at the middle of each layer (numpy, nothing of the program's). A layer fills what its plane's
section encloses, from its lower to its upper face. Over a lattice of points of the seat the layered seat is compared with
the drawn one along the seat's normal; the spread of that is what the report must say.
"""

import json
import math
import os
import struct
import subprocess
import sys
import tempfile

import numpy

POINTS = 60  # a side of the lattice of points
# A lattice may miss the very ends of a step by the height that the seat falls in half a spacing: held below by a share of
# the layer, above exactly.
MISSED_SHARE = 0.25
EXACT_MM = 2e-3  # facets of the seat stray from its surface by chord_mm at most, in one pose as in another


def read(path):
    with open(path, "rb") as file:
        data = file.read()
    (count,) = struct.unpack_from("<I", data, 80)
    rows = numpy.frombuffer(data[84:], dtype=numpy.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")]), count=count)
    return rows["v"].astype(float)


def crossings(facets, point, direction, other):
    """Distances along `direction` from `point` at which a line meets the facets; both axis-aligned in the print frame."""
    u, v = other
    a, b, c = facets[:, 0], facets[:, 1], facets[:, 2]
    d = (b[:, u] - a[:, u]) * (c[:, v] - a[:, v]) - (c[:, u] - a[:, u]) * (b[:, v] - a[:, v])
    good = numpy.abs(d) > 1e-12
    a, b, c, d = a[good], b[good], c[good], d[good]
    wb = ((point[u] - a[:, u]) * (c[:, v] - a[:, v]) - (c[:, u] - a[:, u]) * (point[v] - a[:, v])) / d
    wc = ((b[:, u] - a[:, u]) * (point[v] - a[:, v]) - (point[u] - a[:, u]) * (b[:, v] - a[:, v])) / d
    inside = (wb >= 0) & (wc >= 0) & (wb + wc <= 1)
    return a[inside, direction] + wb[inside] * (b - a)[inside, direction] + wc[inside] * (c - a)[inside, direction]


def judge(part, facets, layer, first):
    matrix = numpy.array(part["print_to_part"]).reshape(4, 4)
    up = matrix[2, :3]  # part Z as seen in the print frame
    axis = int(numpy.argmax(numpy.abs(up)))
    sense = round(up[axis])
    u, v = [k for k in range(3) if k != axis]
    low, high = facets.reshape(-1, 3).min(0), facets.reshape(-1, 3).max(0)
    errors = []
    for s in numpy.linspace(low[u] + 0.37, high[u] - 0.41, POINTS):
        for t in numpy.linspace(low[v] + 0.39, high[v] - 0.43, POINTS):
            point = numpy.zeros(3)
            point[u], point[v] = s, t
            met = crossings(facets, point, axis, (u, v))
            if len(met) == 0:
                continue
            drawn = sense * max(sense * met)
            if axis == 2:
                # Lying: the printed top is the upper face of the last layer whose plane is still in the part.
                if not any(abs(drawn - h) < 1.2 for h in part["seat_heights"]):
                    continue
                height = drawn
                k = 0 if height < first + layer / 2 else math.floor((height - first) / layer + 0.5)
                printed = first + k * layer
                errors.append(printed - height if height >= first / 2 else -height)
            else:
                # Standing: the wall of a layer stands where its plane in the middle cuts the seat.
                height = point[2]
                k = 0 if height < first else 1 + math.floor((height - first) / layer)
                middle = first / 2 if k == 0 else first + (k - 0.5) * layer
                if middle < part["eased_mm"] or height < part["eased_mm"]:
                    continue  # the chamfer along the bed is no seat
                point[2] = middle
                cut = crossings(facets, point, axis, (u, v))
                if len(cut) == 0:
                    continue
                off = sense * max(sense * cut) - drawn
                if abs(off) < layer:  # more is the edge of a hole or of the part, no step of its seat
                    errors.append(off)
    return errors


def main():
    program, kit = sys.argv[1:3]
    wrong, judged = [], 0
    for pose in ("auto", "as_installed"):
        with tempfile.TemporaryDirectory() as folder:
            out = os.path.join(folder, "set")
            subprocess.run([program, "make", kit, "--out", out, "--force", "--set", "/parts/0/mark=false", "--set",
                            "/parts/0/boss_height_mm=0", "--set", "/parts/0/pose=" + pose], capture_output=True)
            with open(os.path.join(out, "report.json"), encoding="utf-8") as file:
                report = json.load(file)
            with open(kit, encoding="utf-8") as file:
                printer = json.load(file)["printer"]
            layer, first = printer.get("layer_mm", 0.2), printer.get("first_layer_mm", 0.2)
            for part in report["parts"]:
                if part["family"] != "adapter_plate":
                    continue
                facets = read(os.path.join(out, part["file"]))
                top = facets[:, :, 2].max()
                part["seat_heights"] = [top]
                part["eased_mm"] = max([d["measured_mm"] for d in part["dimensions"] if d["feature"] == "bed-edge"], default=0)
                chosen = next(t for t in part["pose"]["tried"] if t["way"] == part["pose"]["way"])
                said = chosen["staircase_mm"]
                errors = judge(part, facets, layer, first)
                found = max(errors) - min(errors) if errors else float("nan")
                judged += 1
                if not said - MISSED_SHARE * max(layer * 0.2, said) - EXACT_MM <= found <= said + EXACT_MM:
                    wrong.append(f"{part['id']} {part['pose']['way']}: sliced {found:.4f} mm, the report says {said}")
                print(f"{part['id']} {part['pose']['way']}: sliced {found:.4f} mm over {len(errors)} points, report {said}")
    if not judged:
        sys.exit("nothing was judged")
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
