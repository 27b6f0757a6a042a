#!/usr/bin/env python3
"""sample_packages.py PROGRAM FOLDER: the 3MF consortium's core sample meshes and conformance packages through `gauge`.

FOLDER holds the samples, and FOLDER/conformance the archived packages MUSTPASS_* and MUSTFAIL_*; without it: skipped (77).
"""

import glob
import json
import os
import subprocess
import sys

SKIPPED = 77
# 3mf-samples @ 665e20dc, examples/core: triangles and volume, computed with an independent reader.
SAMPLES = {"box.3mf": (12, 6000.0), "cylinder.3mf": (88, 6198.101851), "sphere.3mf": (2880, 4172.80269),
           "torus.3mf": (2200, 776.830795), "dodeca_chain_loop.3mf": (7680, 32583.87867)}
# What these break is the materials extension, which is passed over here as any that a file can do without.
OF_AN_EXTENSION = ["Extension_Chapter2_MissingColorValue", "Extension_Chapter3_MissingTexId", "Extension_Chapter4",
                   "Extension_Chapter5", "Extension_Chapter6", "Extension_Chapter3_DuplicatedTexture2DGroup"]

# The archive is for core 1.0: 1.4 lets attributes of any namespace stand anywhere, and metadata of any name without a
# namespace must be passed over (the archive's own MUSTPASS 3.4.1c says so too).
OF_AN_OLDER_CORE = ["Chapter2.3.2c_UndefinedNameSpaceInXDS", "Chapter3.4.1a_MissingMetadataName"]


def gauge(program, path):
    done = subprocess.run([program, "gauge", path, "--json"], capture_output=True)
    return done.returncode, json.loads(done.stdout) if done.stdout else {}


def main():
    program, folder = sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else ""
    if not os.path.isdir(folder):
        print("skipped: no sample packages (configure with -DBEDWRIGHT_3MF_SAMPLES=FOLDER)")
        sys.exit(SKIPPED)
    wrong, passed, refused, left_out = [], 0, 0, []
    for name, (triangles, volume) in SAMPLES.items():
        _, document = gauge(program, os.path.join(folder, name))
        if document.get("triangles") != triangles or abs(document.get("volume_mm3", 0) - volume) > 1e-5 * volume:
            wrong.append(f"{name}: {document.get('triangles')} facets, {document.get('volume_mm3')} mm3")
    for path in sorted(glob.glob(os.path.join(folder, "conformance", "*.3mf"))):
        name = os.path.basename(path)
        status, document = gauge(program, path)
        if name.startswith("MUSTPASS"):
            passed += status in (0, 1) and document.get("triangles", 0) > 0
            if status not in (0, 1):
                wrong.append(f"{name}: refused, {document}")
        elif status == 2:
            refused += 1
        elif any(known in name for known in OF_AN_EXTENSION + OF_AN_OLDER_CORE):
            left_out.append(name)
        else:
            wrong.append(f"{name}: read, though it must not be")
    print(f"{passed} packages that must pass are read, {refused} that must not are refused, "
          f"{len(left_out)} break an extension or core 1.0 only")
    print("\n".join(wrong))
    sys.exit(1 if wrong or not passed or not refused else 0)


if __name__ == "__main__":
    main()
