"""What each outside referee says of an STL file, in one form.

A verdict is a dict: closed, volume_mm3, box_mm (sizes along x, y, z), triangles, objections (sentences), and, where the
referee can tell, genus and pieces. The exact reader works in whole lattice steps, so its numbers carry no rounding.
"""

import collections
import hashlib
import json
import math
import os
import re
import shutil
import struct
import subprocess

HERE = os.path.dirname(os.path.abspath(__file__))
STEPS_PER_MM = 65536  # the finest lattice that parts are built on: 2^-16 mm


class Missing(Exception):
    """A referee is not installed."""


def run(command):
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True)
    out, err = (b.decode(errors="replace") for b in (done.stdout, done.stderr))
    if done.returncode != 0:
        raise RuntimeError(f"{command[0]} ended with {done.returncode}: {out}{err}")
    return out


def reader(path, _tool=None):
    """Binary STL read by nothing but the published layout: 80 bytes, a count, 50 bytes a facet, little-endian."""
    with open(path, "rb") as file:
        data = file.read()
    objections = []
    if data[:5].lower() == b"solid":
        objections.append("the header begins with the ASCII keyword")
    count = struct.unpack_from("<I", data, 80)[0] if len(data) >= 84 else 0
    if len(data) != 84 + 50 * count or count == 0:
        objections.append(f"{len(data)} bytes, but {count} facets ask for {84 + 50 * count}")
        return {"closed": False, "volume_mm3": 0, "area_mm2": 0, "box_mm": [0, 0, 0], "triangles": 0,
                "objections": objections, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}

    ids, facets, area = {}, [], []
    for facet in struct.iter_unpack("<12fH", data[84:]):
        normal, numbers, attribute = facet[:3], facet[3:12], facet[12]
        if attribute != 0:
            objections.append("a facet's attribute bytes are not zero")
        steps = [n * STEPS_PER_MM for n in numbers]
        if not all(math.isfinite(s) and s == math.floor(s) for s in steps):
            objections.append(f"coordinate off the lattice in {numbers}")
            steps = [round(s) if math.isfinite(s) else 0 for s in steps]
        points = [tuple(int(s) for s in steps[i:i + 3]) for i in (0, 3, 6)]
        facets.append(tuple(ids.setdefault(p, len(ids)) for p in points))
        a, b, c = points
        u, v = [b[i] - a[i] for i in range(3)], [c[i] - a[i] for i in range(3)]
        cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
        size = math.sqrt(sum(k * k for k in cross))
        area.append(size / 2)
        if size == 0:
            objections.append("a facet without area")
        elif max(abs(cross[i] / size - normal[i]) for i in range(3)) > 1e-6:  # float32 keeps 6e-8 of a unit vector
            objections.append(f"the written normal {normal} is not that of its facet")
    corners = list(ids)

    edges = collections.Counter((f[i], f[(i + 1) % 3]) for f in facets for i in range(3))
    open_edges = sum(1 for (a, b), n in edges.items() if n != 1 or edges[(b, a)] != 1)
    if open_edges:
        objections.append(f"{open_edges} edges do not have exactly two facets, one each way")

    root = list(range(len(corners)))

    def find(i):
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for f in facets:
        for i in (1, 2):
            root[find(f[i])] = find(f[0])
    pieces = sum(1 for i in range(len(corners)) if find(i) == i)

    six = 0
    for f in facets:
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (corners[i] for i in f)
        six += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    low = [min(c[i] for c in corners) for i in range(3)]
    high = [max(c[i] for c in corners) for i in range(3)]
    if low[2] != 0:
        objections.append(f"the lowest point is at z = {low[2] / STEPS_PER_MM}, not on the bed")
    for i in (0, 1):
        # The box's centre is snapped to a lattice of at most 2^-14 mm, so it may miss the origin by one such step.
        if abs(low[i] + high[i]) > 2 * 4:
            objections.append(f"the box's centre is off by {(low[i] + high[i]) / 2 / STEPS_PER_MM} along {'xy'[i]}")
    euler = len(corners) - len(edges) // 2 + len(facets)
    return {"closed": open_edges == 0, "volume_mm3": six / 6 / STEPS_PER_MM**3,
            "area_mm2": math.fsum(area) / STEPS_PER_MM**2,
            "box_mm": [(high[i] - low[i]) / STEPS_PER_MM for i in range(3)], "triangles": count, "pieces": pieces,
            "genus": pieces - euler // 2, "objections": objections, "bytes": len(data),
            "sha256": hashlib.sha256(data).hexdigest()}


def admesh(path, _tool=None):
    program = shutil.which("admesh")
    if program is None:
        raise Missing("admesh is not installed")
    text = run([program, path])

    def number(pattern):
        found = re.search(pattern, text)
        if not found:
            raise RuntimeError(f"no {pattern!r} in what admesh says:\n{text}")
        return float(found.group(1))

    box = [number(rf"Max {a} = *(\S+)") - number(rf"Min {a} = *(\S+),") for a in "XYZ"]
    objections = []
    # What the program had to mend, or could not.
    for what in ("Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed",
                 "Backwards edges", "Normals fixed"):
        count = number(rf"{what} *: *(\d+)")
        if count:
            objections.append(f"{what.lower()}: {count:.0f}")
    disconnected = number(r"Total disconnected facets *: *(\d+)")
    if disconnected:
        objections.append(f"disconnected facets before mending: {disconnected:.0f}")
    return {"closed": disconnected == 0, "volume_mm3": number(r"Volume *: *(\S+)"), "box_mm": box,
            "triangles": int(number(r"Number of facets *: *(\d+)")),
            "pieces": int(number(r"Number of parts *: *(\d+)")), "objections": objections}


def assimp(path, tool):
    if not tool or tool == "missing":
        raise Missing("the assimp library is not installed")
    return json.loads(run([tool, path]))


def manifold(path, _tool=None):
    node = shutil.which("node")
    if node is None or not os.path.isdir(os.path.join(HERE, "node_modules", "manifold-3d")):
        raise Missing("node or the manifold-3d package is not installed")
    return json.loads(run([node, os.path.join(HERE, "manifold_referee.mjs"), path]))


ALL = {"reader": reader, "admesh": admesh, "assimp": assimp, "manifold": manifold}
