#!/usr/bin/env python3
"""The same kit gives the same bytes, whoever built the program and wherever it runs.

same_bytes.py surroundings KIT PROGRAM        other working folder, time zone, language, job counts, a second run
same_bytes.py programs KIT PROGRAM OTHER      two builds of the program
same_bytes.py objects                         shows that a difference is noticed
"""

import os
import shutil
import subprocess
import sys
import tempfile


def files_under(folder):
    """Relative path to bytes, of every file."""
    found = {}
    for root, _, names in os.walk(folder):
        for name in names:
            path = os.path.join(root, name)
            with open(path, "rb") as file:
                found[os.path.relpath(path, folder)] = file.read()
    return found


def differences(one, other):
    """One sentence a file that is not alike in both."""
    said = []
    for name in sorted(set(one) | set(other)):
        if name not in one or name not in other:
            said.append(f"{name} is in one set only")
        elif one[name] != other[name]:
            at = next((i for i, (a, b) in enumerate(zip(one[name], other[name])) if a != b),
                      min(len(one[name]), len(other[name])))
            said.append(f"{name} differs from byte {at} on ({len(one[name])} and {len(other[name])} bytes)")
    return said


def make(program, kit, out, options=(), env=None, cwd=None):
    done = subprocess.run([program, "make", kit, "--out", out, *options], stdin=subprocess.DEVNULL, capture_output=True,
                          env={**os.environ, **(env or {})}, cwd=cwd)
    if done.returncode != 0:
        sys.exit(f"{program} make {kit} {' '.join(options)} ended with {done.returncode}:\n"
                 + (done.stdout + done.stderr).decode(errors="replace"))
    made = files_under(out)
    if not any(name.endswith(".stl") for name in made):
        sys.exit(f"{out} holds no STL file: nothing to compare")
    return made


def german_locale(folder):
    """A locale with a decimal comma, compiled on the spot; None where the tools for it are missing."""
    if shutil.which("localedef") is None:
        return None
    done = subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(folder, "de_DE.UTF-8")],
                          stdin=subprocess.DEVNULL, capture_output=True)
    return {"LOCPATH": folder, "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"} if done.returncode == 0 else None


def surroundings(kit, program, folder):
    locale = german_locale(folder)
    if locale is None:
        sys.exit("localedef or the German locale's source is missing: run scripts/setup")
    copied = os.path.join(folder, "elsewhere")
    shutil.copytree(os.path.dirname(kit), copied)
    kit_copy = os.path.join(copied, os.path.basename(kit))
    ways = [
        ("a second run", {}),
        ("another time zone", {"env": {"TZ": "Pacific/Kiritimati"}}),
        ("a language with a decimal comma", {"env": locale}),
        ("another working folder and a kit named relative to it", {"cwd": copied, "kit": os.path.basename(kit)}),
        ("a copy of the kit", {"kit": kit_copy}),
        ("one job", {"options": ["--jobs", "1"]}),
        ("two jobs", {"options": ["--jobs", "2"]}),
    ]
    first = make(program, kit, os.path.join(folder, "first"))
    for number, (words, way) in enumerate(ways):
        out = os.path.join(folder, f"way-{number}")
        yield words, differences(first, make(program, way.pop("kit", kit), out, **way))
    # Making the set again over itself must leave the same files.
    yield "the same folder again", differences(first, make(program, kit, os.path.join(folder, "first")))


def programs(kit, program, other, folder):
    yield "another compiler", differences(make(program, kit, os.path.join(folder, "one")),
                                          make(other, kit, os.path.join(folder, "other")))


def objects():
    same = {"stl/a.stl": b"abc", "report.json": b"{}"}
    cases = [
        ("alike", dict(same), 0),
        ("a byte differs", {**same, "stl/a.stl": b"abd"}, 1),
        ("a file is longer", {**same, "stl/a.stl": b"abcd"}, 1),
        ("a file is missing", {"report.json": b"{}"}, 1),
        ("a file is new", {**same, "new": b""}, 1),
    ]
    for words, other, expected in cases:
        said = differences(same, other)
        yield words, [] if len(said) == expected else [f"{len(said)} differences said, {expected} expected"]


def main():
    with tempfile.TemporaryDirectory() as folder:
        if sys.argv[1] == "objects":
            results = list(objects())
        elif sys.argv[1] == "surroundings":
            results = list(surroundings(sys.argv[2], sys.argv[3], folder))
        else:
            results = list(programs(*sys.argv[2:5], folder))
    for words, said in results:
        print(f"{words}: {'; '.join(said[:5]) or 'as it should be'}")
    sys.exit(1 if not results or any(said for _, said in results) else 0)


if __name__ == "__main__":
    main()
