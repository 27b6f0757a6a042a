"""Puts the library's sources into few translation units, which compile from nothing in a third of the time:
groups.py SRC OUT COUNT SOURCE...  writes OUT/group-00.cpp ... and leaves those alone that come out as they are.
The last SPARE of them hold what goes with no other source.

Each source keeps its own helpers in an unnamed namespace. Two sources go into one unit only if no helper of one has the
name of a helper of the other, or of something that the other one's headers declare, unless it includes that as well and the
other one has no use for it: no name can come to mean something else. All headers come before all sources. Sources that include
one of LARGE go together, since its headers take longer than they do. The place of any other depends on its name first, so that an
edit moves few of them."""
import os
import re
import sys
import zlib
from typing import NamedTuple

SPARE = 8
LARGE = {"CGAL": 5, "Eigen": 2}  # how much longer than other text a source that includes it takes, about
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
            kind = re.match(r"\s*(?:struct|class|enum(?:\s+class)?|union)\s+(\w+)\s*(?::[^:]|\{|$)", statement)
            if kind:
                names.add(kind.group(1))
                continue
            before = re.split(r"[=({]", statement, maxsplit=1)[0]
            function = statement[len(before):].startswith("(")
            for part in [before] if function else [before] + re.sub(r"\([^()]*\)", "", statement).split(",")[1:]:
                found = [w for w in WORD.findall(re.split(r"[=({]", part)[0]) if w not in NOT_NAMES]
                if found:
                    names.add(found[-1])
    return names


class Source(NamedTuple):
    path: str
    text: str
    own: set  # its helpers
    seen: set  # what the library's headers that it includes declare
    used: set  # which of that it has a use for
    large: str  # which of LARGE it includes, or a header that it includes; "" for none

    def cost(self):
        return len(self.text) * LARGE.get(self.large, 1)


def hidden_from(one, other):
    """Whether a helper of the one could be taken for something of the other."""
    return one.own & (other.own | (other.seen - one.seen) | other.used)


def read(folder, paths):
    headers = {}

    def reached(text):
        """What the headers that a text includes, and those that they include, declare; which of LARGE they include."""
        names, large = set(), {library for library in LARGE if f"#include <{library}/" in text}
        for name in INCLUDE.findall(text):
            if name not in headers:
                headers[name] = (set(), set())  # headers that include each other end here
                path = os.path.join(folder, name)
                if os.path.exists(path):
                    with open(path, encoding="utf-8") as f:
                        header = f.read()
                    within = reached(header)
                    headers[name] = (public(header) | within[0], within[1])
            names |= headers[name][0]
            large |= headers[name][1]
        return names, large

    sources = []
    for path in sorted(paths):
        with open(path, encoding="utf-8") as f:
            text = f.read()
        names, large = reached(text)
        seen = public(text) | names
        sources.append(Source(path, text, helpers(text), seen, seen & set(WORD.findall(without_comments(text))),
                              min(large, default="")))
    return sources


def grouped(sources, count):
    groups = [[] for _ in range(count)]
    usual = count - SPARE
    most = 1.25 * sum(s.cost() for s in sources) / usual
    for source in sorted(sources, key=lambda s: (-LARGE.get(s.large, 0), s.path)):
        start = 0 if source.large else zlib.crc32("/".join(source.path.split("/")[-2:]).encode())
        places = [(start + i) % usual for i in range(usual)]
        roomy = [p for p in places if sum(s.cost() for s in groups[p]) + source.cost() <= most]
        at = next((p for p in roomy + places + list(range(usual, count))
                   if not any(hidden_from(source, s) or hidden_from(s, source) for s in groups[p])), None)
        if at is None:
            raise SystemExit(f"groups: {source.path} goes with no group; raise SPARE")
        groups[at].append(source)
    return groups


def main():
    folder, out, count, paths = sys.argv[1], sys.argv[2], int(sys.argv[3]), sys.argv[4:]
    os.makedirs(out, exist_ok=True)
    for i, group in enumerate(grouped(read(folder, paths), count)):
        includes = []
        for source in group:
            # Others wait for their condition.
            always = re.sub(r"^#if.*?^#endif[^\n]*$", "", source.text, flags=re.M | re.S)
            includes += [line for line in re.findall(r"^#include [^\n]+", always, flags=re.M) if line not in includes]
        body = "".join(line + "\n" for line in includes) + "".join(f'#include "{s.path}"\n' for s in group)
        path = os.path.join(out, f"group-{i:02}.cpp")
        if not os.path.exists(path) or open(path, encoding="utf-8").read() != body:
            with open(path, "w", encoding="utf-8") as f:
                f.write(body)


if __name__ == "__main__":
    main()
