#!/usr/bin/env python3
"""Every relative link and picture of the project's pages leads to a file, and to a heading where it names one.

    links.py ROOT
"""
import os
import re
import sys

LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")


def anchors(text):
    """Headings as links name them: lower case, spaces to hyphens, other signs dropped."""
    heads = re.findall(r"^#+ (.*)$", text, re.M)
    return {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in heads}


def pages(root):
    for name in ("README.md", "DEVELOPERS.md"):
        yield os.path.join(root, name)
    for place, _, names in os.walk(os.path.join(root, "docs")):
        for name in sorted(names):
            if name.endswith(".md"):
                yield os.path.join(place, name)


def main():
    bad, links = [], 0
    for page in pages(sys.argv[1]):
        with open(page, encoding="utf-8") as file:
            text = file.read()
        for link in LINK.findall(text):
            path, _, anchor = link.partition("#")
            links += 1
            if re.match(r"[a-z]+:", link):
                bad.append(f"{page}: {link} leaves the project")
                continue
            target = os.path.normpath(os.path.join(os.path.dirname(page), path)) if path else page
            if not os.path.exists(target):
                bad.append(f"{page}: {link} leads nowhere")
            elif anchor and target.endswith(".md"):
                with open(target, encoding="utf-8") as file:
                    if anchor not in anchors(file.read()):
                        bad.append(f"{page}: {link}: no such heading")
    print("\n".join(bad) or f"{links} links lead somewhere")
    sys.exit(1 if bad or links < 10 else 0)


main()
