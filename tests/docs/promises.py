#!/usr/bin/env python3
"""Every test that the security page names exists: promises.py PAGE UNIT_TESTS."""
import re
import subprocess
import sys

with open(sys.argv[1], encoding="utf-8") as file:
    rows = [line for line in file if line.startswith("|") or "`fuzz." in line]
named = {name for line in rows for name in re.findall(r"`([^`]+)`", line) if " " in name}
known = set(subprocess.run([sys.argv[2], "--list-test-names-only"], capture_output=True, text=True).stdout.splitlines())
missing = sorted(named - known)
print("\n".join(f"no test is called: {name}" for name in missing) or f"{len(named)} tests are there")
sys.exit(1 if missing or len(named) < 10 else 0)
