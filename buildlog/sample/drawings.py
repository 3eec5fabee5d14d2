"""The sample's pictures, drawn by code: an invented hull on an invented bench, with nobody in them.

    .venv/bin/python -m buildlog.sample.drawings

writes buildlog/sample/pictures/*.jpg anew; the same code draws the same pictures. Each side is seen from outside,
bow to the right.
"""

import math
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

WIDE, TALL = 1600, 1120
FOLDER = Path(__file__).parent / "pictures"
CHERRY, LIGHT_WOOD, SHADOW = (176, 104, 62), (205, 164, 106), (58, 42, 34)
PAPER, PENCIL, STEEL = (243, 238, 224), (62, 62, 66), (168, 172, 176)


def wood(size, colour, *, seed, along=True) -> Image.Image:
    """Return a board: long grain in one colour, lit from above, the same for the same seed."""
    width, height = size
    rng = np.random.default_rng(seed)
    lines = rng.normal(0, 1, height)
    lines = np.convolve(lines, np.ones(3) / 3, mode="same")
    wave = np.sin(np.linspace(0, 3.1 * math.pi, width) + rng.uniform(0, 6))[None, :] * 1.6
    rows = (np.arange(height)[:, None] + wave).astype(int) % height
    grain = lines[rows] * 7 + rng.normal(0, 2.2, (height, width))
    light = np.linspace(9, -13, height)[:, None]
    board = np.clip(np.array(colour)[None, None, :] + (grain + light)[..., None], 0, 255).astype("uint8")
    picture = Image.fromarray(board, "RGB")
    return picture if along else picture.rotate(90, expand=True)


def bench(seed=1) -> Image.Image:
    """Return the bench top: dull, dark, and a little out of focus."""
    return wood((WIDE, TALL), (96, 84, 72), seed=seed).filter(ImageFilter.GaussianBlur(3))


def lettering(size):
    return ImageFont.load_default(size)


def shadowed(base, shape, *, offset=(10, 16), blur=12, dark=120):
    """Lay the shadow of a mask on a picture."""
    mask = Image.new("L", base.size, 0)
    ImageDraw.Draw(mask).polygon([(x + offset[0], y + offset[1]) for x, y in shape], fill=dark)
    base.paste((10, 8, 6), mask=mask.filter(ImageFilter.GaussianBlur(blur)))


def laid(base, texture, shape, *, shadow=True):
    """Lay a piece of a texture, cut to a shape, on a picture."""
    if shadow:
        shadowed(base, shape)
    mask = Image.new("L", base.size, 0)
    ImageDraw.Draw(mask).polygon(shape, fill=255)
    base.paste(texture.resize(base.size), mask=mask.filter(ImageFilter.GaussianBlur(0.8)))


def edge_at(x, *, middle, rise):
    """Return how high a seam lies at x: planks sweep up towards the bow."""
    t = (x / WIDE) * 2 - 1
    return middle + rise * (1 - t * t) - 0.18 * rise * t


def hull(picture, *, gap=None, strakes=11, seed=3, colour=CHERRY, rise=-70):
    """Plank the picture with sweeping strakes; ``gap`` leaves out the strakes of these numbers, frames behind."""
    xs = np.linspace(-10, WIDE + 10, 60)
    edges = [[(x, edge_at(x, middle=40 + n * (TALL + 40) / strakes, rise=rise * (1 - 0.5 * n / strakes))) for x in xs]
             for n in range(-1, strakes + 2)]  # fmt: skip
    frames(picture, seed)
    draw = ImageDraw.Draw(picture)
    for n in range(len(edges) - 1):
        if gap and n in gap:
            continue
        tone = tuple(int(c * (0.94 + 0.1 * ((n * 37 + seed) % 5) / 4)) for c in colour)
        laid(picture, wood((800, 200), tone, seed=seed * 40 + n), edges[n] + edges[n + 1][::-1], shadow=False)
        draw = ImageDraw.Draw(picture)
        draw.line(edges[n], fill=SHADOW, width=4)
        draw.line([(x, y + 3) for x, y in edges[n]], fill=(210, 140, 92), width=1)
        _treenails(draw, edges[n], edges[n + 1])
    if gap:
        draw.line(edges[min(gap)], fill=(40, 28, 22), width=9)
        draw.line(edges[max(gap) + 1], fill=(214, 150, 100), width=4)
    return edges


def _treenails(draw, keel_side, wale_side):
    for index in range(4, len(keel_side) - 1, 5):
        (x, a), (_x, b) = keel_side[index], wale_side[index]
        for share in (0.3, 0.7):
            y = a + (b - a) * share
            draw.ellipse((x - 4, y - 4, x + 4, y + 4), fill=(120, 68, 40))


def frames(picture, seed):
    """Draw the frames that stand behind the planking, and the dark between them."""
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 0, WIDE, TALL), fill=(38, 32, 30))
    for n, x in enumerate(range(-20, WIDE, 132)):
        board = wood((66, TALL), LIGHT_WOOD, seed=seed + n, along=True)
        picture.paste(board, (x, 0))
        draw.line((x + 66, 0, x + 66, TALL), fill=(20, 16, 14), width=5)


def strip(picture, x, top, bottom, ticks, *, width=64):
    """Lay a paper strip along a frame with pencil ticks at heights."""
    shape = [(x, top), (x + width, top), (x + width, bottom), (x, bottom)]
    laid(picture, Image.new("RGB", (10, 10), PAPER), shape)
    draw = ImageDraw.Draw(picture)
    for y in ticks:
        draw.line((x, y, x + width * 0.7, y + 1), fill=PENCIL, width=5)


def vignette(picture):
    """Let the lamp fall off towards the corners."""
    y, x = np.mgrid[0:TALL, 0:WIDE]
    far = np.hypot((x - WIDE * 0.42) / WIDE, (y - TALL * 0.36) / TALL)
    light = np.clip(1.1 - 0.62 * far**1.6, 0.5, 1.08)[..., None]
    return Image.fromarray(np.clip(np.array(picture) * light, 0, 255).astype("uint8"), "RGB")


def slip(picture, x, y, words, *, size=54, width=None, height=None):
    """Lay a slip of paper with pencilled words."""
    font = lettering(size)
    box = font.getbbox(words)
    w, h = width or box[2] + 70, height or box[3] + 56
    laid(picture, Image.new("RGB", (10, 10), PAPER), [(x, y), (x + w, y + 6), (x + w - 4, y + h), (x - 5, y + h - 6)])
    ImageDraw.Draw(picture).text((x + 34, y + 22), words, font=font, fill=PENCIL)


def board(picture, points, colour=CHERRY, *, seed=5):
    laid(picture, wood((900, 260), colour, seed=seed), points)
    ImageDraw.Draw(picture).line([*points, points[0]], fill=(92, 54, 34), width=3)


# --- the pictures --------------------------------------------------------------------------------------------


def slate():
    picture = bench(2)
    slip(picture, 330, 250, "", width=940, height=560)
    draw = ImageDraw.Draw(picture)
    draw.text((410, 320), "Session 3", font=lettering(150), fill=PENCIL)
    draw.text((416, 530), "15 February, port", font=lettering(82), fill=PENCIL)
    draw.rectangle((1090, 356, 1180, 446), fill=PENCIL)
    board(picture, [(90, 930), (1510, 900), (1512, 972), (92, 1004)])
    return picture


def girth_strip():
    picture = Image.new("RGB", (WIDE, TALL))
    frames(picture, 8)
    strip(picture, 770, 60, 1060, [150, 330, 505, 676, 850, 1000], width=74)
    return picture


def battens():
    picture = Image.new("RGB", (WIDE, TALL))
    frames(picture, 11)
    for n, middle in enumerate((260, 470, 690, 900)):
        top = [(x, edge_at(x, middle=middle, rise=-90)) for x in np.linspace(-10, WIDE + 10, 50)]
        laid(picture, wood((900, 60), (222, 190, 130), seed=n), top + [(x, y + 20) for x, y in top[::-1]])
        draw = ImageDraw.Draw(picture)
        for x, y in top[3::6]:
            draw.ellipse((x - 7, y + 2, x + 7, y + 16), fill=STEEL, outline=(70, 70, 72))
    return picture


def drop_strake():
    picture = Image.new("RGB", (WIDE, TALL))
    edges = hull(picture, strakes=8, seed=12, rise=-40)
    draw = ImageDraw.Draw(picture)
    lower, upper = edges[4], edges[5]
    x = 1040
    a = next(y for px, y in lower if px >= x)
    b = next(y for px, y in upper if px >= x)
    middle = (a + b) / 2
    draw.line([(x, a), (x, middle), (WIDE, b - 6)], fill=SHADOW, width=6)
    return picture


def heat_iron():
    picture = bench(6)
    arc = [(120 + t * 1360, 760 - 300 * math.sin(math.pi * t) ** 1.3) for t in np.linspace(0, 1, 50)]
    board(picture, arc + [(x, y + 62) for x, y in arc[::-1]], seed=9)
    draw = ImageDraw.Draw(picture)
    shadowed(picture, [(620, 180), (900, 180), (960, 420), (560, 420)])
    draw.rounded_rectangle((560, 300, 960, 420), 50, fill=(150, 152, 156), outline=(60, 60, 64), width=5)
    draw.rectangle((720, 60, 800, 306), fill=(34, 34, 38))
    draw.line((580, 404, 940, 404), fill=(222, 224, 228), width=8)
    return picture


def garboard():
    picture = Image.new("RGB", (WIDE, TALL))
    hull(picture, strakes=6, seed=15, gap={0, 1, 2, 3}, rise=-20)
    keel = [(0, 960), (WIDE, 940), (WIDE, TALL), (0, TALL)]
    board(picture, keel, (104, 66, 42), seed=21)
    ImageDraw.Draw(picture).line((0, 962, WIDE, 942), fill=(24, 18, 14), width=9)
    return picture


def stealer():
    picture = Image.new("RGB", (WIDE, TALL))
    edges = hull(picture, strakes=9, seed=18, rise=-30)
    draw = ImageDraw.Draw(picture)
    lower, upper = edges[5], edges[6]
    a, b = lower[0][1], upper[0][1]
    tip = next((x, (y + z) / 2) for (x, y), (_x, z) in zip(lower, upper, strict=True) if x > 560)
    draw.line([(0, a + (b - a) * 0.42), tip], fill=SHADOW, width=5)
    draw.line([tip, (tip[0], tip[1] + 26)], fill=SHADOW, width=5)
    return picture


def caliper_check():
    picture = bench(9)
    draw = ImageDraw.Draw(picture)
    body = [(140, 470), (1460, 470), (1460, 590), (140, 590)]
    shadowed(picture, body)
    draw.polygon(body, fill=STEEL)
    for n in range(0, 106):
        x = 190 + n * 12
        draw.line((x, 470, x, 470 + (34 if n % 10 == 0 else 18)), fill=(50, 50, 54), width=2)
    for x, far in ((150, 300), (238, 300)):
        tip = (x + (84 if x < 200 else 0), 470 - far)
        draw.polygon([(x, 470), (x + 84, 470), (x + 84, 470 - far + 60), tip], fill=STEEL)
    draw.rounded_rectangle((420, 400, 900, 660), 20, fill=(44, 46, 50))
    draw.rectangle((470, 440, 850, 570), fill=(192, 204, 190))
    draw.text((560, 440), "0.08", font=lettering(118), fill=(26, 30, 26))
    draw.line((236, 180, 236, 460), fill=(250, 250, 244), width=3)
    slip(picture, 1020, 760, "shut: 0.08", size=72)
    return picture


def spoiled():
    picture = bench(12)
    board(picture, [(120, 330), (1480, 300), (1480, 398), (120, 432)], seed=31)
    board(picture, [(120, 640), (1480, 612), (1480, 690), (120, 720)], seed=32)
    slip(picture, 180, 470, "4.50")
    slip(picture, 180, 760, "3.75  revision 1")
    return picture


def bilge_gap():
    picture = Image.new("RGB", (WIDE, TALL))
    edges = hull(picture, strakes=9, seed=22, gap={4, 5, 6})
    top = next(y for x, y in edges[4] if x >= 820)
    bottom = next(y for x, y in edges[7] if x >= 820)
    strip(picture, 790, 80, 1040, [top, *np.linspace(top, bottom, 6)[1:-1], bottom])
    return picture


def last_gap():
    picture = Image.new("RGB", (WIDE, TALL))
    edges = hull(picture, strakes=11, seed=25, gap={6})
    top = next(y for x, y in edges[6] if x >= 760)
    bottom = next(y for x, y in edges[7] if x >= 760)
    strip(picture, 730, 240, 980, [top, bottom], width=58)
    return picture


def closed():
    picture = Image.new("RGB", (WIDE, TALL))
    hull(picture, strakes=13, seed=28)
    return picture


def letter():
    picture = bench(15)
    slip(picture, 760, 300, "", width=660, height=420)
    draw = ImageDraw.Draw(picture)
    for n, line in enumerate(("T. Ashgrave", "4 Sluice Lane", "Nettlebank")):
        draw.text((930, 430 + n * 78), line, font=lettering(56), fill=(48, 52, 84))
    board(picture, [(80, 820), (1520, 780), (1520, 880), (80, 924)], seed=41)
    return picture


PICTURES = {
    "slate": slate, "girth-strip": girth_strip, "battens": battens, "drop-strake": drop_strake, "heat-iron": heat_iron,
    "garboard": garboard, "stealer": stealer, "caliper-check": caliper_check, "spoiled": spoiled,
    "bilge-gap": bilge_gap, "last-gap": last_gap, "closed": closed, "letter": letter,
}  # fmt: skip


def draw_all(folder: Path = FOLDER) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, draw in PICTURES.items():
        vignette(draw()).save(folder / f"{name}.jpg", quality=80, optimize=True)


if __name__ == "__main__":
    draw_all()
