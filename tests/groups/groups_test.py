#!/usr/bin/env python3
"""scripts/groups.py parts sources whose helpers could be taken for each other, and joins the others."""

import os
import subprocess
import sys
import tempfile

GROUPS = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "scripts", "groups.py")


def source(includes, helper, body=""):
    return "".join(f'#include "{i}"\n' for i in includes) + (
        f"namespace bedwright {{\nnamespace {{\n{helper}\n}}  // namespace\n{body}\n}}  // namespace bedwright\n")


def units_of(first, second):
    """The units that hold the two sources."""
    with tempfile.TemporaryDirectory() as folder:
        files = {"room/a.h": "namespace bedwright {\nint known(int v);\n}  // namespace bedwright\n",
                 "room/first.cpp": first, "room/second.cpp": second}
        os.makedirs(os.path.join(folder, "room"))
        for name, text in files.items():
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                file.write(text)
        paths = [os.path.join(folder, "room", n) for n in ("first.cpp", "second.cpp")]
        # One usual unit and those for what goes with nothing else.
        subprocess.run([sys.executable, GROUPS, folder, os.path.join(folder, "out"), "9", *paths], check=True)
        found = {}
        for unit in sorted(os.listdir(os.path.join(folder, "out"))):
            with open(os.path.join(folder, "out", unit), encoding="utf-8") as file:
                text = file.read()
            for path in paths:
                if f'#include "{path}"' in text:
                    found.setdefault(path, []).append(unit)
        assert all(len(found.get(path, [])) == 1 for path in paths), found
        return [found[path][0] for path in paths]


def main():
    plain = source([], "int one(int v) { return v; }")
    cases = [
        ("no name in common", True, source([], "int two(int v) { return v; }")),
        ("a function of one name", False, source([], "double one(double v) { return v; }")),
        ("a constant of one name", False, source([], "constexpr int one = 1;")),
        ("a structure of one name that derives", False, source([], "struct one : Base {\n  int v;\n};")),
        ("a type of one name", False, source([], "using one = int;")),
    ]
    for what, together, other in cases:
        first, second = units_of(plain, other)
        assert (first == second) == together, what
    # A helper called as what a header declares, beside a source that uses that one.
    user = source(["room/a.h"], "int three(int v) { return known(v); }")
    first, second = units_of(source([], "int known(int v) { return v; }"), user)
    assert first != second, "a header's name"
    print(f"{len(cases) + 1} pairs of sources are parted or joined as they should be")


if __name__ == "__main__":
    main()
