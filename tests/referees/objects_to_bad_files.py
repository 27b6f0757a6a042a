#!/usr/bin/env python3
"""objects_to_bad_files.py REFEREE [ASSIMP_TOOL]: a referee passes a good block and objects to each way of spoiling it."""

import hashlib
import math
import os
import struct
import sys
import tempfile

import judge
import referees

SIZE, HOLE, HEIGHT = (20.0, 12.0), 4.0, 6.0  # a block with one square hole through it, centred over the origin


def block(hole=True):
    """Facets as corner triples, counter-clockwise from outside."""
    outer = [(x * SIZE[0] / 2, y * SIZE[1] / 2) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    inner = [(x * HOLE / 2, y * HOLE / 2) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    facets = []

    def quad(a, b, c, d):
        facets.append([a, b, c])
        facets.append([a, c, d])

    for i in range(4):
        j = (i + 1) % 4
        o, p, q, r = outer[i], outer[j], inner[j], inner[i]
        quad((*o, 0), (*p, 0), (*p, HEIGHT), (*o, HEIGHT))
        if hole:
            quad((*r, 0), (*r, HEIGHT), (*q, HEIGHT), (*q, 0))
            quad((*o, HEIGHT), (*p, HEIGHT), (*q, HEIGHT), (*r, HEIGHT))
            quad((*o, 0), (*r, 0), (*q, 0), (*p, 0))
    if not hole:
        quad(*((*p, HEIGHT) for p in outer))
        quad(*((*p, 0) for p in reversed(outer)))
    return facets


def normal(facet):
    a, b, c = facet
    u, v = [b[i] - a[i] for i in range(3)], [c[i] - a[i] for i in range(3)]
    n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
    size = math.sqrt(sum(k * k for k in n)) or 1
    return [k / size for k in n]


def stl(facets, header=b"a block"):
    data = header.ljust(80, b" ") + struct.pack("<I", len(facets))
    for facet in facets:
        data += struct.pack("<12fH", *normal(facet), *(k for p in facet for k in p), 0)
    return data


def flipped(facet):
    return [facet[0], facet[2], facet[1]]


def moved(facets, corner, by):
    return [[tuple(k + d for k, d in zip(p, by)) if p == corner else p for p in f] for f in facets]


GOOD = block()
CORNER = (10.0, 6.0, 6.0)
AT_CORNER = next(i for i, f in enumerate(GOOD) if CORNER in f)
EVERYONE = ("reader", "admesh", "assimp", "manifold")
# What was done to the file, its bytes, and who must object.
SPOILED = [
    ("a facet is missing", stl(GOOD[1:]), EVERYONE),
    ("a facet is there twice", stl(GOOD + GOOD[:1]), EVERYONE),
    ("a facet is turned", stl([flipped(GOOD[0])] + GOOD[1:]), EVERYONE),
    ("all facets are turned", stl([flipped(f) for f in GOOD]), EVERYONE),
    ("a corner stands 0.01 mm too high", stl(moved(GOOD, CORNER, (0, 0, 0.0078125))), EVERYONE),
    ("the file is in inches", stl([[tuple(k / 32 for k in p) for p in f] for f in GOOD]), EVERYONE),
    ("a crack 0.001 mm wide", stl([f if i != AT_CORNER else moved([f], CORNER, (0, 2**-10, 0))[0] for i, f in enumerate(GOOD)]), EVERYONE),
    ("the hole is filled", stl(block(hole=False)), EVERYONE),
    ("another block beside it", stl(GOOD + [[(p[0] + 30, p[1], p[2]) for p in f] for f in GOOD]), EVERYONE),
    ("the header is the ASCII keyword", stl(GOOD, b"solid block"), ("reader",)),
    ("the file is cut short", stl(GOOD)[:-20], ("reader",)),
    ("a byte too many", stl(GOOD) + b"\0", ("reader",)),
    ("attribute bytes are set", stl(GOOD)[:-2] + b"\1\0", ("reader",)),
    ("a corner is off the lattice", stl(moved(GOOD, CORNER, (0, 1e-5, 0))), ("reader",)),
    ("the block floats", stl([[(p[0], p[1], p[2] + 1) for p in f] for f in GOOD]), ("reader",)),
    ("the block lies beside the origin", stl([[(p[0] + 1, p[1], p[2]) for p in f] for f in GOOD]), ("reader",)),
    ("a normal is wrong", stl(GOOD)[:84] + struct.pack("<3f", 0, 0, 1) + stl(GOOD)[96:], ("reader", "admesh")),
]


def expectation():
    """What a report would say of the good block, from the closed forms of a block with a square hole."""
    face = SIZE[0] * SIZE[1] - HOLE**2
    good = stl(GOOD)
    return {"file": "", "bytes": len(good), "sha256": hashlib.sha256(good).hexdigest(), "triangles": len(GOOD),
            "volume_mm3": face * HEIGHT, "area_mm2": 2 * face + (2 * sum(SIZE) + 4 * HOLE) * HEIGHT,
            "bbox_mm": [*SIZE, HEIGHT], "mesh": {"closed": True, "pieces": 1},
            "features": [{"kind": "outline", "at_mm": [0, 0, 0]}, {"kind": "clearance_hole", "at_mm": [0, 0, 6]}]}


def main():
    name = sys.argv[1]
    tool = sys.argv[2] if len(sys.argv) > 2 else None
    failures = 0

    def tell(right, words):
        nonlocal failures
        failures += not right
        print(("ok     " if right else "WRONG  ") + words)

    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "block.stl")

        def verdict(data):
            with open(path, "wb") as file:
                file.write(data)
            return judge.judge(name, expectation(), path, tool)

        try:
            said = verdict(stl(GOOD))
        except referees.Missing as missing:
            sys.exit(f"{missing}: run scripts/setup, then configure and build again")
        tell(not said, f"a good block: {'; '.join(said) or 'agrees'}")
        for words, data, who in SPOILED:
            if name in who:
                try:
                    said = verdict(data)
                except RuntimeError as refused:
                    said = [str(refused).splitlines()[0]]
                # The digest of any changed file differs; the objection must not rest on that alone.
                said = [s for s in said if not s.startswith("sha256")]
                tell(bool(said), f"{words}: {'; '.join(said[:3]) or 'nothing was said'}")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
