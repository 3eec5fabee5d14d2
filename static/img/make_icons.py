"""Draw the mark (five planks, one of them next) as favicon and icons: python make_icons.py [FOLDER]

One geometry for every size: five planks side by side on a square of linen, the middle one yellow with an
inked outline. Needs Pillow. The maskable icon keeps its planks inside the middle 80 % that every shape shows.
"""

import sys
from pathlib import Path

from PIL import Image, ImageDraw

SHEET, INK, WASH = "#f4f7f6", "#12212b", "#f0cd5b"
NEXT = 2
ICONS = (("icon-180", 180, 18), ("icon-192", 192, 16), ("icon-512", 512, 42), ("icon-maskable-512", 512, 98))


def planks(size, margin):
    """Yield (number, left, top, width, height) of the five planks on a square of this size."""
    seam = (size - 2 * margin) * 0.04
    width = (size - 2 * margin - 4 * seam) / 5
    top = margin + (size - 2 * margin) * 0.06
    for number in range(5):
        yield number, margin + number * (width + seam), top, width, size - 2 * top


def svg():
    """Return the favicon as SVG text; colours are attributes because a style would be blocked."""
    ground = f'<path d="M0 0h64v64H0z" fill="{SHEET}"/>'
    rows = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">', ground]
    for number, left, top, width, height in planks(64, 5):
        line = 1.6 if number == NEXT else 0
        left, top, width, height = left + line / 2, top + line / 2, width - line, height - line
        box = f'x="{left:.2f}" y="{top:.2f}" width="{width:.2f}" height="{height:.2f}"'
        paint = f'fill="{WASH}" stroke="{INK}" stroke-width="{line}"' if line else f'fill="{INK}"'
        rows.append(f"<rect {box} {paint}/>")
    return "\n".join([*rows, "</svg>", ""])


def png(size, margin):
    """Return one icon, drawn four times as large and brought down so that its edges are clean."""
    large = size * 4
    image = Image.new("RGB", (large, large), SHEET)
    pen = ImageDraw.Draw(image)
    for number, left, top, width, height in planks(large, margin * 4):
        box = (left, top, left + width, top + height)
        if number == NEXT:
            pen.rectangle(box, fill=WASH, outline=INK, width=max(4, round(width * 0.15)))
        else:
            pen.rectangle(box, fill=INK)
    return image.resize((size, size), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    (folder / "favicon.svg").write_text(svg(), encoding="utf-8")
    for name, size, margin in ICONS:
        png(size, margin).save(folder / f"{name}.png", optimize=True)
    png(32, 2).save(folder / "favicon.ico", sizes=[(32, 32)])
