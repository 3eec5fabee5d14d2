"""Pictures made here, and the parts of picture files: segments, chunks, and what a camera writes into them."""

import functools
import io
import random
import struct
import zlib

from PIL import Image, ImageDraw

# Each of these stands in some file's metadata and must be found in no published picture.
SECRETS = (
    b"SN-4711-SERIAL",
    b"Skipper Marit",
    b"38.7223",
    b"GPSLatitude",
    b"secret comment",
    b"TAIL-PAYLOAD",
)



@functools.cache
def picture(width=160, height=120, mode="RGB") -> Image.Image:
    """A picture with an edge in it: red above, blue below, a white mark near the first corner."""
    image = Image.new("RGB", (width, height), (30, 40, 200))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, width, height // 2), fill=(210, 30, 30))
    draw.rectangle((0, 0, width // 8, height // 8), fill="white")
    return image.convert(mode)


def saved(image: Image.Image, kind: str, **options) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


@functools.cache
def noise(width=240, height=180, seed=7) -> Image.Image:
    """A picture that does not compress, so that a cut always falls inside it."""
    return Image.frombytes("RGB", (width, height), random.Random(seed).randbytes(width * height * 3))


def ascii_text(text: str) -> bytes:
    return text.encode("ascii") + b"\0"


def exif_block(orientation=1, taken="2026:02:14 09:41:07", order="<", place=True, model="") -> bytes:
    """An Exif block with a place, an owner, a serial number and a preview, written field by field."""
    preview = saved(Image.new("RGB", (16, 16), "green"), "JPEG")
    blob = _Blob(order)
    gps = blob.table(
        [(1, 2, b"N\0"), (2, 5, struct.pack(order + "6I", 38, 1, 43, 1, 20, 1))] if place else []
    )
    inner = blob.table(
        [(0x9003, 2, ascii_text(taken)), (0xA430, 2, b"Skipper Marit\0"), (0xA431, 2, b"SN-4711-SERIAL\0")]
    )
    second = blob.table([(0x0201, 4, blob.put(preview)), (0x0202, 4, len(preview))])
    first = blob.table(
        [
            (0x0112, 3, orientation),
            (0x010F, 2, b"GPSLatitude 38.7223\0"),
            *([(0x0110, 2, ascii_text(model))] if model else []),
            (0x8769, 4, inner),
            (0x8825, 4, gps),
        ],
        following=second,
    )
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "I", first)
    return head + bytes(blob.body)


class _Blob:
    def __init__(self, order: str):
        self.order, self.body = order, bytearray()

    def put(self, content: bytes) -> int:
        at = 8 + len(self.body)
        self.body += content + b"\0" * (len(content) % 2)
        return at

    def table(self, entries, following=0) -> int:
        rows = b""
        for tag, kind, value in entries:
            rows += self._entry(tag, kind, value)
        return self.put(
            struct.pack(self.order + "H", len(entries)) + rows + struct.pack(self.order + "I", following)
        )

    def _entry(self, tag: int, kind: int, value) -> bytes:
        if isinstance(value, int):
            packed = struct.pack(
                self.order + ("HH" if kind == 3 else "I"), *((value, 0) if kind == 3 else (value,))
            )
            return struct.pack(self.order + "HHI", tag, kind, 1) + packed
        count = len(value) // 8 if kind == 5 else len(value)
        inline = value.ljust(4, b"\0") if len(value) <= 4 else struct.pack(self.order + "I", self.put(value))
        return struct.pack(self.order + "HHI", tag, kind, count) + inline


def jpeg_segment(marker: int, body: bytes) -> bytes:
    return bytes([0xFF, marker]) + struct.pack(">H", len(body) + 2) + body


def with_segments(jpeg: bytes, *segments: bytes) -> bytes:
    return jpeg[:2] + b"".join(segments) + jpeg[2:]


def png_chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def with_chunks(png: bytes, *chunks: bytes) -> bytes:
    """Put chunks behind the header chunk, which is 25 bytes after the 8 of the signature."""
    return png[:33] + b"".join(chunks) + png[33:]


def png_of_size(width: int, height: int, body: bytes = b"") -> bytes:
    header = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    packed = png_chunk(b"IDAT", body or zlib.compress(b"\0" * 64))
    return b"\x89PNG\r\n\x1a\n" + header + packed + png_chunk(b"IEND", b"")


def riff(*chunks: tuple[bytes, bytes]) -> bytes:
    inside = b"WEBP" + b"".join(n + struct.pack("<I", len(b)) + b + b"\0" * (len(b) % 2) for n, b in chunks)
    return b"RIFF" + struct.pack("<I", len(inside)) + inside


def webp_chunk(webp: bytes) -> tuple[bytes, bytes]:
    return webp[12:16], webp[20 : 20 + struct.unpack("<I", webp[16:20])[0]]


def canvas(width: int, height: int, flags=0) -> tuple[bytes, bytes]:
    return b"VP8X", bytes([flags, 0, 0, 0]) + struct.pack("<I", width - 1)[:3] + struct.pack(
        "<I", height - 1
    )[:3]

XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><exif:GPSLatitude>38.7223</exif:GPSLatitude></x:xmpmeta>"

IPTC = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x11\x1c\x02\x50\0\x0dSkipper Marit"


def full_metadata_jpeg(orientation=1, image: Image.Image | None = None) -> bytes:
    """A JPEG with everything a phone and two photo programs may leave in it, and something after its end."""
    jpeg = saved(image or picture(), "JPEG", quality=90)
    segments = (
        jpeg_segment(0xE1, b"Exif\0\0" + exif_block(orientation)),
        jpeg_segment(0xE1, XMP),
        jpeg_segment(0xED, IPTC),
        jpeg_segment(0xFE, b"secret comment"),
        jpeg_segment(0xE5, b"SN-4711-SERIAL"),
    )
    return with_segments(jpeg, *segments) + b"TAIL-PAYLOAD <script>alert(1)</script>"
