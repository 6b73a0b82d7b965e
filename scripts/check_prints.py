"""Looks at the PDFs of the invented litter of nine with poppler: tagged, fonts embedded, every word within
the margins, nothing drawn into them, as many pages as a household would hang up or hand over; and reads
the printed code with another program than the one that drew it.

usage: check_prints.py FOLDER    (the folder that WHELPWARD_PRINTS named while the tests ran)
"""

import re
import subprocess
import sys
from pathlib import Path

import numpy
import zxingcpp

MARGIN_PT = 12 / 25.4 * 72
# Most pages of each print; a weight table of ten weeks takes some.
MOST_PAGES = {"fridge": 2, "weigh-sheet": 1, "feed-sheet": 1, "mix": 1, "vet": 3, "owner": 6, "red-flags": 2, "review": 2}
# The sheet of eight orphans is one page; hard names may take a second.
ONE_PAGE = "fridge-day16-code"
# The address that the tests give to the sheets with a code.
ADDRESS = "http://192.168.100.105:7317/litter/01a2b3c4-d5e6-7f80-9a1b-2c3d4e5f6071/now"
SIZES = {"A4": (595.28, 841.89), "letter": (612.0, 792.0)}


def ran(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def info(path):
    return dict(line.split(":", 1) for line in ran("pdfinfo", path).decode().splitlines() if ":" in line)


def pictures(path, dots_per_inch):
    """Each page in shades of grey."""
    images = ran("pdftoppm", "-gray", "-r", str(dots_per_inch), path)
    at = 0
    while at < len(images):
        head = re.match(rb"P5\s+(\d+) (\d+)\s+255\s", images[at:])
        width, height = int(head[1]), int(head[2])
        start = at + head.end()
        at = start + width * height
        yield numpy.frombuffer(images[start:at], dtype=numpy.uint8).reshape(height, width)


def ink_in_margin(path):
    """Dark dots of the outer 10 mm of each page, at 40 dots an inch."""
    found = 0
    edge = int(10 / 25.4 * 40)
    for dots in pictures(path, 40):
        dark = dots < 200
        found += int(dark.sum() - dark[edge:-edge, edge:-edge].sum())
        assert (dots < 128).any(), f"{path}: an empty page"
    return found


def codes(path):
    """What a camera would read from the codes of all pages."""
    return [code.text for dots in pictures(path, 150) for code in zxingcpp.read_barcodes(dots)]


def main(folder):
    files = sorted(Path(folder).glob("*-day*.pdf"))
    assert len(files) > 100, f"only {len(files)} prints in {folder}"
    trouble = []
    for path in files:
        kind, paper = re.match(r"(.+?)-day\d+-.+-(A4|letter)\.pdf$", path.name).groups()
        about = info(path)
        pages = int(about["Pages"])

        def check(is_right, what):
            if not is_right:
                trouble.append(f"{path.name}: {what}")

        check(about["Tagged"].strip() == "yes", "not tagged")
        check(about["Title"].strip(), "no title")
        check(pages <= (1 if path.name.startswith(ONE_PAGE) else MOST_PAGES[kind]), f"{pages} pages")
        width, height = sorted(float(n) for n in re.findall(r"[\d.]+", about["Page size"])[:2])
        check(abs(width - SIZES[paper][0]) < 1 and abs(height - SIZES[paper][1]) < 1, f"size {about['Page size']}")
        fonts = ran("pdffonts", path).decode().splitlines()[2:]
        check(fonts, "no font")
        for font in fonts:
            check(re.search(r"\byes yes yes\b", font), f"a font is not embedded: {font}")
        text = ran("pdftotext", "-layout", path, "-").decode()
        check("Nine by the brook" in text, "the litter's name is not in it")
        for page in range(1, pages + 1):
            check(f"Page {page} of {pages}" in text, f"no foot on page {page}")
            if kind == "fridge":
                of_page = ran("pdftotext", "-f", str(page), "-l", str(page), "-layout", path, "-").decode()
                check("at most" not in of_page or "Each feed" in of_page, f"rows without a heading row on page {page}")
        if kind == "fridge":
            found = codes(path)
            has_code = "-code-" in path.name or "-hardnames-" in path.name
            check(found == ([ADDRESS] if has_code else []), f"its codes say {found}")
        boxes = ran("pdftotext", "-bbox", path, "-").decode()
        for sheet in re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.S):
            wide, tall = float(sheet[0]), float(sheet[1])
            for left, top, right, low in re.findall(
                r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)"', sheet[2]
            ):
                inside = float(left) >= MARGIN_PT and float(right) <= wide - MARGIN_PT
                inside = inside and float(top) >= MARGIN_PT - 3 and float(low) <= tall - MARGIN_PT + 3
                check(inside, f"a word stands in the margin: {left} {top} {right} {low}")
        check(ink_in_margin(path) == 0, "something is drawn into the margin")
        if kind in ("fridge", "weigh-sheet", "feed-sheet", "vet", "owner", "review"):
            structure = ran("pdfinfo", "-struct", path).decode(errors="replace")
            has_table = "Table" in structure and "TH" in structure
            check(has_table or kind in ("fridge", "vet"), "no real table")
            check(re.search(r"^\s*H1", structure, re.M), "no heading")
    for line in trouble[:40]:
        print(line, file=sys.stderr)
    if trouble:
        sys.exit(f"{len(trouble)} faults in {len(files)} prints")
    print(f"{len(files)} prints looked at")


if __name__ == "__main__":
    main(sys.argv[1])
