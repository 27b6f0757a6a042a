#!/usr/bin/env python3
"""manual.py PROGRAM VERSION FOLDER: writes the manual page and the shells' completions from what --help says."""

import os
import re
import subprocess
import sys


def help_of(program, *command):
    # Called by its bare name, so that no path of the building machine gets into the pages.
    return subprocess.run(["bedwright", *command, "--help"], executable=program, stdin=subprocess.DEVNULL,
                          capture_output=True, check=True, text=True, encoding="utf-8").stdout.rstrip()


def subcommands(text):
    """Name and first line of each command."""
    found, inside = [], False
    for line in text.splitlines():
        if re.match(r"^(Sub)?commands:", line, re.IGNORECASE):
            inside = True
        elif inside and re.match(r"^\S", line):
            inside = False
        elif inside:
            entry = re.match(r"^ {1,4}([a-z][a-z-]*)(?: {2,}(.*))?$", line)
            if entry:
                found.append((entry.group(1), (entry.group(2) or "").strip()))
    return found


def options(text):
    """Long options, each with whether it takes a value and the start of its explanation."""
    found, pending = [], None
    for line in text.splitlines():
        entry = re.match(r"^ {1,4}(?:-\w, ?)?(--[a-z][a-z-]*)(?:,--[a-z-]+)*(.*)$", line)
        if entry:
            rest = entry.group(2)
            words = re.match(r"^( \S.*?)?(?: {2,}(.*))?$", rest)
            found.append([entry.group(1), bool(words and words.group(1)), ((words and words.group(2)) or "").strip()])
            pending = found[-1]
        elif pending and not pending[2] and re.match(r"^ {8,}\S", line):
            pending[2] = line.strip()
        else:
            pending = None
    return found


def roff(text):
    return "\n".join(re.sub(r"^([.'])", r"\\&\1", line.replace("\\", "\\e").replace("-", "\\-"))
                     for line in text.splitlines())


def manual_page(version, top, commands, texts):
    summary = top.splitlines()[0].strip().rstrip(".")
    lines = [f'.TH BEDWRIGHT 1 "" "bedwright {version}" "User Commands"', ".SH NAME", f"bedwright \\- {roff(summary)}",
             ".SH SYNOPSIS", ".B bedwright", "COMMAND [OPTIONS] ...", ".SH DESCRIPTION", ".nf", roff(top), ".fi",
             ".SH COMMANDS"]
    for name, _ in commands:
        lines += [f".SS {roff(name)}", ".nf", roff(texts[name]), ".fi"]
    return "\n".join(lines) + "\n"


def bash(commands, table):
    cases = "\n".join(f'    {name}) words="{" ".join(o for o, _, _ in table[name])}" ;;' for name, _ in commands)
    return f"""_bedwright() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} words=
  if [ "$COMP_CWORD" = 1 ]; then
    COMPREPLY=($(compgen -W "{" ".join(name for name, _ in commands)} --help --version" -- "$word"))
    return
  fi
  case ${{COMP_WORDS[1]}} in
{cases}
  esac
  case $word in
    -*) COMPREPLY=($(compgen -W "$words" -- "$word")) ;;
    *) COMPREPLY=($(compgen -f -- "$word")) ;;
  esac
}}
complete -o filenames -F _bedwright bedwright
"""


def quoted(text):
    return re.sub(r"[\[\]:'\"\\`$]", " ", text)


def zsh(commands, table):
    listed = "\n".join(f"    '{name}:{quoted(words)}'" for name, words in commands)
    cases = []
    for name, _ in commands:
        specs = " ".join(f"'{o}[{quoted(words)}]{':value:_files' if value else ''}'" for o, value, words in table[name])
        cases.append(f"    {name}) _arguments {specs} '*:file:_files' ;;")
    return f"""#compdef bedwright
_bedwright() {{
  local -a commands=(
{listed}
  )
  if (( CURRENT == 2 )); then
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
{chr(10).join(cases)}
  esac
}}
_bedwright "$@"
"""


def fish(commands, table):
    lines = [f"complete -c bedwright -n __fish_use_subcommand -a {name} -d '{quoted(words)}'" for name, words in commands]
    for name, _ in commands:
        for option, value, words in table[name]:
            lines.append(f"complete -c bedwright -n '__fish_seen_subcommand_from {name}' -l {option[2:]}"
                         f"{' -r' if value else ''} -d '{quoted(words)}'")
    return "\n".join(lines) + "\n"


def main():
    program, version, folder = sys.argv[1:4]
    top = help_of(program)
    commands = subcommands(top)
    if not commands:
        sys.exit(f"no commands in what {program} --help says")
    texts = {name: help_of(program, name) for name, _ in commands}
    table = {name: options(text) for name, text in texts.items()}
    for name, found in table.items():
        if not found:
            sys.exit(f"no options in what {program} {name} --help says")
    os.makedirs(folder, exist_ok=True)
    for file_name, text in (("bedwright.1", manual_page(version, top, commands, texts)),
                            ("bedwright.bash", bash(commands, table)), ("_bedwright", zsh(commands, table)),
                            ("bedwright.fish", fish(commands, table))):
        with open(os.path.join(folder, file_name), "w", encoding="utf-8") as file:
            file.write(text)


if __name__ == "__main__":
    main()
