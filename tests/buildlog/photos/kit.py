"""A kit of good and hostile picture files, all made here.

`kit()` gives entries with the name a browser would send, the bytes, and the verdict a careful reader
would give: "kept", or the reason for which the file is refused.
"""

import functools
import random
import struct
import zlib
from dataclasses import dataclass

from PIL import Image, ImageCms, PngImagePlugin

from tests.buildlog.photos.file_parts import (
    XMP,
    canvas,
    exif_block,
    full_metadata_jpeg,
    jpeg_segment,
    noise,
    picture,
    png_chunk,
    png_of_size,
    riff,
    saved,
    webp_chunk,
    with_chunks,
    with_segments,
)

KEPT = "kept"


@dataclass(frozen=True)
class Entry:
    """One file of the kit."""

    label: str
    name: str
    content: bytes
    verdict: str = KEPT


@functools.cache
def kit() -> tuple[Entry, ...]:
    """Return the whole kit."""
    makers = (
        _good_kinds, _turned, _with_metadata, _polyglots, _hostile_names, _cut, _other_kinds, _huge, _moving,
        _too_much_metadata, _lying_headers, _broken_inside, _empty_or_tiny,
    )  # fmt: skip
    entries = tuple(entry for make in makers for entry in make())
    assert len({entry.label for entry in entries}) == len(entries)
    return entries


def _good_kinds():
    for mode in ("RGB", "L", "CMYK"):
        yield Entry(f"jpeg {mode}", "a.jpg", saved(picture(mode=mode), "JPEG"))
    for mode in ("RGB", "L", "RGBA", "LA", "P", "1"):
        yield Entry(f"png {mode}", "a.png", saved(picture(mode=mode), "PNG"))
    yield Entry("png 16 bit", "a.png", saved(Image.new("I;16", (40, 30), 40_000), "PNG"))
    see_through = picture(mode="P").copy()
    yield Entry("png palette see-through", "a.png", saved(see_through, "PNG", transparency=3))
    yield Entry("png rgb see-through", "a.png", saved(picture(), "PNG", transparency=(210, 30, 30)))
    for mode in ("RGB", "RGBA"):
        yield Entry(f"webp {mode}", "a.webp", saved(picture(mode=mode), "WEBP"))
        yield Entry(f"webp lossless {mode}", "a.webp", saved(picture(mode=mode), "WEBP", lossless=True))
    yield Entry("jpeg progressive", "a.jpg", saved(noise(), "JPEG", progressive=True))
    yield Entry("jpeg 4:4:4", "a.jpg", saved(noise(), "JPEG", subsampling=0))
    yield Entry("jpeg with restarts", "a.jpg", saved(noise(), "JPEG", restart_marker_blocks=4))
    yield Entry(
        "jpeg with fill bytes", "a.jpg", saved(picture(), "JPEG").replace(b"\xff\xdb", b"\xff\xff\xff\xdb", 1)
    )
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for kind, name in (("JPEG", "a.jpg"), ("PNG", "a.png"), ("WEBP", "a.webp")):
        yield Entry(f"{kind} with profile", name, saved(picture(), kind, icc_profile=srgb))
        yield Entry(f"{kind} with broken profile", name, saved(picture(), kind, icc_profile=b"not a profile"))
        for width, height in ((1, 1), (1, 900), (900, 1), (2000, 3)):
            yield Entry(f"{kind} {width}x{height}", name, saved(Image.new("RGB", (width, height)), kind))
    yield Entry("jpeg at the longest side", "a.jpg", saved(Image.new("RGB", (16_384, 4)), "JPEG"))
    yield Entry("mpo", "a.jpg", saved(noise(), "MPO", save_all=True, append_images=[picture()]))
    yield Entry(
        "apng of one frame",
        "a.png",
        with_chunks(saved(picture(), "PNG"), png_chunk(b"acTL", struct.pack(">II", 1, 0))),
    )
    for name, kind in (
        ("a.png", "JPEG"),
        ("a.webp", "PNG"),
        ("a.heic", "JPEG"),
        ("a.gif", "WEBP"),
        ("a", "JPEG"),
    ):
        yield Entry(f"{kind} called {name}", name, saved(picture(), kind))


def _turned():
    for turn in range(1, 9):
        for order in "<>":
            segment = jpeg_segment(0xE1, b"Exif\0\0" + exif_block(turn, order=order))
            yield Entry(
                f"jpeg turn {turn} {order}", "a.jpg", with_segments(saved(picture(), "JPEG"), segment)
            )
    for turn in (0, 9, 65_535):
        segment = jpeg_segment(0xE1, b"Exif\0\0" + exif_block(turn))
        yield Entry(f"jpeg turn {turn}", "a.jpg", with_segments(saved(picture(), "JPEG"), segment))


def _with_metadata():
    for turn in (1, 6):
        yield Entry(f"jpeg full metadata turn {turn}", "a.jpg", full_metadata_jpeg(turn))
    for mode in ("L", "CMYK"):
        yield Entry(f"jpeg {mode} full metadata", "a.jpg", full_metadata_jpeg(image=picture(mode=mode)))
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", "secret comment Skipper Marit")
    text.add_text("Author", "Skipper Marit", zip=True)
    text.add_itxt("XML:com.adobe.xmp", "GPSLatitude 38.7223")
    yield Entry(
        "png full metadata",
        "a.png",
        saved(picture(), "PNG", pnginfo=text, exif=exif_block(3)) + b"TAIL-PAYLOAD",
    )
    for lossless in (False, True):
        webp = saved(picture(), "WEBP", lossless=lossless, exif=b"Exif\0\0" + exif_block(8), xmp=XMP)
        yield Entry(f"webp full metadata {lossless}", "a.webp", webp)
        yield Entry(f"webp tail {lossless}", "a.webp", webp + b"TAIL-PAYLOAD")
        yield Entry(
            f"webp strange chunk {lossless}",
            "a.webp",
            riff(webp_chunk(saved(picture(), "WEBP", lossless=lossless)), (b"NOTE", b"SN-4711-SERIAL")),
        )
    for label, block in _odd_exif():
        yield Entry(
            f"jpeg exif {label}",
            "a.jpg",
            with_segments(saved(picture(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + block)),
        )
    bomb = zlib.compress(b"\0" * 30_000_000, 9)
    yield Entry(
        "png profile bomb",
        "a.png",
        with_chunks(saved(picture(), "PNG"), png_chunk(b"iCCP", b"bomb\0\0" + bomb)),
    )
    yield Entry(
        "png text bomb", "a.png", with_chunks(saved(picture(), "PNG"), png_chunk(b"zTXt", b"bomb\0\0" + bomb))
    )
    many = [jpeg_segment(0xE1, b"x" * 20_000) for _ in range(100)]
    yield Entry("jpeg 100 segments", "a.jpg", with_segments(saved(picture(), "JPEG"), *many))


def _odd_exif():
    good = exif_block()
    yield "empty", b""
    yield "only a head", b"II*\0"
    yield "loop", b"II*\0\x08\0\0\0\x01\0" + struct.pack("<HHII", 0x8769, 4, 1, 8) + b"\0\0\0\0"
    yield "far offset", b"II*\0\xff\xff\xff\x7f"
    yield "65535 entries", b"MM\0*\0\0\0\x08\xff\xff" + b"\x01" * 400
    yield "cut", good[: len(good) // 2]
    yield "noise", random.Random(3).randbytes(500)
    yield "no date", exif_block(taken="0000:00:00 00:00:00")
    yield "words for a date", exif_block(taken="yesterday at noon..")
    yield "year 9999", exif_block(taken="9999:12:31 23:59:59")


def _polyglots():
    tails = {
        "zip": b"PK\x03\x04" + b"\0" * 40 + b"PK\x05\x06" + b"\0" * 18,
        "html": b"<html><script>alert(document.domain)</script></html>",
        "php": b"<?php system($_GET['c']); ?>",
        "pdf": b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n%%EOF",
        "exe": b"MZ" + b"\0" * 60 + b"PE\0\0",
    }
    for word, tail in tails.items():
        for kind, name in (("JPEG", f"a.{word}.jpg"), ("PNG", f"a.{word}.png"), ("WEBP", f"a.{word}.webp")):
            yield Entry(f"{kind} with {word} behind", name, saved(picture(), kind) + b"TAIL-PAYLOAD" + tail)
        comment = jpeg_segment(0xFE, b"secret comment" + tail)
        yield Entry(f"jpeg with {word} within", "a.jpg", with_segments(saved(picture(), "JPEG"), comment))


def _hostile_names():
    names = (
        "../../etc/passwd.jpg", "..\\..\\windows\\win.jpg", "/etc/shadow", "C:\\boot.jpg", ".", "..", "...",
        "", " ",
        "a\0.jpg", "a\r\nSet-Cookie: x=1.jpg", "\u202egpj.exe", "a\u200b.jpg",
        "<script>alert(1)</script>.jpg",
        "' OR 1=1 --.jpg", "a;rm -rf ~.jpg", "$(reboot).jpg", "`reboot`.jpg", "|cat.jpg", "-rf.jpg",
        "--help.jpg",
        "con.jpg", "NUL", "aux.png", "a" * 300 + ".jpg", "\u00e9" * 200 + ".jpg", "\U0001f600.jpg",
        ".htaccess",
        "index.php", "a.jpg.exe", "a.svg", "a.html", "%2e%2e%2fa.jpg", "%00.jpg", "a%s%n.jpg", "%(name)s.jpg",
        "{0.__class__}.jpg", "\ufeffa.jpg", "a\t.jpg", "\x7f.jpg", "=1+1.jpg", "@a.jpg", "a\ud800.jpg",
        "manage.py",
        "~root.jpg", "a/", "//", "a?b=c.jpg", "a#b.jpg", "a:stream.jpg", "*.jpg",
    )  # fmt: skip
    content = saved(picture(), "JPEG")
    for number, name in enumerate(names):
        yield Entry(f"hostile name {number}", name, content)


def _cut():
    whole = {
        "JPEG": saved(noise(), "JPEG", quality=90),
        "JPEG progressive": saved(noise(), "JPEG", progressive=True),
        "JPEG with preview": with_segments(
            saved(noise(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + exif_block())
        ),
        "PNG": saved(noise(), "PNG"),
        "WebP": saved(noise(), "WEBP"),
        "WebP lossless": saved(noise(), "WEBP", lossless=True),
    }
    for word, content in whole.items():
        for percent in (5, 25, 50, 75, 90, 99):
            cut = content[: len(content) * percent // 100]
            yield Entry(f"{word} cut at {percent} %", "a.jpg", cut, "cut_short")


def _other_kinds():
    for kind, name in (
        ("GIF", "a.gif"), ("BMP", "a.bmp"), ("TIFF", "a.tif"), ("ICO", "a.ico"), ("PPM", "a.ppm"),
        ("TGA", "a.tga"),
        ("PCX", "a.pcx"), ("SGI", "a.sgi"), ("JPEG2000", "a.jp2"), ("EPS", "a.eps"), ("PDF", "a.pdf"),
        ("ICNS", "a.icns"),
        ("DDS", "a.dds"), ("QOI", "a.qoi"), ("AVIF", "a.avif"),
    ):  # fmt: skip
        try:
            content = saved(picture(), kind)
        except (KeyError, OSError, ValueError):  # This Pillow was built without it.
            continue
        for called in (name, "photo.jpg"):
            yield Entry(f"{kind} called {called}", called, content, "not kept")
    texts = {
        "html": b"<!DOCTYPE html><html><body><script>alert(1)</script>",
        "svg": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
        "xml svg": b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "b">]><svg/>',
        "php": b"<?php phpinfo(); ?>",
        "script": b"#!/bin/sh\nreboot\n",
        "text": b"Here is my photo of the garboard.",
        "exe": b"MZ\x90\0" + b"\0" * 200,
        "elf": b"\x7fELF\x02\x01\x01" + b"\0" * 200,
        "zip": b"PK\x03\x04" + b"\0" * 100,
        "pdf": b"%PDF-1.4\n",
        "video": b"\0\0\0\x18ftypmp42" + b"\0" * 100,
        "sound": b"ID3\x04" + b"\0" * 100,
        "wave": b"RIFF\x24\0\0\0WAVEfmt " + b"\0" * 40,
        "noise": random.Random(5).randbytes(4000),
        "zeros": b"\0" * 4000,
        "xbm": b"#define a_width 8\n#define a_height 8\nstatic char a_bits[] = {0};",
        "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n(%pipe%id) (w) file\n",
        "php before a jpeg": b"<?php ?>" + saved(picture(), "JPEG"),
        "gif and jpeg": b"GIF89a" + saved(picture(), "JPEG"),
    }
    for word, content in texts.items():
        for name in (f"a.{word.split()[0]}", "photo.jpg"):
            yield Entry(f"{word} called {name}", name, content, "not kept")


def _huge():
    jpeg = saved(picture(), "JPEG")
    frame = jpeg.index(b"\xff\xc0") + 5
    for width, height in ((9000, 9000), (16_000, 4001), (12_000, 9000), (16_384, 16_384)):
        grown = jpeg[:frame] + struct.pack(">HH", height, width) + jpeg[frame + 4 :]
        yield Entry(f"jpeg says {width}x{height}", "a.jpg", grown, "too_many_pixels")
        yield Entry(f"png says {width}x{height}", "a.png", png_of_size(width, height), "too_many_pixels")
    for width, height in ((16_385, 1), (1, 16_385), (50_000, 50_000), (65_535, 65_535)):
        grown = jpeg[:frame] + struct.pack(">HH", height, width) + jpeg[frame + 4 :]
        yield Entry(f"jpeg says {width}x{height}", "a.jpg", grown, "side_too_long")
        yield Entry(f"png says {width}x{height}", "a.png", png_of_size(width, height), "side_too_long")
    yield Entry("png says 2 thousand million", "a.png", png_of_size(2**31 - 1, 2**31 - 1), "side_too_long")
    lossless = webp_chunk(saved(picture(), "WEBP", lossless=True))
    bits = struct.pack("<I", (6000 - 1) | (6000 - 1) << 14)
    yield Entry(
        "webp says 36 million",
        "a.webp",
        riff((lossless[0], b"\x2f" + bits + lossless[1][5:])),
        "too_many_pixels",
    )
    bomb = zlib.compress(b"\0" * 50_000_000, 9)
    yield Entry("png bomb", "a.png", png_of_size(12_000, 12_000, bomb), "too_many_pixels")
    padded = saved(picture(), "JPEG") + b"\0" * (41 * 1024 * 1024)
    yield Entry("41 MB", "a.jpg", padded, "too_big")


def _moving():
    frames = [picture(), picture(mode="L").convert("RGB"), noise(160, 120)]
    for count in (2, 3):
        options = {"save_all": True, "append_images": frames[1:count], "duration": 100}
        yield Entry(f"webp of {count} frames", "a.webp", saved(frames[0], "WEBP", **options), "moving")
        yield Entry(f"png of {count} frames", "a.png", saved(frames[0], "PNG", **options), "moving")
    many = png_chunk(b"acTL", struct.pack(">II", 50_000, 0))
    yield Entry("png says 50,000 frames", "a.png", with_chunks(saved(picture(), "PNG"), many), "moving")


def _too_much_metadata():
    jpeg, png = saved(picture(), "JPEG"), saved(picture(), "PNG")
    large = [jpeg_segment(0xE1, b"x" * 65_000) for _ in range(300)]
    yield Entry("jpeg 19 MB of notes", "a.jpg", with_segments(jpeg, *large), "metadata")
    small = [jpeg_segment(0xFE, b"x") for _ in range(5000)]
    yield Entry("jpeg 5,000 notes", "a.jpg", with_segments(jpeg, *small), "metadata")
    yield Entry(
        "png 9 MB note", "a.png", with_chunks(png, png_chunk(b"tEXt", b"a\0" + b"x" * 9_000_000)), "metadata"
    )
    notes = [png_chunk(b"tEXt", b"a\0b") for _ in range(5000)]
    yield Entry("png 5,000 notes", "a.png", with_chunks(png, *notes), "metadata")
    webp = webp_chunk(saved(picture(), "WEBP"))
    yield Entry("webp 9 MB note", "a.webp", riff(webp, (b"XMP ", b"x" * 9_000_000)), "metadata")


def _lying_headers():
    jpeg = saved(picture(), "JPEG")
    frame = jpeg.index(b"\xff\xc0")
    second = jpeg[frame : frame + 19]
    yield Entry("jpeg with two frames", "a.jpg", jpeg[:frame] + second + jpeg[frame:], "damaged")
    yield Entry("jpeg of no height", "a.jpg", jpeg[: frame + 5] + b"\0\0" + jpeg[frame + 7 :], "damaged")
    yield Entry("jpeg of no width", "a.jpg", jpeg[: frame + 7] + b"\0\0" + jpeg[frame + 9 :], "damaged")
    yield Entry("jpeg without frame", "a.jpg", jpeg[:frame] + jpeg[frame + 19 :], "damaged")
    yield Entry("png of no width", "a.png", png_of_size(0, 10), "damaged")
    yield Entry("png of no height", "a.png", png_of_size(10, 0), "damaged")
    yield Entry(
        "png with two heads", "a.png", with_chunks(png_of_size(8, 8), png_of_size(9, 9)[8:33]), "damaged"
    )
    yield Entry("png without head", "a.png", b"\x89PNG\r\n\x1a\n" + png_chunk(b"IDAT", b"x"), "damaged")
    lossy, lossless = (
        webp_chunk(saved(picture(), "WEBP")),
        webp_chunk(saved(picture(), "WEBP", lossless=True)),
    )
    yield Entry("webp canvas too small", "a.webp", riff(canvas(10, 10), lossy), "damaged")
    yield Entry("webp canvas too large", "a.webp", riff(canvas(9000, 10), lossless), "damaged")
    yield Entry("webp with two pictures", "a.webp", riff(lossy, lossless), "damaged")
    yield Entry("webp without picture", "a.webp", riff(canvas(10, 10)), "damaged")
    yield Entry("webp of a wrong start", "a.webp", riff((b"VP8 ", b"\0" * 40)), "damaged")


def _broken_inside():
    jpeg, png, webp = saved(noise(), "JPEG"), saved(noise(), "PNG"), saved(noise(), "WEBP", lossless=True)
    middle, tables = png.index(b"IDAT") + 2000, jpeg.index(b"\xff\xc4")
    no_tables = jpeg[:2] + jpeg[jpeg.index(b"\xff\xc0") :].replace(b"\xff\xc4", b"\xff\xfe")
    yield Entry(
        "png flipped", "a.png", png[:middle] + bytes([png[middle] ^ 255]) + png[middle + 1 :], "damaged"
    )
    yield Entry("png of noise", "a.png", png_of_size(64, 64, random.Random(1).randbytes(400)), "damaged")
    yield Entry("png with too little picture", "a.png", png_of_size(640, 640), "cut_short")
    yield Entry(
        "jpeg bad tables", "a.jpg", jpeg[: tables + 4] + b"\xff" * 60 + jpeg[tables + 64 :], "damaged"
    )
    yield Entry("jpeg without tables", "a.jpg", no_tables, "damaged")
    yield Entry("jpeg of nothing but its ends", "a.jpg", b"\xff\xd8\xff\xd9", "damaged")
    yield Entry("webp of noise", "a.webp", webp[:60] + random.Random(2).randbytes(len(webp) - 60), "damaged")
    yield Entry("jpeg marker flood", "a.jpg", b"\xff\xd8" + b"\xff\x01" * 200_000, "damaged")
    flood = with_chunks(png_of_size(8, 8), png_chunk(b"IDAT", b"") * 70_000)
    yield Entry("png chunk flood", "a.png", flood, "damaged")


def _empty_or_tiny():
    yield Entry("empty", "a.jpg", b"", "empty")
    yield Entry("empty png", "a.png", b"", "empty")
    for label, content in (("one byte", b"\xff"), ("two bytes", b"\xff\xd8"), ("riff alone", b"RIFF")):
        yield Entry(label, "a.jpg", content, "not kept")
    for label, content in (("jpeg start", b"\xff\xd8\xff"), ("png start", b"\x89PNG\r\n\x1a\n")):
        yield Entry(label, "a.jpg", content, "cut_short")
    yield Entry("webp start", "a.webp", b"RIFF\0\0\0\0WEBP", "damaged")
