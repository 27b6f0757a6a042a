#!/usr/bin/env python3
"""Reads the PDFs that the program writes, with nothing of the program's own: pdf_referee.py BEDWRIGHT ROOT.

A tiny parser (standard library only) follows the cross-reference table to every object, unpacks every page with zlib,
and measures pages and check bars in points. Where poppler's pdftotext is installed, it must read the same words."""
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zlib
from pathlib import Path

POINT = 72 / 25.4  # points in a millimetre
faults = []


def expect(holds, words):
    if not holds:
        faults.append(words)


def objects_of(pdf):
    """Every object by number, found where the cross-reference table says it is."""
    start = int(re.search(rb"startxref\n(\d+)\n%%EOF\n$", pdf).group(1))
    expect(pdf[start:start + 5] == b"xref\n", "startxref does not point at the table")
    lines = pdf[start:].split(b"\n")
    first, count = map(int, lines[1].split())
    expect(first == 0 and lines[2] == b"0000000000 65535 f ", "the table does not begin with the free object")
    objects = {}
    for number in range(1, count):
        entry = lines[2 + number]
        expect(re.fullmatch(rb"\d{10} 00000 n ", entry) is not None, f"entry {number} is not 20 bytes as it must be")
        offset = int(entry[:10])
        head = b"%d 0 obj\n" % number
        expect(pdf[offset:offset + len(head)] == head, f"object {number} is not at its offset")
        end = pdf.index(b"\nendobj\n", offset)
        objects[number] = pdf[offset + len(head):end]
    return objects


def pages_of(pdf):
    """(width, height, content) of each page."""
    objects = objects_of(pdf)
    kids = re.search(rb"/Kids \[([^\]]*)\] /Count (\d+)", objects[2])
    numbers = [int(n) for n in re.findall(rb"(\d+) 0 R", kids.group(1))]
    expect(len(numbers) == int(kids.group(2)), "the page count is wrong")
    pages = []
    for number in numbers:
        page = objects[number]
        box = [float(v) for v in re.search(rb"/MediaBox \[([^\]]*)\]", page).group(1).split()]
        content = objects[int(re.search(rb"/Contents (\d+) 0 R", page).group(1))]
        length = int(re.search(rb"/Length (\d+)", content).group(1))
        stream = content[content.index(b"stream\n") + 7:]
        expect(stream[length:] == b"\nendstream", "a stream is not as long as it says")
        pages.append((box[2], box[3], zlib.decompress(stream[:length])))
    return pages


def near(a, b):
    return abs(a - b) < 1e-3


def check_drawings(folder, name, kit, parts, size):
    pdf = (folder / name / "drawings.pdf").read_bytes()
    pages = pages_of(pdf)
    svgs = sorted((folder / name / "drawings").glob("*.svg"))
    expect(len(pages) == len(svgs) == parts, f"{name}: {len(pages)} pages and {len(svgs)} drawings for {parts} parts")
    for width, height, content in pages:
        expect(near(width, size[0] * POINT) and near(height, size[1] * POINT), f"{name}: a page is {width} x {height} points")
        for word in (b"(" + kit + b")", b"(do not scale the drawing)", b"(A\\226A)"):
            expect(word in content, f"{name}: a page does not say {word}")
        expect(content.count(b"BT ") == content.count(b" ET\n"), f"{name}: text that does not end")


def check_template(path):
    pages = pages_of(path.read_bytes())
    expect(len(pages) % 2 == 0, "as many sheets from above as from below")
    for i, (width, height, content) in enumerate(pages):
        expect(sorted((round(width / POINT, 3), round(height / POINT, 3))) == [210, 297], "a sheet is no A4")
        side = b"SEEN FROM ABOVE" if i < len(pages) // 2 else b"SEEN FROM BELOW"
        expect(side in content, "a sheet does not say its side")
        lines = re.findall(rb"([\d.-]+) ([\d.-]+) m ([\d.-]+) ([\d.-]+) l S", content)
        spans = [(float(c) - float(a), float(d) - float(b)) for a, b, c, d in lines]
        want = 100 * POINT
        expect(any(near(dx, want) and dy == 0 for dx, dy in spans), "no level bar of 100 mm")
        expect(any(near(dy, want) and dx == 0 for dx, dy in spans), "no upright bar of 100 mm")


def check_svg_bars(path):
    text = path.read_text()
    width, height, box = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d. ]+)"', text).groups()
    expect(box == f"{width} {height}", "user units are not millimetres")
    spans = [(float(c) - float(a), float(d) - float(b)) for a, b, c, d in
             re.findall(r'd="M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)"', text)]
    expect(sum(near(abs(dx), 100) and dy == 0 for dx, dy in spans) >= 2, "no level bars of 100 mm in the SVG")
    expect(sum(near(abs(dy), 100) and dx == 0 for dx, dy in spans) >= 2, "no upright bars of 100 mm in the SVG")


def check_picture(path):
    png = path.read_bytes()
    expect(png[:8] == b"\x89PNG\r\n\x1a\n", "the picture is no PNG")
    at, data = 8, b""
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at:at + 8])
        chunk = png[at + 8:at + 8 + length]
        expect(struct.unpack(">I", png[at + 8 + length:at + 12 + length])[0] == zlib.crc32(kind + chunk), "a chunk's sum is wrong")
        if kind == b"IHDR":
            width, height = struct.unpack(">II", chunk[:8])
        if kind == b"IDAT":
            data += chunk
        at += 12 + length
    rows = zlib.decompress(data)
    expect(len(rows) == height * (3 * width + 1), "the picture's rows are not whole")
    # Undo the filters (none, and up) and count what is not paper.
    above, inked = bytes(3 * width), 0
    for y in range(height):
        row = rows[y * (3 * width + 1):(y + 1) * (3 * width + 1)]
        expect(row[0] in (0, 2), "an unknown filter")
        above = bytes((b + a) & 255 for b, a in zip(row[1:], above)) if row[0] == 2 else row[1:]
        inked += sum(1 for x in range(0, 3 * width, 3) if above[x:x + 3] != b"\xfa\xfa\xf9")
    expect(0.1 < inked / (width * height) < 0.9, f"parts cover {inked / (width * height):.2f} of the picture")


def main():
    program, root = sys.argv[1], Path(sys.argv[2])
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)

        def run(*arguments):
            subprocess.run([program, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        kits = root / "params/kits"
        hostile = '<script>"x"</script> ) ( \\ \u0416\u0443\u043a'
        run("make", kits / "north-bench.json", "--out", folder / "north", "--set", "/title=" + hostile)
        run("make", kits / "every-option.json", "--out", folder / "every")
        check_drawings(folder, "north", b"north-bench", 4, (210, 297))
        check_drawings(folder, "every", b"every-option", 13, (420, 297))
        content = pages_of((folder / "north/drawings.pdf").read_bytes())[0][2]
        expect(b'(<script>"x"</script> \\) \\( \\\\ ???)' in content, "the hostile title is not shown as it must be in PDF")
        svg = (folder / "north/drawings/adapter-a.svg").read_text()
        expect("<script" not in svg and "&lt;script&gt;" in svg and "\u0416\u0443\u043a" in svg, "the hostile title in SVG")
        check_picture(folder / "north/preview.png")
        run("layout", kits / "every-option.json", "--template", folder / "t.pdf")
        run("layout", kits / "every-option.json", "--template", folder / "t.svg")
        check_template(folder / "t.pdf")
        check_svg_bars(folder / "t.svg")
        if shutil.which("pdftotext"):
            words = subprocess.run(["pdftotext", "-layout", str(folder / "north/drawings.pdf"), "-"], check=True,
                                   capture_output=True, text=True).stdout
            for word in ("4 \u00d7 slot 3.40 \u00d7 4.40 THRU", "counterbore 6.50 \u00d7 7.50 to Z 3.15", "\u00d84.50 THRU", "ISO 2768-m"):
                expect(word in words, f"pdftotext does not read {word}")
    # The referee can say no: a file with one byte more before the table.
    broken = b"%PDF-1.4\n1 0 obj\n<<>>\nendobj\n"
    broken += b"xref\n0 2\n0000000000 65535 f \n0000000010 00000 n \ntrailer\nstartxref\n%d\n%%%%EOF\n" % len(broken)
    before = len(faults)
    objects_of(broken)
    if len(faults) == before:
        faults.append("the referee took a wrong offset for right")
    else:
        del faults[before:]
    for fault in faults:
        print(fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
