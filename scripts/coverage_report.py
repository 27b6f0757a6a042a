#!/usr/bin/env python3
"""What the tests ran of src/, room by room, and which messages and finding codes none of them exercises.

    coverage_report.py BUILD [--list ROOM]

BUILD was configured with -DBEDWRIGHT_COVERAGE=ON (preset `coverage`) and its tests have run. --list ROOM also lists that
room's lines that nothing ran. A message is a statement that throws, adds a problem, or holds a finding's code
(docs/findings.md) or a whole phrase; it is exercised if each of its lines ran, and where it shares a line with its
condition (`if (bad) throw ...`), if all of that line did. What no test can reach stands with its reason in
coverage_excused.json. Exit status 1 if a message is not exercised, or an excuse fits none.
"""

import collections
import concurrent.futures
import json
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(HERE)
TOKEN = re.compile(r"""
    (?P<skip>//[^\n]*|/\*.*?\*/|^[ \t]*\#(?:[^\n\\]|\\.)*|\s+)
  | (?P<text>(?:u8|L)?R"(?P<mark>[^(\s]*)\(.*?\)(?P=mark)"|"(?:\\.|[^"\\\n])*")
  | (?P<char>'(?:\\.|[^'\\\n])+')
  | (?P<number>\d(?:'?[\w.])*)
  | (?P<word>[A-Za-z_]\w*)
  | (?P<sign>::|->|.)
""", re.X | re.S | re.M)
# What ends before a brace that opens a block, and not a list of values.
BEFORE_BLOCK = {")", "else", "do", "try", "const", "noexcept", "override", "final", "mutable"}
DECLARES = {"namespace", "struct", "class", "enum", "union", "extern"}
LAMBDA = re.compile(r"Ul.*E\d*_cl")  # in a mangled name
PHRASE = re.compile(r"[A-Za-z`'>,)]{2,},? [a-z`'(]+")

Token = collections.namedtuple("Token", "kind text line")


def tokens_of(text):
    out, line = [], 1
    for m in TOKEN.finditer(text):
        kind = m.lastgroup if m.lastgroup != "mark" else "text"
        if m.group("skip") is None:
            out.append(Token("text" if m.group("text") is not None else kind, m.group(), line))
        line += m.group().count("\n")
    return out


class Statement:
    def __init__(self):
        self.tokens = []

    def first(self):
        return self.tokens[0].line

    def last(self):
        last = self.tokens[-1]
        return last.line + last.text.count("\n")


def statements_of(tokens):
    """Flat list: conditions of if, for, while and switch stand by themselves, and so do the bodies of lambdas."""
    done = []

    def parse(at, closing):
        """From `at` to the brace that closes; returns the place after it."""
        now, depth, header = Statement(), 0, None
        while at < len(tokens):
            t = tokens[at]
            if t.text == "}" and depth == 0 and t.kind == "sign":
                if now.tokens:
                    done.append(now)
                return at + 1
            if t.text == "{" and t.kind == "sign" and opens_block(now.tokens):
                at = parse(at + 1, True)
                after = tokens[at].text if at < len(tokens) else ""
                if depth == 0 and after not in (";", ",", ")", "("):
                    if now.tokens:
                        done.append(now)
                    now, header = Statement(), None
                continue
            now.tokens.append(t)
            at += 1
            if t.kind == "sign" and t.text in "([{":
                depth += 1
            elif t.kind == "sign" and t.text in ")]}":
                depth -= 1
            words = [x.text for x in now.tokens[:3]]
            if depth == 0 and t.text == ")" and (words[0] in ("if", "for", "while", "switch") or words[:2] == ["else", "if"]):
                if at < len(tokens) and tokens[at].text != "{":  # its body follows without braces
                    done.append(now)
                    now = Statement()
            elif depth == 0 and t.text == "else" and at < len(tokens) and tokens[at].text not in ("{", "if"):
                now = Statement()
            elif depth == 0 and t.text == ";" or depth == 0 and t.text == ":" and words[0] in ("case", "default", "public", "private"):
                done.append(now)
                now = Statement()
        return at

    def opens_block(before):
        if not before:
            return True
        last = before[-1].text
        if last in BEFORE_BLOCK or any(x.text in DECLARES for x in before[:2]) or before[0].text == "template":
            return True
        if last == "]":  # a lambda without a list of what it takes
            return True
        # `) -> Type {`
        words = [x.text for x in before[-6:]]
        return "->" in words and ")" in words[: words.index("->")] and words[words.index("->") - 1] == ")"

    parse(0, False)
    return done


def codes():
    """In the first column of the page's tables."""
    with open(os.path.join(ROOT, "docs", "findings.md"), encoding="utf-8") as page:
        return {code for line in page if line.startswith("| `") for code in re.findall(r"`([a-z-]+)`", line.split("|")[1])}


def speaks(statement, known):
    """Why a statement is a message, or None."""
    words = [t.text for t in statement.tokens if t.kind == "word"]
    texts = [t.text.strip('"') for t in statement.tokens if t.kind == "text"]
    if not words or words[0] in ("static_assert", "using", "typedef", "extern"):
        return None
    if "throw" in words and len(words) > 1:
        return "throw"
    if any(t in known for t in texts):
        return "finding"
    if any(t in words for t in ("problems", "problems_", "Problem", "refuse", "complain")) and texts and ("push_back" in words or "return" in words or "refuse" in words or "complain" in words):
        return "problem"
    if any(PHRASE.search(t) for t in texts):
        return "phrase"
    return None


def unlisted(statement, known):
    """The code of a finding that docs/findings.md does not list, or None."""
    words = {t.text for t in statement.tokens if t.kind == "word"}
    if not words & {"Severity", "CannotBuild"} or "case" in words:
        return None
    first = next((t.text.strip('"') for t in statement.tokens if t.kind == "text"), "")
    return first if re.fullmatch(r"[a-z]+(-[a-z]+)*", first) and first not in known else None


def counts_of(note):
    """What one object's counters say of files below src/: [file, lines]."""
    with tempfile.TemporaryDirectory() as folder:
        run = subprocess.run(["gcov", "--json-format", "--stdout", note], cwd=folder, capture_output=True, check=True)
    out = []
    for document in run.stdout.decode().splitlines():
        data = json.loads(document)
        for file in data["files"]:
            path = os.path.normpath(os.path.join(data["current_working_directory"], file["file"]))
            if path.startswith(os.path.join(ROOT, "src") + os.sep):
                lines = {}
                merge(lines, file["lines"])
                out.append((os.path.relpath(path, ROOT), lines))
    return out


def coverage(build):
    """File below src/ to line to [times, whether all of it ran]."""
    notes = []
    for folder, _, files in os.walk(build):
        if re.search(r"/(bedwright_core|bedwright)\.dir(/|$)", folder + "/"):
            notes += [os.path.join(folder, f) for f in files if f.endswith(".gcno")]
    if not notes:
        raise SystemExit(f"{build} has no counters: configure it with --preset coverage, build it and run its tests")
    known = collections.defaultdict(dict)
    with concurrent.futures.ProcessPoolExecutor() as pool:
        for found in pool.map(counts_of, sorted(notes)):
            for path, lines in found:
                for key, (times, whole) in lines.items():
                    old_times, old_whole = known[path].get(key, (0, False))
                    known[path][key] = (old_times + times, old_whole or whole)
    return {path: joined(lines) for path, lines in known.items()}


def merge(lines, found):
    """A template's line stands in several functions: what ran in one of them ran. A lambda on a line counts by itself."""
    for line in found:
        key = line["line_number"], bool(LAMBDA.search(line.get("function_name", "")))
        times, whole = lines.get(key, (0, False))
        lines[key] = (times + line["count"], whole or line["count"] > 0 and not line["unexecuted_block"])


def joined(lines):
    out = {}
    for (n, _), (times, whole) in lines.items():
        old_times, old_whole = out.get(n, (0, True))
        out[n] = (old_times + times, old_whole and whole)
    return out


def judge(statement, before, lines):
    """"whole", "in part" (an arm of a condition in it never ran), "not", or None: there is no code (a table, a constant)."""
    span = [n for n in range(statement.first(), statement.last() + 1) if n in lines]
    if not span:
        return None
    shared = before is not None and before.last() == span[0]  # `if (bad) throw ...`
    if not any(lines[n][0] for n in span) or shared and not lines[span[0]][1]:
        return "not"
    return "whole" if all(lines[n][1] for n in span) else "in part"


def excuses():
    with open(os.path.join(HERE, "coverage_excused.json"), encoding="utf-8") as file:
        return json.load(file)


def main():
    build = os.path.abspath(sys.argv[1])
    listed = sys.argv[3] if sys.argv[2:3] == ["--list"] else None
    counted, known, reasons = coverage(build), codes(), excuses()
    unused, excused_codes = {(e["file"], e["words"]) for e in reasons}, set()
    rooms = collections.defaultdict(lambda: [0, 0, 0, 0])
    silent, raised, strangers = [], collections.Counter(), []
    for path in sorted(counted):
        room, lines = path.split(os.sep)[1], counted[path]
        tally = rooms[room]
        tally[0] += len(lines)
        tally[1] += sum(1 for times, _ in lines.values() if times)
        if listed == room:
            for n in sorted(lines):
                if not lines[n][0]:
                    print(f"{path}:{n} never ran")
        with open(os.path.join(ROOT, path), encoding="utf-8") as file:
            text = file.read()
        before = None
        for statement in sorted(statements_of(tokens_of(text)), key=lambda s: s.first()):
            why = speaks(statement, known)
            how = judge(statement, before, lines) if why else None
            before = statement
            stranger = unlisted(statement, known)
            if stranger:
                strangers.append(f"{path}:{statement.first()}: docs/findings.md does not list {stranger}")
            if how is None:
                continue
            ran = how == "whole"
            said = " ".join(t.text for t in statement.tokens)
            excuse = next((e for e in reasons if e["file"] == path and e["words"] in said), None)
            if excuse:
                excused_codes |= {t.text.strip('"') for t in statement.tokens if t.kind == "text"}
                if not ran:
                    unused.discard((excuse["file"], excuse["words"]))
                continue
            tally[2] += 1
            tally[3] += ran
            for t in statement.tokens:
                if t.kind == "text" and t.text.strip('"') in known and ran:
                    raised[t.text.strip('"')] += 1
            if not ran:
                silent.append((path, statement.first(), why, said, how))
    print(f"{'room':<12}{'lines':>8}{'ran':>8}{'share':>8}{'messages':>10}{'exercised':>11}")
    total = [sum(t[i] for t in rooms.values()) for i in range(4)]
    for name, t in sorted(rooms.items()) + [("all", total)]:
        print(f"{name:<12}{t[0]:>8}{t[1]:>8}{100 * t[1] / max(1, t[0]):>7.1f}%{t[2]:>10}{t[3]:>11}")
    for path, line, why, said, how in silent:
        print(f"{'not exercised' if how == 'not' else 'exercised in part'}: {path}:{line} ({why}) {said[:150]}")
    strangers += [f"no test raises {code}" for code in sorted(known - set(raised) - excused_codes)]
    print("\n".join(strangers)) if strangers else None
    for file, words in sorted(unused):
        print(f"excuse fits nothing that never ran: {file}: {words}")
    return 1 if silent or strangers or unused else 0


sys.exit(main())
