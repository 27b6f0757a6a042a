#!/usr/bin/env python3
"""Does what the program does on several threads, built with -fsanitize=thread, and looks whether two of them meet.

    races.py PROGRAM [CXX]

First a race made on purpose (CXX compiles it against src/cli/parallel.h) has to be told; else this shows nothing.
Exit status 1 if anything raced or a run did not end as it should.
"""
import os
import pty
import shutil
import subprocess
import sys
import tempfile
import zlib

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
KITS = os.path.join(ROOT, "params", "kits")
RACED = 66
MADE_RACE = """#include "cli/parallel.h"
int main() {
  int sum = 0;
  bedwright::for_each_index(100000, 2, [&](std::size_t) { ++sum; });
  return sum < 0;
}
"""


def environment():
    return dict(os.environ, TSAN_OPTIONS=f"halt_on_error=1:exitcode={RACED}:second_deadlock_stack=1")


def quiet_addresses():
    """The sanitizer's shadow has no room where the kernel scatters addresses widely."""
    return ["setarch", "-R"] if shutil.which("setarch") else []


def run(command, folder):
    return subprocess.run(quiet_addresses() + command, cwd=folder, env=environment(), capture_output=True, text=True,
                          errors="replace", timeout=1800)


def run_on_a_terminal(command, folder):
    """As run, with errors to a terminal, where the line of progress is written."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(quiet_addresses() + command, cwd=folder, env=environment(), stdout=subprocess.DEVNULL,
                               stderr=theirs)
    os.close(theirs)
    told = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:
            break
        if not more:
            break
        told += more
    os.close(ours)
    return subprocess.CompletedProcess(command, process.wait(), "", told.decode(errors="replace"))


def made_race_is_told(compiler, folder):
    with open(os.path.join(folder, "race.cpp"), "w", encoding="utf-8") as file:
        file.write(MADE_RACE)
    subprocess.run([compiler, "-std=c++17", "-O1", "-g1", "-fsanitize=thread", "-I", os.path.join(ROOT, "src"), "race.cpp", "-o",
                    "race", "-pthread"], cwd=folder, check=True)
    done = run([os.path.join(folder, "race")], folder)
    return done.returncode == RACED and "data race" in done.stderr


def visitor_text(kit, revision, radius):
    text = f"bedwright visit 1\nkit {kit} revision {revision} inputs 000000000000\n/frame/dome/radius_mm = {radius}\n"
    return text + f"check {zlib.crc32(text.encode()):08x}\n"


def main():
    program = os.path.abspath(sys.argv[1])
    compiler = sys.argv[2] if len(sys.argv) > 2 else "c++"
    with tempfile.TemporaryDirectory() as folder:
        if not made_race_is_told(compiler, folder):
            print("a race made on purpose was not told: the sanitizer does not work here")
            return 1
        with open(os.path.join(folder, "rows.csv"), "w", encoding="utf-8") as file:
            file.write("/revision,/frame/dome/radius_mm\nA,2600\nB,2450\nC,-5\nD,2300\n")
        os.mkdir(os.path.join(folder, "texts"))
        for radius in (2450, 2600, 700, 3000):
            with open(os.path.join(folder, "texts", f"{radius}.txt"), "w", encoding="utf-8") as file:
                file.write(visitor_text("shared-bench", "B", radius))
        # Enough points for several pieces of work: a dome of 2500 mm, stepped by 1.5 mm.
        with open(os.path.join(folder, "scan.obj"), "w", encoding="utf-8") as file:
            for i in range(-100, 101):
                for k in range(-100, 101):
                    x, y = 1.5 * i, 1.5 * k
                    file.write(f"v {x} {y} {-(x * x + y * y) / 5000 + 0.01 * ((i * 7 + k * 13) % 5)}\n")
        kit = lambda name: os.path.join(KITS, name + ".json")
        runs = [
            ("make", 0, ["make", kit("every-option"), "--out", "made", "--jobs", "2"]),
            ("make again, most of it reused", 0, ["make", kit("every-option"), "--out", "made", "--jobs", "2", "--set",
                                                  "/parts/0/thickness_mm=8"]),
            ("make, with findings", 1, ["make", kit("north-bench"), "--out", "bad", "--jobs", "2", "--set",
                                        "/parts/2/thickness_mm=0.15"]),
            ("check", 0, ["check", kit("west-bench"), "--jobs", "2"]),
            ("publish", 0, ["publish", kit("shared-bench"), "--out", "shared.zip", "--jobs", "2"]),
            ("batch of a table", 1, ["batch", "rows.csv", "--kit", kit("north-bench"), "--out", "sets", "--jobs", "2"]),
            ("batch of visitors' texts", 0, ["batch", "texts", "--kit", kit("shared-bench"), "--out", "judged", "--jobs", "2"]),
            ("survey of a scan", 0, ["survey", "--scan", "scan.obj"]),
        ]
        failed = 0
        for what, status, arguments in runs:
            for runner in (run, run_on_a_terminal) if what == "batch of a table" else (run,):
                done = runner([program] + arguments, folder)
                good = done.returncode == status and "ThreadSanitizer" not in done.stderr
                failed += not good
                print(f"{'clean ' if good else 'FAILED'}  {what}", flush=True)
                if not good:
                    print(f"exit status {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-8000:]}", flush=True)
        stl = next((os.path.join(at, name) for at, _, names in os.walk(os.path.join(folder, "made")) for name in sorted(names)
                    if name.endswith(".stl")), None)
        done = run([program, "gauge", stl], folder) if stl else None
        good = done is not None and done.returncode == 0 and "ThreadSanitizer" not in done.stderr
        failed += not good
        print(f"{'clean ' if good else 'FAILED'}  gauge of an STL" + ("" if good or not done else "\n" + done.stderr[-8000:]))
        return 1 if failed else 0


sys.exit(main())
