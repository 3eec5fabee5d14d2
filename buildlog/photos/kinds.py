"""What a file is by its first bytes. The name and the type that the browser claims are never asked."""

import re
from typing import NamedTuple

HEAD_LENGTH = 64

CONTENT_TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "HEIF": "image/heic"}
SUFFIXES = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "HEIF": "heic"}

_HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"}
_AVIF_BRANDS = {b"avif", b"avis"}


class Other(NamedTuple):
    """A kind that is known by sight and not taken."""

    magic: bytes
    word: str


_OTHERS = (
    Other(b"GIF8", "GIF picture"),
    Other(b"II*\0", "TIFF or camera raw picture"),
    Other(b"MM\0*", "TIFF or camera raw picture"),
    Other(b"BM", "BMP picture"),
    Other(b"%PDF", "PDF document"),
    Other(b"%!PS", "PostScript document"),
    Other(b"PK\x03\x04", "ZIP archive"),
    Other(b"Rar!", "RAR archive"),
    Other(b"7z\xbc\xaf", "7z archive"),
    Other(b"\x1f\x8b", "gzip archive"),
    Other(b"\0\0\0\x0cjP  ", "JPEG 2000 picture"),
    Other(b"\xff\x4f\xff\x51", "JPEG 2000 picture"),
    Other(b"\xff\x0a", "JPEG XL picture"),
    Other(b"\0\0\0\x0cJXL ", "JPEG XL picture"),
    Other(b"8BPS", "Photoshop document"),
    Other(b"\0\0\x01\0", "icon"),
    Other(b"icns", "icon"),
    Other(b"MZ", "program"),
    Other(b"\x7fELF", "program"),
    Other(b"#!", "script"),
    Other(b"\x1aE\xdf\xa3", "video"),
    Other(b"\0\0\x01\xba", "video"),
    Other(b"ID3", "sound file"),
    Other(b"OggS", "sound file"),
    Other(b"fLaC", "sound file"),
)


def kind_of(head: bytes) -> str | None:
    """Return "JPEG", "PNG", "WEBP" or "HEIF", or None for anything else."""
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WEBP"
    if _brands(head) & _HEIF_BRANDS and not _brands(head) & _AVIF_BRANDS:
        return "HEIF"
    return None


def kind_of_type(content_type: str) -> str:
    """Return the kind that one of our own content types stands for."""
    return next(kind for kind, known in CONTENT_TYPES.items() if known == content_type)


def word_for(head: bytes) -> str | None:
    """Return what to call a file that is not taken, or None where its first bytes say nothing."""
    if head[:4] == b"RIFF":
        return {b"AVI ": "video", b"WAVE": "sound file"}.get(head[8:12])
    if head[4:8] == b"ftyp":
        return "AVIF picture" if _brands(head) & _AVIF_BRANDS else "video"
    for other in _OTHERS:
        if head.startswith(other.magic):
            return other.word
    return _word_for_text(head)


def _word_for_text(head: bytes) -> str | None:
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if text.startswith((b"<!doctype html", b"<html", b"<script", b"<body", b"<head")):
        return "web page"
    if text.startswith((b"<svg", b"<?xml")):
        return "drawing (SVG or XML)"
    printable = head and all(byte in b"\t\r\n\f" or 32 <= byte < 127 for byte in head)
    return "text file" if printable else None


def _brands(head: bytes) -> set[bytes]:
    if head[4:8] != b"ftyp":
        return set()
    # The second group of four is the minor version, not a brand; it never spells one.
    return set(re.findall(rb"[0-9a-zA-Z ]{4}", head[8 : 8 + (len(head) - 8) // 4 * 4]))
