#!/usr/bin/env python3
"""judge_bundle.py PROGRAM KIT [--lie]: what publish writes, by unzip, Python's zipfile, hashlib and csv.

With --lie a byte of the unpacked bundle is changed first: the judge must object."""

import csv
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile

PAGES = ("README.md", "CAUTIONS.md", "TESTED.md", "PRINTING.md", "ASSEMBLY.md", "RUN-IN.md", "CHANGES.md",
         "pictures/README.md")


def main():
    program, kit = sys.argv[1:3]
    lie = sys.argv[3:] == ["--lie"]
    with tempfile.TemporaryDirectory() as folder:
        archive = os.path.join(folder, "b.zip")
        subprocess.run([program, "publish", os.path.abspath(kit), "--out", archive], check=True, capture_output=True)
        subprocess.run(["unzip", "-tqq", archive], check=True)
        with zipfile.ZipFile(archive) as bundle:
            assert bundle.testzip() is None, "a checksum of the archive is wrong"
            names = bundle.namelist()
            assert len(set(names)) == len(names) and names == sorted(names), "names twice, or in no order"
            tops = {name.split("/")[0] for name in names}
            assert len(tops) == 1, "more than one folder"
            bundle.extractall(folder)
        top = os.path.join(folder, tops.pop())
        if lie:
            with open(os.path.join(top, "set", "hardware.csv"), "a", encoding="utf-8") as file:
                file.write("x")
        listed = {}
        for line in open(os.path.join(top, "SHA256SUMS"), encoding="utf-8"):
            digest, name = line.rstrip("\n").split("  ", 1)
            listed[name] = digest
        found = {os.path.relpath(os.path.join(place, file), top)
                 for place, _, files in os.walk(top) for file in files} - {"SHA256SUMS"}
        assert found == set(listed), f"listed and found differ: {found ^ set(listed)}"
        for name, digest in listed.items():
            with open(os.path.join(top, name), "rb") as file:
                assert hashlib.sha256(file.read()).hexdigest() == digest, f"{name} is not what SHA256SUMS says"
        for page in PAGES:
            with open(os.path.join(top, page), encoding="utf-8") as file:
                lines = file.read().splitlines()
            assert lines[0].startswith("# "), f"{page} has no heading"
            # Every row of a table has as many cells as its head: no text of the kit breaks one.
            width = 0
            for line in lines:
                bars = line.replace("\\|", "").count("|") if line.startswith("|") else 0
                assert not (width and bars and bars != width), f"{page}: {line}"
                width = bars
        report = json.load(open(os.path.join(top, "set", "report.json"), encoding="utf-8"))
        for name in ("print-settings.csv", os.path.join("set", "hardware.csv")):
            with open(os.path.join(top, name), newline="", encoding="utf-8") as file:
                rows = list(csv.reader(file, strict=True))
            assert len({len(row) for row in rows}) == 1, f"{name}: rows of different length"
        settings = csv.DictReader(io.StringIO(open(os.path.join(top, "print-settings.csv"), encoding="utf-8").read()))
        assert [r["part"] for r in settings] == [p["id"] for p in report["parts"]], "print settings are not the parts'"
        tested = open(os.path.join(top, "TESTED.md"), encoding="utf-8").read()
        done = {t["what"] for t in json.load(open(kit, encoding="utf-8"))["publish"].get("tested", [])
                if t.get("revision", report["revision"]) == report["revision"]}
        assert tested.count("**UNTESTED**") == 11 - len(done), "UNTESTED does not stand on all that was not tested"
        # From the bundle alone, far from the kit.
        again = os.path.join(folder, "again")
        subprocess.run([program, "make", archive, "--out", again], check=True, capture_output=True)
        for place, _, files in os.walk(again):
            for file in files:
                path = os.path.join(place, file)
                other = os.path.join(top, "set", os.path.relpath(path, again))
                assert open(path, "rb").read() == open(other, "rb").read(), f"{file} comes out differently"
        shutil.rmtree(again)
        print(f"{len(names)} files agree")


main()
