"""Makes the typefaces of the bench: the part of DejaVu that its pages use, as WOFF2.

    python -m venv fonts && fonts/bin/pip install fonttools brotli
    fonts/bin/python tools/bench_fonts.py /usr/share/fonts/truetype/dejavu

The folder is that of Debian's package fonts-dejavu-core, version 2.37. The license is in
src/lugwright/web/static/fonts/LICENSE.txt; it allows changed copies under names without "Bitstream" or "Vera".
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

FACES = {
    "DejaVuSans.ttf": "sans.woff2",
    "DejaVuSans-Bold.ttf": "sans_bold.woff2",
    "DejaVuSansMono.ttf": "mono.woff2",
    "DejaVuSansMono-Bold.ttf": "mono_bold.woff2",
}
VERSION = "Version 2.37"
WRITING = [(0x20, 0x7E), (0xA0, 0x17F), (0x370, 0x3FF), (0x2010, 0x203A)]  # Latin, Greek, dashes and quotation marks
SIGNS = [
    (0x2070, 0x209C),  # raised and lowered figures
    (0x2190, 0x21BB),  # arrows
    (0x25A0, 0x25FF),  # boxes, triangles, circles
    (0x2610, 0x2612),  # boxes to tick
    (0x2713, 0x2718),  # ticks and crosses
]
SINGLE = "€Ω−∙√∞∥≈≠≤≥⏚⌁☰⚠⚡�"
OUT = Path(__file__).parent.parent / "src" / "lugwright" / "web" / "static" / "fonts"


def main(folder: Path) -> None:
    """Write every face."""
    for source, target in FACES.items():
        font = TTFont(folder / source, recalcTimestamp=False)
        if font["name"].getDebugName(5) != VERSION:
            sys.exit(f"{source} is {font['name'].getDebugName(5)}, not {VERSION}")
        _write(font, OUT / target)


def _write(font: TTFont, path: Path) -> None:
    options = Options()
    options.hinting = False  # half the size; screens of tablets do not need it
    options.layout_features = ["kern", "mark", "mkmk"]
    options.flavor = "woff2"
    subsetter = Subsetter(options)
    codes = {code for first, last in (*WRITING, *SIGNS) for code in range(first, last + 1)}
    subsetter.populate(unicodes=codes | {ord(sign) for sign in SINGLE})
    subsetter.subset(font)
    font.flavor = "woff2"
    font.save(path)
    print(f"{path.name}: {path.stat().st_size} bytes, {len(font.getBestCmap())} characters")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
