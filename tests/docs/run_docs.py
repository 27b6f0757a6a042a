#!/usr/bin/env python3
"""Runs every command line that the documentation shows, and compares what it prints.

    run_docs.py PROGRAM ROOT [--update] [PAGE ...]

A shown command is an indented line "$ bedwright ...". The indented lines below it, up to the block's end or the next
"$", are what it must print on standard output; a line "..." stands for any number of lines. "$ echo $?" shows the last
exit status; other shown commands (cp, cat, printf) are run by the shell as they stand. The commands of one page run one
after another in a fresh folder that holds a copy of params/. --update writes what was printed into the page (blocks with
"..." are left alone).
"""
import os
import shutil
import subprocess
import sys
import tempfile

INDENT = "    "
RUNNABLE = ("bedwright ", "cp ", "cat ", "printf ", "echo ", "mkdir ", "sed ")


def matches(wanted, found):
    """Whether lines agree, "..." standing for any number of them."""
    if not wanted:
        return not found
    if wanted[0].strip() == "...":
        return any(matches(wanted[1:], found[i:]) for i in range(len(found) + 1))
    return bool(found) and wanted[0].rstrip() == found[0].rstrip() and matches(wanted[1:], found[1:])


def blocks_of(lines):
    """(index of the command's line, command, first and last-but-one index of its output)."""
    i = 0
    while i < len(lines):
        if not lines[i].startswith(INDENT + "$ "):
            i += 1
            continue
        command, start = lines[i][len(INDENT) + 2:].rstrip("\n"), i + 1
        end = start
        while end < len(lines) and not lines[end].startswith(INDENT + "$ "):
            if lines[end].strip() and not lines[end].startswith(INDENT):
                break
            end += 1
        while end > start and not lines[end - 1].strip():
            end -= 1
        yield i, command, start, end
        i = end


def run_page(path, program, root, update):
    with open(path, encoding="utf-8") as file:
        lines = file.readlines()
    bad, shown, out, last = 0, 0, [], 0
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(os.path.join(root, "params"), os.path.join(folder, "params"))
        env = dict(os.environ, PATH=os.path.dirname(program) + os.pathsep + os.environ["PATH"], LC_ALL="C")
        status = 0
        for at, command, start, end in blocks_of(lines):
            if not command.startswith(RUNNABLE):
                raise SystemExit(f"{path}:{at + 1}: not a command that this test may run: {command}")
            done = subprocess.run(["bash", "-c", command.replace("$?", str(status))], cwd=folder, env=env,
                                  stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=120)
            status = done.returncode
            shown += 1
            found = done.stdout.decode().splitlines()
            if done.stderr and not found and status != 0:
                found = done.stderr.decode().splitlines()
            wanted = [line[len(INDENT):].rstrip("\n") if line.strip() else "" for line in lines[start:end]]
            if matches(wanted, found):
                continue
            if update and "..." not in [w.strip() for w in wanted]:
                out.append((start, end, [(INDENT + line).rstrip() + "\n" for line in found]))
                continue
            bad += 1
            print(f"{path}:{at + 1}: $ {command}\n  printed (exit {status}):")
            print("\n".join("    " + line for line in found))
            if done.stderr:
                print("  on standard error:\n    " + done.stderr.decode().strip().replace("\n", "\n    "))
    for start, end, text in reversed(out):
        lines[start:end] = text
    if out:
        with open(path, "w", encoding="utf-8") as file:
            file.writelines(lines)
        print(f"{path}: {len(out)} blocks rewritten")
    print(f"{path}: {shown} commands, {bad} differ")
    return bad, shown


def main():
    arguments = [a for a in sys.argv[1:] if a != "--update"]
    program, root = os.path.abspath(arguments[0]), os.path.abspath(arguments[1])
    pages = arguments[2:] or sorted(
        os.path.join(folder, name)
        for folder in (os.path.join(root, "docs"), os.path.join(root, "docs", "commands"))
        for name in os.listdir(folder) if name.endswith(".md"))
    results = [run_page(page, program, root, "--update" in sys.argv) for page in pages]
    if sum(shown for _, shown in results) == 0:
        raise SystemExit("no command line found: the pages or this test have changed")
    return 1 if any(bad for bad, _ in results) else 0


if __name__ == "__main__":
    sys.exit(main())
