"""What a set's folder holds when a run is killed, cut off or starved: the old set or the new one, never a mixture.

  faults.py PROGRAM ROOT kills COUNT | memory | file_size | full_disk | read_only | pipes | together

The sets are compared with what undisturbed runs wrote, file by file. Exit status 77: cannot be tried on this machine.
"""
import hashlib
import os
import pathlib
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

PROGRAM, ROOT = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2])
KIT = ROOT / "params/kits/north-bench.json"
VARIANTS = {"old": [], "new": ["--set", "/frame/dome/radius_mm=2450"]}
SKIPPED = 77
STATUSES = (0, 1, 2, 3)


def command(which, folder, *more):
    return [PROGRAM, "make", str(KIT), *VARIANTS[which], "--rebuild", "--out", str(folder), *more]


def run(which, folder, *more, **options):
    return subprocess.run(command(which, folder, *more), capture_output=True, text=True, timeout=120, **options)


def state(folder):
    """Digest of every file by its path, or None for a folder that is not there."""
    if not folder.exists():
        return None
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in sorted(folder.rglob("*")) if p.is_file()}


def undisturbed(work):
    sets = {}
    for which in VARIANTS:
        done = run(which, work / which)
        assert done.returncode == 0, done.stderr
        sets[which] = state(work / which)
    assert sets["old"] != sets["new"]
    return sets


def litter(work, folder):
    return sorted(p.name for p in work.iterdir() if p.name.startswith("." + folder.name))


def named(sets, found):
    return next((which for which, files in sets.items() if files == found), "a mixture")


def kills(work, count):
    sets = undisturbed(work)
    folder = work / "set"
    began = time.monotonic()
    assert run("old", folder).returncode == 0
    whole = time.monotonic() - began
    dice, ended = random.Random(20261126), {"old": 0, "new": 0, "finished": 0}
    for i in range(count):
        # The set that is not there now, so that every exchange shows.
        other = "new" if named(sets, state(folder)) == "old" else "old"
        before = named(sets, state(folder))
        process = subprocess.Popen(command(other, folder), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        moment = dice.random() * 1.1
        time.sleep(moment * whole)
        how = dice.choice([signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
        process.send_signal(how)
        process.wait(60)
        found = named(sets, state(folder))
        assert found in sets, f"kill {i} by {how.name}: {found}"
        if process.returncode == 0:
            assert found == other, f"run {i} ended well and left the {found} set"
            ended["finished"] += 1
        elif moment > 1:
            whole *= 1.2  # the machine has more to do than when a run was timed
        ended["old" if found == before else "new"] += 1
    assert run("old", folder).returncode == 0
    assert named(sets, state(folder)) == "old"
    assert not litter(work, folder), litter(work, folder)
    print(f"{count} runs cut off: {ended['old']} left the set that was there, {ended['new']} the new one, "
          f"{ended['finished']} had ended")
    # Some of either kind, else the moments say nothing.
    assert ended["old"] > count / 20 and ended["new"] > count / 50, ended


def limited(kind, value):
    import resource
    limit = {"memory": resource.RLIMIT_AS, "file": resource.RLIMIT_FSIZE}[kind]
    return lambda: resource.setrlimit(limit, (value, value))


def memory(work):
    # A sanitizer's shadow of memory is greater than any limit that a program without one would notice.
    if b"__asan_init" in pathlib.Path(PROGRAM).read_bytes():
        print("a program built with the address sanitizer cannot be kept to a size")
        sys.exit(SKIPPED)
    sets = undisturbed(work)
    folder = work / "set"
    assert run("old", folder).returncode == 0
    told = 0
    for megabytes in (24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 256, 384):
        done = run("new", folder, preexec_fn=limited("memory", megabytes << 20))
        found = named(sets, state(folder))
        # Below some size the loader itself cannot start the program: status 127.
        if done.returncode == 127 and "error while loading shared libraries" in done.stderr:
            assert found == "old"
            continue
        # The library of long numbers ends the program itself where it gets none, with its own words.
        ended_by_it = done.returncode == -signal.SIGABRT and re.search("GNU MP: Cannot allocate|bad_alloc", done.stderr)
        assert done.returncode in (0, 3) or ended_by_it, f"{megabytes} MB: status {done.returncode}, {done.stderr[-300:]}"
        if done.returncode != 0:
            told += 1
            assert ended_by_it or "memory" in done.stderr, f"{megabytes} MB: {done.stderr}"
            assert found == "old", found
        else:
            assert found == "new", found
            assert run("old", folder).returncode == 0
    assert told > 0, "no size was too small: nothing was tried"
    print(f"{told} sizes of memory were too small, and said so")


def file_size(work):
    sets = undisturbed(work)
    folder = work / "set"
    assert run("old", folder).returncode == 0
    for kilobytes in (1, 10, 100, 400):
        done = run("new", folder, preexec_fn=limited("file", kilobytes << 10))
        assert done.returncode == 3, f"{kilobytes} kB: status {done.returncode}"
        assert re.search(r"cannot write: File too large", done.stderr), done.stderr
        assert named(sets, state(folder)) == "old"
        assert not litter(work, folder), litter(work, folder)


def own_mounts(*arguments):
    """This script again, where it may mount; None where no such place can be had."""
    wrap = ["unshare", "--mount"] if os.geteuid() == 0 else ["unshare", "--user", "--map-root-user", "--mount"]
    if not shutil.which("unshare") or subprocess.run([*wrap, "true"], capture_output=True).returncode != 0:
        print("skipped: no mounts of one's own here")
        sys.exit(SKIPPED)
    done = subprocess.run([*wrap, sys.executable, __file__, PROGRAM, str(ROOT), *arguments])
    sys.exit(done.returncode)


def mount(place, *options):
    place.mkdir(exist_ok=True)
    done = subprocess.run(["mount", *options, str(place)], capture_output=True, text=True)
    if done.returncode != 0:
        print("skipped: cannot mount:", done.stderr.strip())
        sys.exit(SKIPPED)


def full_disk(work):
    sets = undisturbed(work)
    size = sum(p.stat().st_size for p in (work / "old").rglob("*") if p.is_file())
    # Room for the set that is there, and for ever more of the new one, but never for all of it.
    for more in (0.05, 0.3, 0.6, 0.9):
        disk = work / f"disk-{more}"
        mount(disk, "-t", "tmpfs", "-o", f"size={int(size * (1.06 + more)) + (64 << 10)}", "tmpfs")
        shutil.copytree(work / "old", disk / "set")
        done = run("new", disk / "set")
        assert done.returncode == 3, f"status {done.returncode}: {done.stderr}"
        assert "No space left on device" in done.stderr, done.stderr
        assert named(sets, state(disk / "set")) == "old"
        assert not litter(disk, disk / "set"), litter(disk, disk / "set")


def read_only(work):
    sets = undisturbed(work)
    disk = work / "disk"
    mount(disk, "-t", "tmpfs", "tmpfs")
    shutil.copytree(work / "old", disk / "set")
    mount(disk, "-o", "remount,ro")
    for folder in (disk / "set", disk / "other"):
        done = run("new", folder)
        assert done.returncode == 3, f"status {done.returncode}: {done.stderr}"
        assert "Read-only file system" in done.stderr, done.stderr
    assert named(sets, state(disk / "set")) == "old"


def pipes(work):
    sets = undisturbed(work)
    folder = work / "set"
    for reader in ("head -c 10", "head -c 0", "true"):
        line = " ".join(f"'{word}'" for word in command("new", folder, "--json"))
        done = subprocess.run(["bash", "-c", f"set -o pipefail; {line} | {reader}"], capture_output=True, timeout=120)
        assert done.returncode in (0, 141), done.stderr
        assert named(sets, state(folder)) == "new"
    done = subprocess.run(command("old", folder), stdout=open("/dev/full", "wb"), stderr=subprocess.PIPE, text=True)
    assert done.returncode == 3 and "cannot write the results" in done.stderr, done.stderr
    assert named(sets, state(folder)) == "old"


def together(work):
    sets = undisturbed(work)
    folder = work / "set"
    last = {"old": 0, "new": 0}
    for _ in range(15):
        runs = [subprocess.Popen(command(which, folder), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
                for which in ("old", "new", "old", "new")]
        failed = 0
        for process in runs:
            _, told = process.communicate(timeout=120)
            # One that finds the other's set where it wrote its own says so; it never passes it off as its own.
            assert process.returncode == 0 or (process.returncode == 3 and "read back" in told), told
            failed += process.returncode != 0
        assert failed < len(runs), "all failed"
        last[named(sets, state(folder))] += 1
        assert not litter(work, folder), litter(work, folder)
    print(f"15 times four runs at once: {last}")


def main():
    what = sys.argv[3]
    inside = {"full_disk": full_disk, "read_only": read_only}
    if what in inside and sys.argv[4:] != ["inside"]:
        own_mounts(what, "inside")
    with tempfile.TemporaryDirectory() as place:
        work = pathlib.Path(place)
        try:
            if what == "kills":
                kills(work, int(sys.argv[4]))
            else:
                {"memory": memory, "file_size": file_size, "pipes": pipes, "together": together, **inside}[what](work)
        finally:
            if what in inside:
                for disk in work.glob("disk*"):
                    subprocess.run(["umount", str(disk)], capture_output=True)


main()
