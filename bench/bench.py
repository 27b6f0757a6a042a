#!/usr/bin/env python3
"""Times this program against outside ones in one run, prints the table and writes docs/performance.md.

    bench.py BUILD_FOLDER ROOT [--full] [--no-page]

--full takes the long rows at full size (1,000 variants, and 10,000 for the memory). Ratios are what counts: both sides
of a row run on the same machine within the same minutes. Times are medians; whole processes count from start to exit.
"""
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time

BUILD, ROOT = sys.argv[1:3]
FULL, PAGE = "--full" in sys.argv, "--no-page" not in sys.argv
SHM = "/dev/shm"


def tool(name):
    return os.path.join(BUILD, "bench", name)


def median_wall(command, times, **more):
    taken = []
    for _ in range(times):
        began = time.monotonic()
        done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **more)
        if done.returncode not in (0, 1):
            raise SystemExit(f"{command}: exit {done.returncode}")
        taken.append(1000 * (time.monotonic() - began))
    return statistics.median(taken)


def google(large):
    out = subprocess.run([tool("bedwright_bench"), "--benchmark_format=json", "--benchmark_repetitions=5",
                          "--benchmark_report_aggregates_only=true"], env=dict(os.environ, BENCH_LARGE_STL=large),
                         capture_output=True, text=True, check=True).stdout
    return {b["run_name"].split("/iterations")[0]: b for b in json.loads(out)["benchmarks"] if b["aggregate_name"] == "median"}


def manifold(what, name, folder):
    polygons = os.path.join(folder, name + ".json")
    with open(polygons, "w", encoding="utf-8") as file:
        subprocess.run([tool("bedwright_subject"), "polygons", name], stdout=file, check=True)
    more = []
    if what == "cut":
        more = [os.path.join(folder, name + ".stl")]
        subprocess.run([tool("bedwright_subject"), "direct", name, *more], check=True)
    done = subprocess.run(["node", os.path.join(ROOT, "bench", "manifold.mjs"), what, polygons, *more, "21"],
                          capture_output=True, text=True, check=True)
    told = json.loads(done.stdout)
    # Facets of the seat differ by the chord error at most, so the volumes do by some parts in a thousand.
    if abs(told["volume_mm3"] / told["wanted_mm3"] - 1) > 2e-3:
        raise SystemExit(f"manifold built another part: {told}")
    return told["ms"]


def peak_kb(command):
    """Peak memory of a process, by a parent that had no other child."""
    script = ("import resource,subprocess,sys;subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,stderr=subprocess.DEVNULL);"
              "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
    return int(subprocess.run([sys.executable, "-c", script, *command], capture_output=True, text=True, check=True).stdout)


def variants(path, count):
    with open(path, "w", encoding="utf-8") as file:
        file.write("/revision,/frame/dome/radius_mm\n")
        for i in range(count):
            file.write(f"{i + 1},{2000 + i * 0.25}\n")


def batch(program, folder, count, jobs):
    table = os.path.join(folder, f"frames-{count}.csv")
    variants(table, count)
    out = os.path.join(folder, f"sets-{count}-{jobs}")
    return [program, "batch", table, "--kit", os.path.join(ROOT, "params/kits/north-bench.json"), "--out", out, "--jobs",
            str(jobs)]


def rows(folder):
    program = os.path.join(BUILD, "bedwright")
    large = os.path.join(folder, "large.stl")
    subprocess.run([tool("bedwright_subject"), "large", large], check=True)
    g = google(large)
    ms = lambda name: g[name]["real_time"]
    plate, overlapping, crossing = ms("solid/plate"), ms("solid/overlapping"), ms("solid/crossing")
    yield "one adapter plate, solid only", plate, "manifold-3d (WebAssembly), one lazy tree", manifold("tree", "plate", folder), 30, "faster"
    yield ("one plate, topology check and STL encoding included", ms("solid_to_stl"),
           "one bare write of its bytes to a memory file system", ms("bare_write"), 30, "at most")
    yield "plate whose features overlap", overlapping, "manifold-3d", manifold("tree", "overlapping", folder), 9, "faster"
    yield ("part with features on several axes", crossing, "manifold-3d's boolean on the same direct body",
           manifold("cut", "crossing", folder), 1, "faster")
    yield "make of the demo kit on two cores, files written and measured (no page, no drawings)", ms("make_demo"), "the sum of its solids", ms("solids_of_demo"), 12, "at most"
    admesh = median_wall(["admesh", large], 5)
    yield "gauge of a million triangles, features measured", ms("gauge_large"), "admesh on the same file", admesh, 2, "faster"
    assimp = [float(t) for t in subprocess.run([tool("bedwright_assimp_read"), large, "5"], capture_output=True, text=True,
                                               check=True).stdout.split()]
    yield "STL of a million triangles read", ms("read_large"), "assimp's import of it", statistics.median(assimp), 5, "faster"
    scan = os.path.join(folder, "scan.ply")
    subprocess.run([tool("bedwright_subject"), "scan", scan, "5000000"], check=True)
    survey = median_wall([program, "survey", "--scan", scan, "--region=-124,-110,124,110"], 3)
    yield "survey of a scan of 5 million points", survey, "reading the file's bytes", median_wall(["cat", scan], 5), 10, "at most"
    os.remove(scan)
    count, on_disk = 1000 if FULL else 100, tempfile.TemporaryDirectory()  # thousands of sets fill a memory file system
    two = median_wall(batch(program, on_disk.name, count, 2), 1)
    one = median_wall(batch(program, on_disk.name, count, 1), 1)
    yield f"batch of {count} variants, two threads", two, "the same on one thread", one, 1.7, "faster"
    for name, goal in (("plate", 1.05), ("plate_r800", 1.12)):
        b = g["solid/" + name]
        yield (f"vertices of a plate, R = {'3000' if name == 'plate' else '800'} mm", b["vertices"], "what its outlines force",
               b["forced_vertices"], goal, "at most, count")
    few, many = 10, 10000 if FULL else 100
    yield (f"memory of a batch of {many} variants", peak_kb(batch(program, on_disk.name, many, 2)) / 1024, "of a batch of 10",
           peak_kb(batch(program, on_disk.name, few, 2)) / 1024, 1.25, "at most, MB")
    on_disk.cleanup()


def number(value, unit):
    if unit == "count":
        return f"{value:.0f}"
    return f"{value:.1f} {unit}" if value >= 10 else f"{value:.3g} {unit}"


def main():
    lines = ["| what | measured | against | measured | ratio | goal | |", "|---|---|---|---|---|---|---|"]
    met = 0
    with tempfile.TemporaryDirectory(dir=SHM) as folder:
        for what, ours, against, theirs, goal, how in rows(folder):
            kind, _, unit = how.partition(", ")
            unit = unit or "ms"
            ratio = theirs / ours if kind == "faster" else ours / theirs
            ok = ratio >= goal if kind == "faster" else ratio <= goal
            met += ok
            wanted = f"{goal:g}x faster" if kind == "faster" else f"at most {goal:g}x"
            lines.append(f"| {what} | {number(ours, unit)} | {against} | {number(theirs, unit)} | {ratio:.2f} | {wanted} | "
                         f"{'met' if ok else 'not met'} |")
            print(lines[-1], flush=True)
    print(f"{met} of {len(lines) - 2} goals are met")
    if not PAGE:
        return
    path = os.path.join(ROOT, "docs", "performance.md")
    with open(path, encoding="utf-8") as file:
        page = file.read()
    begin, end = "<!-- table -->\n", "<!-- end of table -->\n"
    head, rest = page.split(begin)
    with open(path, "w", encoding="utf-8") as file:
        file.write(head + begin + "\n".join(lines) + "\n" + end + rest.split(end)[1])


main()
