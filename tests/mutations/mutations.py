#!/usr/bin/env python3
"""Breaks the library in the ways that mutations.json lists, one at a time, and looks whether a test fails for each.

    mutations.py --check                        every place to be broken is still there, once
    mutations.py BUILD [--share K/N] [--only WORDS]

BUILD is a build folder with the tests built. Neither the sources nor BUILD is changed: the broken source, or the unit that
holds it, is compiled by itself and linked before the library, whose own object of it then stays out. Exit status 1 if some break went unnoticed
("survived") or could not be made.
"""

import json
import os
import shlex
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
LONGEST_S = 600  # a break may make a loop endless: noticed


def load():
    with open(os.path.join(HERE, "mutations.json"), encoding="utf-8") as file:
        return json.load(file)


def broken_text(mutation):
    with open(os.path.join(ROOT, mutation["file"]), encoding="utf-8") as file:
        text = file.read()
    count = text.count(mutation["find"])
    if count != 1:
        raise SystemExit(f"{mutation['file']} has {count} places for: {mutation['what']}")
    return text.replace(mutation["find"], mutation["replace"])


def compile_commands(build):
    """Source to command, of the library's objects."""
    listed = json.loads(subprocess.run(["ninja", "-C", build, "-t", "compdb"], capture_output=True, text=True, check=True).stdout)
    return {os.path.realpath(os.path.join(e["directory"], e["file"])): e["command"] for e in listed
            if "bedwright_core.dir" in e.get("output", "")}


def unit_of(source, commands):
    """What is compiled: the source, or the unit that holds it with others (BEDWRIGHT_GROUPED)."""
    if source in commands:
        return source
    for unit in sorted(commands):
        if os.path.basename(unit).startswith("group-"):
            with open(unit, encoding="utf-8") as file:
                if f'#include "{source}"' in file.read():
                    return unit
    raise SystemExit(f"nothing compiles {source}")


def link_command(build):
    listed = subprocess.run(["ninja", "-C", build, "-t", "commands", "bedwright_tests"], capture_output=True, text=True,
                            check=True).stdout.splitlines()
    for part in listed[-1].split(" && "):
        if " -o tests/bedwright_tests " in part:
            return shlex.split(part)
    raise SystemExit("no command links bedwright_tests")


def noticed(mutation, build, commands, link, folder):
    """A word on how, or None. Throws CalledProcessError where the break does not compile."""
    source = os.path.realpath(os.path.join(ROOT, mutation["file"]))
    copy, broken, program = (os.path.join(folder, name) for name in ("broken.cpp", "broken.o", "tests"))
    with open(copy, "w", encoding="utf-8") as file:
        file.write(broken_text(mutation))
    unit = unit_of(source, commands)
    if unit != source:  # the unit is compiled again with all its other sources
        with open(unit, encoding="utf-8") as file:
            text = file.read().replace(f'#include "{source}"', f'#include "{copy}"')
        copy = os.path.join(folder, "broken_unit.cpp")
        with open(copy, "w", encoding="utf-8") as file:
            file.write(text)
    command = shlex.split(commands[unit])
    command[command.index("-o") + 1] = broken
    command[command.index("-c") + 1] = copy
    for flag in ("-MF", "-MT"):
        if flag in command:
            command[command.index(flag) + 1] = os.path.join(folder, "broken.d")
    subprocess.run(command, cwd=build, check=True, capture_output=True, text=True)
    linked = list(link)
    linked[linked.index("-o") + 1] = program
    library = next(i for i, word in enumerate(linked) if word.endswith("libbedwright_core.a"))
    linked.insert(library, broken)
    subprocess.run(linked, cwd=build, check=True, capture_output=True, text=True)
    try:
        run = subprocess.run([program, mutation["tests"], "--abort", "--order", "lex"], cwd=folder, capture_output=True, text=True,
                             errors="replace", timeout=LONGEST_S)
    except subprocess.TimeoutExpired:
        return "a test never ended"
    if run.returncode == 0:
        return None
    lines = [line for line in run.stdout.splitlines() if line.strip() and set(line.strip()) - set("-.~=")]
    named = [line for line in lines if ": " in line and not line.startswith((" ", "/", "\t"))]
    return named[1] if len(named) > 1 else lines[0] if lines else f"exit status {run.returncode}"


def main():
    arguments = sys.argv[1:]
    mutations = load()
    for mutation in mutations:
        broken_text(mutation)
    if arguments == ["--check"]:
        print(f"{len(mutations)} places to be broken are there")
        return 0
    build = os.path.abspath(arguments[0])
    if "--share" in arguments:
        k, n = map(int, arguments[arguments.index("--share") + 1].split("/"))
        mutations = mutations[k - 1::n]
    if "--only" in arguments:
        mutations = [m for m in mutations if arguments[arguments.index("--only") + 1] in m["what"]]
    commands, link = compile_commands(build), link_command(build)
    survived = 0
    for mutation in mutations:
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            try:
                how = noticed(mutation, build, commands, link, folder)
            except subprocess.CalledProcessError as problem:
                how, survived = None, survived + 1
                print(f"CANNOT BE MADE  {mutation['what']} ({mutation['file']})\n{problem.stderr[-2000:]}", flush=True)
                continue
        took = time.monotonic() - began
        if how is None:
            survived += 1
            print(f"SURVIVED  {mutation['what']} ({mutation['file']}, {took:.0f} s)", flush=True)
        else:
            print(f"noticed   {mutation['what']} ({mutation['file']}, {took:.0f} s): {how}", flush=True)
    print(f"{len(mutations) - survived} of {len(mutations)} breaks are noticed")
    return 1 if survived else 0


sys.exit(main())
