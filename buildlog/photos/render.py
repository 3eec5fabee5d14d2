"""Decode one photograph strictly and make its renditions: upright, in sRGB, with nothing but the picture in
them.
"""

import io
from pathlib import Path

from PIL import Image, ImageCms, ImageFile

from buildlog.photos import exif
from buildlog.photos.facts import Damaged
from buildlog.photos.kinds import HEAD_LENGTH, kind_of
from buildlog.photos.limits import LONGEST_SIDE, MOST_PIXELS, RENDITION_QUALITY, RENDITION_SIZES
from buildlog.photos.strip import strip

ImageFile.LOAD_TRUNCATED_IMAGES = False
Image.MAX_IMAGE_PIXELS = max(MOST_PIXELS.values())

_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# Degrees clockwise; Pillow counts the other way.
_QUARTERS = {90: Image.Transpose.ROTATE_270, 180: Image.Transpose.ROTATE_180, 270: Image.Transpose.ROTATE_90}
# Where a place of the upright picture lies in the stored one, by the way the camera was held.
_STORED = {
    1: lambda u, v: (u, v), 2: lambda u, v: (1 - u, v), 3: lambda u, v: (1 - u, 1 - v), 4: lambda u, v: (u, 1 - v),
    5: lambda u, v: (v, u), 6: lambda u, v: (v, 1 - u), 7: lambda u, v: (1 - v, 1 - u), 8: lambda u, v: (1 - v, u),
}  # fmt: skip
_PLAIN_MODES = {"L", "RGB", "CMYK"}
_BAND = 512
# A picture in colour is held at four bytes a point: beyond this many, a part of it is decoded plane by plane.
_MOST_IN_COLOUR = 16_000_000


def renditions(content: bytes, folder: Path, edits: dict | None = None) -> dict:
    """Write FOLDER/<size>.jpg for each size and return {size: [width, height]}, large first.

    ``edits`` holds a crop in shares of the upright picture, and a turn clockwise after it.
    """
    kind = kind_of(content[:HEAD_LENGTH])
    parts = strip(content)
    del content
    image = _opened(kind, parts.picture)
    icc = parts.icc or image.info.get("icc_profile", b"")
    # The HEIF library turns the picture itself.
    way = 1 if kind == "HEIF" else exif.orientation(parts.exif)
    crop, turn = (edits or {}).get("crop"), (edits or {}).get("turn", 0)
    longest, box = max(RENDITION_SIZES.values()), _as_stored(crop, way) if crop else None
    if box and _is_sparing_in_planes(image, box, longest):
        picture = _part_by_planes(kind, parts.picture, box, longest)
    else:
        picture = _small(image, longest, box)
    picture = _in_srgb(picture, icc)
    picture = _turned(_turned(picture, _TURNS.get(way)), _QUARTERS.get(turn))
    made = {}
    for size, longest in RENDITION_SIZES.items():
        picture = _fitted(picture, longest)
        (folder / f"{size}.jpg").write_bytes(_as_jpeg(_anew(picture)))
        made[size] = list(picture.size)
    return made


def _opened(kind: str | None, picture: bytes) -> Image.Image:
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    image = Image.open(io.BytesIO(picture), formats=[str(kind)])
    if max(image.size) > LONGEST_SIDE or image.width * image.height > MOST_PIXELS[str(kind)]:
        raise Damaged("the size inside is not the size in the header")
    return image


def _as_stored(crop: list[float], way: int) -> tuple[float, float, float, float]:
    """Return a crop of the upright picture as the box of the stored one."""
    places = [_STORED[way](crop[0], crop[1]), _STORED[way](crop[2], crop[3])]
    across, down = zip(*places, strict=True)
    return min(across), min(down), max(across), max(down)


def _points_of(box: tuple[float, float, float, float], size: tuple[int, int]) -> tuple[int, int, int, int]:
    left, top, right, bottom = box
    left, top = min(size[0] - 1, round(left * size[0])), min(size[1] - 1, round(top * size[1]))
    return left, top, max(left + 1, round(right * size[0])), max(top + 1, round(bottom * size[1]))


def _wanted(box: tuple[float, float, float, float], size: tuple[int, int], longest: int) -> int:
    """Return how long the whole picture is to be, for a part of it to be as sharp as the whole would be."""
    part = max((box[2] - box[0]) * size[0], (box[3] - box[1]) * size[1]) / max(size)
    return round(longest / part)


def _is_sparing_in_planes(image: Image.Image, box: tuple[float, float, float, float], longest: int) -> bool:
    """Say whether a part of this picture wants all the detail of so many points that they are not held in colour."""
    named_by_letter = [plane[0] for plane in getattr(image, "layer", [])] == [ord(letter) for letter in "RGB"]
    if image.format not in ("JPEG", "MPO") or image.mode != "RGB" or named_by_letter:
        return False
    if image.info.get("adobe_transform", 1) != 1 or image.width * image.height <= _MOST_IN_COLOUR:
        return False
    return max(image.size) < 2 * _wanted(box, image.size, longest)


def _part_by_planes(
    kind: str | None, picture: bytes, box: tuple[float, float, float, float], longest: int
) -> Image.Image:
    """Return a part of a JPEG: its light decoded whole, then its colour at half the size, as cameras keep it.

    Each holds a quarter of what the whole picture in colour would.
    """
    light = _opened(kind, picture)
    places = _points_of(box, light.size)
    light.draft("L", None)
    planes = [_fitted(light.crop(places), longest)]
    light.close()
    colour = _opened(kind, picture)
    colour.draft("YCbCr", (colour.width // 2, colour.height // 2))
    around = (places[0] // 2, places[1] // 2, -(-places[2] // 2), -(-places[3] // 2))
    half = colour.crop(around)
    colour.close()
    inside = tuple(place / 2 - around[at % 2] for at, place in enumerate(places))
    inside = (*inside[:2], min(inside[2], half.width), min(inside[3], half.height))
    for name in ("Cb", "Cr"):
        planes.append(half.getchannel(name).resize(planes[0].size, Image.Resampling.LANCZOS, inside, 2.0))
    return Image.merge("YCbCr", planes).convert("RGB")


def _small(image: Image.Image, longest: int, box: tuple[float, float, float, float] | None = None) -> Image.Image:
    """Decode every point, and bring the picture near the size wanted as early as can be, to spare memory."""
    if box:
        _ask_for_less(image, _wanted(box, image.size, longest))
        whole, image = image, image.crop(_points_of(box, image.size))
        # Whoever opened it still names it: its points are given back here.
        whole.close()
    else:
        _ask_for_less(image, longest)
        image.load()
    factor = max(1, max(image.size) // (2 * longest))
    if image.mode not in _PLAIN_MODES:
        image = _flattened(image, factor)
    elif factor > 1:
        image = image.reduce(factor)
    return _fitted(image, longest)


def _ask_for_less(image: Image.Image, longest: int) -> None:
    # A JPEG decoder can leave out detail while it reads; it takes the size as a lower bound for both sides,
    # so the box asked for must have the picture's own shape.
    scale = longest / max(image.size)
    if image.format in ("JPEG", "MPO") and scale < 1:
        image.draft(None, (max(1, int(image.width * scale)), max(1, int(image.height * scale))))


def _flattened(image: Image.Image, factor: int) -> Image.Image:
    """Lay a picture with transparency, a palette or deep greys on white, in bands: no second whole one is
    held.
    """
    size = (-(-image.width // factor), -(-image.height // factor))
    flat = Image.new("RGB", size)
    for top in range(0, image.height, _BAND * factor):
        band = image.crop((0, top, image.width, min(image.height, top + _BAND * factor)))
        flat.paste(_on_white(band).reduce(factor), (0, top // factor))
    return flat


def _on_white(band: Image.Image) -> Image.Image:
    if band.mode.startswith("I") or band.mode == "F":
        return band.point(lambda value: value / 256).convert("L").convert("RGB")
    if not band.has_transparency_data:
        return band.convert("RGB")
    band = band.convert("RGBA")
    white = Image.new("RGBA", band.size, "white")
    white.alpha_composite(band)
    return white.convert("RGB")


def _fitted(image: Image.Image, longest: int) -> Image.Image:
    scale = longest / max(image.size)
    if scale >= 1:
        return image
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)


def _in_srgb(image: Image.Image, icc: bytes) -> Image.Image:
    if icc:
        try:
            profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
            if image.mode == "RGB" and "sRGB" in ImageCms.getProfileDescription(profile):
                return image
            turned = ImageCms.profileToProfile(
                image, profile, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
            return turned or image
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass  # A profile that does not fit the picture is left out; the picture itself is sound.
    return image.convert("RGB")


def _turned(image: Image.Image, turn: Image.Transpose | None) -> Image.Image:
    return image if turn is None else image.transpose(turn)


def _as_jpeg(image: Image.Image) -> bytes:
    """Return a picture as a file. Pillow, writing one itself, would not see that the disk took only a part of it."""
    file = io.BytesIO()
    image.save(file, "JPEG", quality=RENDITION_QUALITY, progressive=True)
    return file.getvalue()


def _anew(image: Image.Image) -> Image.Image:
    """Copy the points alone into a new picture, so that nothing the file said travels on with them."""
    new = Image.new("RGB", image.size)
    new.paste(image)
    return new
