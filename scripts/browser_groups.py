"""Puts the library's sources into few translation units, so that the browser's core compiles in a third of the time:
browser_groups.py SRC OUT COUNT SOURCE...  writes OUT/group-00.cpp ... and leaves those alone that come out as they are.
The last SPARE of them hold what goes with no other source.

Each source keeps its own helpers in an unnamed namespace. Two sources go into one unit only if no helper of one has the
name of a helper of the other, or of something that the other one's headers declare, unless it includes that as well and the
other one has no use for it: no name can come to mean something else. All headers come before all sources. The place of a source depends on its name first, so
that an edit moves few of them."""
import glob
import os
import re
import sys
import zlib

SPARE = 4
INCLUDE = re.compile(r'^#include "([^"\n]+)"', flags=re.M)
WORD = re.compile(r"[A-Za-z_]\w*")
NOT_NAMES = {
    "return", "if", "for", "while", "switch", "case", "default", "else", "do", "operator", "template", "typename", "using",
    "struct", "class", "enum", "union", "const", "constexpr", "static", "inline", "public", "private", "protected"}


def without_comments(text):
    text = re.sub(r"//[^\n]*", "", text)
    text = re.sub(r'R"\((.*?)\)"', '""', text, flags=re.S)
    return re.sub(r'"(?:\\.|[^"\\\n])*"', '""', text)


def helpers(text):
    """Names declared at the first level of unnamed namespaces."""
    return first_level(re.findall(r"^namespace \{$(.*?)^\}  // namespace$", text, flags=re.M | re.S))


def public(text):
    """Names declared at the first level of the library's namespace."""
    return first_level(re.findall(r"^namespace bedwright \{$(.*?)^\}  // namespace bedwright$", text, flags=re.M | re.S))


def first_level(blocks):
    names = set()
    for block in blocks:
        depth, top = 0, []
        for piece in re.split(r"([{}])", without_comments(block)):
            if piece == "{":
                depth += 1
                top.append(" { ")
            elif piece == "}":
                depth -= 1
                top.append(" } ; " if depth == 0 else "")
            elif depth == 0:
                top.append(piece)
        for statement in "".join(top).split(";"):
            statement = re.sub(r"<[^<>;{}]*>", " ", re.sub(r"<[^<>;{}]*>", " ", statement))
            before = re.split(r"[=({]", statement, maxsplit=1)[0]
            function = statement[len(before):].startswith("(")
            for part in [before] if function else [before] + re.sub(r"\([^()]*\)", "", statement).split(",")[1:]:
                found = [w for w in WORD.findall(re.split(r"[=({]", part)[0]) if w not in NOT_NAMES]
                if found:
                    names.add(found[-1])
    return names


def main():
    headers, out, count, sources = sys.argv[1], sys.argv[2], int(sys.argv[3]), sys.argv[4:]
    declared = {}

    def visible(name):
        """What a header declares, and all headers that it includes."""
        if name not in declared:
            declared[name] = set()  # headers that include each other end here
            path = os.path.join(headers, name)
            if os.path.exists(path):
                with open(path, encoding="utf-8") as f:
                    text = f.read()
                declared[name] = public(text).union(*(visible(n) for n in INCLUDE.findall(text)))
        return declared[name]

    known = []
    for path in sorted(sources):
        with open(path, encoding="utf-8") as f:
            text = f.read()
        seen = public(text).union(*(visible(n) for n in INCLUDE.findall(text)))
        known.append((path, text, helpers(text), seen, seen & set(WORD.findall(without_comments(text)))))
    groups = [[] for _ in range(count)]
    sizes = [0] * count
    usual = count - SPARE
    most = 1.25 * sum(len(k[1]) for k in known) / usual

    def apart(one, other):
        (_, _, own, seen, _), (_, _, others, also_seen, used) = one, other
        return own & (others | (also_seen - seen) | used)

    def fits(entry, group):
        return not any(apart(entry, other) or apart(other, entry) for other in group)

    for entry in known:
        start = zlib.crc32("/".join(entry[0].split("/")[-2:]).encode())
        places = [(start + i) % usual for i in range(usual)]
        roomy = [p for p in places if sizes[p] + len(entry[1]) <= most]
        at = next((p for p in roomy + places + list(range(usual, count)) if fits(entry, groups[p])), None)
        if at is None:
            raise SystemExit(f"browser_groups: {entry[0]} goes with no group; raise SPARE")
        groups[at].append(entry)
        sizes[at] += len(entry[1])
    os.makedirs(out, exist_ok=True)
    for i, group in enumerate(groups):
        includes = []
        for _, text, *_ in group:
            always = re.sub(r"^#if.*?^#endif[^\n]*$", "", text, flags=re.M | re.S)  # others wait for their condition
            includes += [line for line in re.findall(r"^#include [^\n]+", always, flags=re.M) if line not in includes]
        body = "".join(line + "\n" for line in includes) + "".join(f'#include "{path}"\n' for path, *_ in group)
        path = os.path.join(out, f"group-{i:02}.cpp")
        if not os.path.exists(path) or open(path, encoding="utf-8").read() != body:
            with open(path, "w", encoding="utf-8") as f:
                f.write(body)


if __name__ == "__main__":
    main()
