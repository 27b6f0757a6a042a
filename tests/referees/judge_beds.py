#!/usr/bin/env python3
"""judge_beds.py SET_FOLDER KIT TOOL...: every bed file of a set, as outside readers read it, against the set's report.

Each TOOL prints a 3MF package's placed meshes as JSON. The package itself is looked at with Python's zipfile, XML and zlib.
"""

import json
import os
import struct
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
import zipfile
import zlib

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
MILLIMETRE = 1  # lib3mf's number for it
# Positions are written to 1e-4 mm and shifted in float32: 2^-16 at 255 mm, and half a unit of the report's last digit.
PLACE_MM = 3e-5 + 1e-4
# Coordinates are float32 after the shift: each of some thousand facets is off by at most 2^-17 mm at its corners.
VOLUME_RELATIVE = 1e-4


def picture(data):
    """Width, height and number of different colours of a palette PNG; asserts its checksums."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n", "no PNG signature"
    at, packed, size = 8, b"", None
    while at < len(data):
        (length,) = struct.unpack_from(">I", data, at)
        name, body = data[at + 4:at + 8], data[at + 8:at + 8 + length]
        (crc,) = struct.unpack_from(">I", data, at + 8 + length)
        assert crc == zlib.crc32(name + body), f"checksum of {name}"
        if name == b"IHDR":
            size = struct.unpack(">II5B", body)
        if name == b"IDAT":
            packed += body
        at += 12 + length
    rows = zlib.decompress(packed)
    assert size[2:] == (8, 3, 0, 0, 0) and len(rows) == size[1] * (size[0] + 1)
    pixels = b"".join(rows[i * (size[0] + 1) + 1:(i + 1) * (size[0] + 1)] for i in range(size[1]))
    return size[0], size[1], len(set(pixels))


def judge_package(path, bed, said):
    with zipfile.ZipFile(path) as package:
        if package.testzip() is not None:
            said.append("a checksum of the archive is wrong")
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
        width, height, colours = picture(package.read("Metadata/thumbnail"))
    objects = [o.get("name") for o in root.iter(CORE + "object")]
    if sorted(objects) != sorted({i["part"] for i in bed["items"]}):
        said.append(f"objects {objects}: one a part is asked for")
    if len(list(root.iter(CORE + "item"))) != len(bed["items"]):
        said.append("not one build item for each copy")
    # Background, bed, rim, and some shades of what lies there.
    if width != 256 or height != 256 or colours < 6:
        said.append(f"thumbnail of {width} x {height} with {colours} colours")


def judge_reading(tool, path, bed, parts, said):
    verdict = json.loads(subprocess.run([tool, path], capture_output=True, check=True).stdout)
    if "error" in verdict or verdict.get("warnings", 0) or verdict.get("unit", MILLIMETRE) != MILLIMETRE:
        said.append(f"{os.path.basename(tool)}: {verdict.get('error', verdict)}")
        return
    if len(verdict["items"]) != len(bed["items"]):
        said.append(f"{os.path.basename(tool)} finds {len(verdict['items'])} things, the report {len(bed['items'])}")
        return
    for item, wanted in zip(verdict["items"], bed["items"]):
        part = parts[wanted["part"]]
        name = f"{wanted['part']}-{wanted['copy']}"
        if item["name"] not in ("", wanted["part"]) or item["part_number"] not in ("", name):
            said.append(f"{name} is called {item['name']} {item['part_number']}")
        if abs(item["volume_mm3"] - part["volume_mm3"]) > VOLUME_RELATIVE * part["volume_mm3"]:
            said.append(f"{name}: {item['volume_mm3']} mm3")
        size = part["bbox_mm"][:]
        if wanted["turn_deg"] in (90, 270):
            size[0], size[1] = size[1], size[0]
        for axis in range(3):
            if abs(item["high"][axis] - item["low"][axis] - size[axis]) > PLACE_MM + 1e-4:
                said.append(f"{name} is {item['high'][axis] - item['low'][axis]} long, not {size[axis]}")
        for axis in range(2):
            if wanted["turn_deg"] % 90 == 0:
                centre = (item["high"][axis] + item["low"][axis]) / 2
                if abs(centre - wanted["at_mm"][axis]) > PLACE_MM + 2e-5:
                    said.append(f"{name} lies at {centre}, not {wanted['at_mm'][axis]}")
            if item["low"][axis] < -1e-4:
                said.append(f"{name} leaves the bed")
        if abs(item["low"][2]) > 1e-6:
            said.append(f"{name} does not stand on the bed")


def judge_counts(report, kit, said):
    """Every copy of every part once: its quantity and spares for each of the sets that the kit wants."""
    printer = kit.get("printer", {})
    sets = printer.get("sets", 1)
    spares = {p["part"]: p["spares"] for p in report["print_first"]["parts"]}
    lying = [[(i["part"], i["copy"]) for i in bed["items"]] for bed in report["beds"]]
    every = [item for bed in lying for item in bed]
    for part in report["parts"]:
        wanted = sets * (part["quantity"] + spares.get(part["id"], 0))
        copies = sorted(copy for name, copy in every if name == part["id"])
        if copies != list(range(1, wanted + 1)):
            said.append(f"{part['id']}: copies {copies} on all beds, 1 to {wanted} are wanted")
    if printer.get("beds") == "kinds" and any(len({name for name, _ in bed}) > 1 for bed in lying):
        said.append("two kinds on one bed")


def main():
    lie = sys.argv[1] if sys.argv[1].startswith("--") else ""  # the report is made to lie: the judge must object
    moved = lie == "--moved"
    folder, kit, *tools = sys.argv[1 + bool(lie):]
    with open(kit, encoding="utf-8") as file:
        kit = json.load(file)
    with open(os.path.join(folder, "report.json"), encoding="utf-8") as file:
        report = json.load(file)
    if not report["beds"] or not tools:
        sys.exit("nothing to judge")
    for item in (i for b in report["beds"] for i in b["items"]):
        item["at_mm"][0] += 0.01 * moved
    parts = {p["id"]: p for p in report["parts"]}
    if lie == "--one-set-more":
        kit.setdefault("printer", {})["sets"] = kit.get("printer", {}).get("sets", 1) + 1
    said = []
    judge_counts(report, kit, said)
    print("counts: " + ("agree" if not said else "; ".join(said[:8])))
    wrong = bool(said)
    for bed in report["beds"]:
        path, said = os.path.join(folder, bed["file"]), []
        judge_package(path, bed, said)
        for tool in tools:
            judge_reading(tool, path, bed, parts, said)
        wrong += bool(said)
        print(f"{bed['file']}: {'agrees' if not said else '; '.join(said[:8])}")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
