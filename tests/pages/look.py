"""Looks at what Chromium made of the pages: the tree, the picture, the print.

Reads only what the browser wrote, with the standard library: the DOM after
loading, the PNG as pixels (RFC 2083), the PDF's page count.
"""

import re
import struct
import sys
import zlib
from html.parser import HTMLParser
from pathlib import Path

FOLDER = Path(sys.argv[1])


class Tree(HTMLParser):
    """Counts elements and gathers words and addresses."""

    def __init__(self):
        super().__init__()
        self.count = {}
        self.words = []
        self.addresses = []

    def handle_starttag(self, tag, attrs):
        self.count[tag] = self.count.get(tag, 0) + 1
        for name, value in attrs:
            if name in ("src", "href", "action") and value:
                self.addresses.append(value)
            assert not name.startswith("on"), f"a handler: {name}"

    def handle_data(self, data):
        self.words.append(data)


def tree(page):
    found = Tree()
    found.feed((FOLDER / f"{page}.dom").read_text(encoding="utf-8"))
    return found


def pixels(page):
    """The picture as rows of (red, green, blue)."""
    data = (FOLDER / f"{page}.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n", "no PNG"
    at, packed, head = 8, b"", None
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            head = struct.unpack(">IIBBBBB", body)
        elif kind == b"IDAT":
            packed += body
        at += 12 + length
    width, height, depth, colour = head[:4]
    assert depth == 8 and colour in (2, 6), f"a picture of another kind: {head}"
    step = 3 if colour == 2 else 4
    raw, rows, before = zlib.decompress(packed), [], bytes(width * step)
    for y in range(height):
        start = y * (width * step + 1)
        line = bytearray(raw[start + 1 : start + 1 + width * step])
        unfilter(raw[start], line, before, step)
        rows.append(line)
        before = line
    return width, height, step, rows


def unfilter(kind, line, before, step):
    for i in range(len(line)):
        left = line[i - step] if i >= step else 0
        up = before[i]
        corner = before[i - step] if i >= step else 0
        if kind == 1:
            add = left
        elif kind == 2:
            add = up
        elif kind == 3:
            add = (left + up) // 2
        elif kind == 4:
            guess = left + up - corner
            near = sorted((abs(guess - v), n, v) for n, v in enumerate((left, up, corner)))
            add = near[0][2]
        else:
            add = 0
        line[i] = (line[i] + add) & 255


def share(page, wanted):
    """Share of the picture's points of a colour."""
    width, height, step, rows = pixels(page)
    hits = sum(
        1
        for row in rows
        for x in range(0, width * step, step)
        if wanted(row[x], row[x + 1], row[x + 2])
    )
    return hits / (width * height)


def dark(r, g, b):
    return r + g + b < 240


def amber(r, g, b):
    """The band of the trend: a light amber."""
    return r > 230 and 190 < g < 240 and b < 225 and r - b > 25


def check(page):
    found = tree(page)
    assert found.count.get("script", 0) == 0, f"{page}: a script"
    assert found.addresses == [], f"{page}: asks for {found.addresses}"
    noise = (FOLDER / f"{page}.console").read_text(errors="replace")
    for word in ("CONSOLE", "Refused to", "net::ERR"):
        assert word not in noise, f"{page}: {word} in the browser's log:\n{noise}"
    ink = share(page, dark)
    assert 0.005 < ink < 0.4, f"{page}: {ink:.1%} of the picture is dark"
    pdf = (FOLDER / f"{page}.pdf").read_bytes()
    assert pdf.startswith(b"%PDF-") and len(pdf) > 5000, f"{page}: no print"
    return found


def main():
    sheet = check("sheet")
    said = " ".join(sheet.words)
    for words in ("Snowmelt", "alcohol", "bottled", "ready from", "honey", "Ledger", "Steps"):
        assert words in said, f"the sheet does not say '{words}'"
    assert sheet.count.get("svg") == 1 and sheet.count.get("circle", 0) >= 5, "no trend"
    labels = check("labels")
    text = " ".join(labels.words)
    lots = text.count("home-made, not for sale")
    assert lots >= 10, f"{lots} labels for ten bottles"
    assert re.search(r"\d+\.\d % vol", text), "no strength on the label"
    running = check("running")
    assert running.count.get("path", 0) >= 2, "no curve with its band"
    band = share("running", amber)
    assert band > 0.002, f"the band of the trend is not drawn: {band:.3%}"
    print(f"pages: sheet, {lots} labels and a running batch are whole")


main()
