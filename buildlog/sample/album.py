"""Which picture belongs to which session, and what is said of it."""

import io
import uuid
from dataclasses import dataclass
from datetime import datetime

from django.core.files.base import ContentFile
from PIL import ExifTags, Image

from buildlog.actions.photos import receive_photo

from .darkroom import FOLDER


@dataclass(frozen=True)
class SamplePicture:
    """One picture of a session; ``at`` is a station, ``strakes`` those that it shows, all of one side."""

    session: int
    file: str
    caption: str
    alt: str
    side: str = "port"
    strakes: tuple[str, ...] = ()
    at: str = ""
    shared: bool = True
    drawn: tuple = ()
    has_position: bool = False


def _number(n, x, y, to_x, to_y, text):
    return {"kind": "number", "n": n, "x": x, "y": y, "to_x": to_x, "to_y": to_y, "text": text}


# Port lies bottom up to be planked: with the bow at the right its keel side is the upper one.
ALBUM = [
    SamplePicture(1, "girth-strip", "Port, dead flat: the girth on a paper strip, rabbet to wale.",
                  "Port side bottom up, bare frames: a paper strip along the frame at dead flat, with pencil ticks.",
                  at="⊗", drawn=(
                      _number(1, 0.72, 0.16, 0.56, 0.075, "rabbet: two ticks, so that I know the end"),
                      _number(2, 0.74, 0.66, 0.585, 0.80, "wale: one tick"),
                  )),
    SamplePicture(2, "battens", "Four battens pinned for the belts, port from the bow.",
                  "Port side bottom up, seen from the bow: four thin battens pinned along the bare frames.",
                  shared=False, has_position=True),
    SamplePicture(3, "slate", "Session 3, port.",
                  "A card lettered session 3, 15 February 2025, port 18, between strips of cherry.",
                  strakes=("18",)),
    SamplePicture(8, "letter", "The post came while I cut port 14.",
                  "An addressed envelope on the bench between two planks.",
                  strakes=("14",), shared=False),
    SamplePicture(10, "drop-strake", "Port strake 12 at the bow: it ends between Q and FH, let into 13.",
                  "Port strake 12 at the bow, between Q and FH: it narrows to a nib, and strake 13 is cut out for it.",
                  strakes=("12", "13"), at="Q", drawn=(
                      _number(1, 0.55, 0.26, 0.705, 0.45, "nib of strake 12"),
                      _number(2, 0.90, 0.66, 0.87, 0.49, "strake 13, cut out for it"),
                  )),
    SamplePicture(13, "heat-iron", "Port strake 11, its fore piece over the iron.",
                  "Port strake 11: a plank bent over the barrel of a hot iron.", strakes=("11",)),
    SamplePicture(16, "garboard", "Port strake 1, the garboard, hung along the keel.",
                  "Port strake 1 hung against the keel, H to 4; bare frames, then the run from the wale.",
                  strakes=("1",), at="⊗"),
    SamplePicture(20, "stealer", "Port stealer 3a at the after hood ends, let into 4.",
                  "Port strakes 3a and 4 at the stern, 16 to AH: a wedge of plank, the stealer, let into strake 4.",
                  strakes=("3a", "4"), at="AH", drawn=(
                      _number(1, 0.20, 0.34, 0.13, 0.52, "stealer 3a"),
                      _number(2, 0.42, 0.72, 0.33, 0.54, "strake 4, cut out for it"),
                  )),
    SamplePicture(23, "caliper-check", "Caliper A with its jaws shut. It reads 0.08.",
                  "A caliper with blue tape, its jaws shut, that shows 0.08; beside it a slip: shut, 0.08."),
    SamplePicture(24, "spoiled", "Port strake 9: the right width, and the one I cut from the old card.",
                  "Port strake 9, two planks: one by a slip that says 4.50, the narrower by one that says 3.75.",
                  strakes=("9",), at="⊗"),
    SamplePicture(25, "starboard-gap", "Starboard at 12: the frame I faired too hard, with the strip.",
                  "Starboard bilge: the open gap between strakes 4 and 10, a paper strip across it at station 12.",
                  side="starboard", strakes=("10", "4"), at="12"),
    SamplePicture(25, "bilge-gap", "Port bilge, bow at the right: the gap with a strip across it at dead flat.",
                  "Port bilge bottom up: frames in the gap between strakes 4 and 10, a paper strip across it.",
                  strakes=("10", "4"), at="⊗", drawn=(
                      _number(1, 0.66, 0.76, 0.50, 0.585, "free edge, from the wale"),
                      _number(2, 0.66, 0.11, 0.495, 0.27, "free edge, from the keel"),
                      _number(3, 0.24, 0.66, 0.11, 0.50, "frame timbers"),
                  )),
    SamplePicture(26, "clamped", "Port strake 9, station M to D, clamped.",
                  "Port strake 9, station M to D, clamped: three bars on pins hold it down beside strake 10.",
                  strakes=("9",), at="H"),
    SamplePicture(32, "last-gap", "Port: the last gap. Strake 7 is made to it.",
                  "Port bilge at dead flat: strakes 6 and 8 hung, 7 left out, a paper strip across the gap.",
                  strakes=("6", "7", "8"), at="⊗"),
    SamplePicture(34, "closing-dry", "Port strake 7, fore piece, dry in the gap. It goes down from the bow.",
                  "Port strake 7, M to dead flat, dry: one end lies in the last gap, the other stands proud of it.",
                  strakes=("7",), at="D", drawn=(
                      _number(1, 0.30, 0.20, 0.22, 0.35, "strake 7, dry"),
                      _number(2, 0.12, 0.62, 0.10, 0.44, "where its next piece goes"),
                  )),
    SamplePicture(35, "closed", "Starboard strake 7 is in. Closed.",
                  "The whole hull upright on its cradle, starboard side, planked below the wale without a gap.",
                  side="starboard", strakes=("7",)),
    SamplePicture(36, "from-the-bow", "Port from the bow, as it went to the club.",
                  "Port side bottom up, seen from the bow: every strake hung, 8 and 12 ending short of the stem.",
                  strakes=("8", "12"), at="FH"),
    SamplePicture(37, "scraped", "Starboard, half scraped: pale aft of D.",
                  "Starboard strake 9 and its neighbours at D: scraped pale aft of it, shavings and a steel card.",
                  side="starboard", strakes=("9",), at="D"),
]  # fmt: skip


def pictures_of(session: int) -> list[SamplePicture]:
    return [picture for picture in ALBUM if picture.session == session]


def hang_picture(bench, session, picture: SamplePicture, *, person, now, names: uuid.UUID):
    """Hand one picture in as a phone would, with the time in the file, and in one of them a place."""
    marks = [{"strake": bench.strakes[picture.side, label], "side": picture.side} for label in picture.strakes]
    marks = marks or [{"side": picture.side}]
    if picture.at:
        marks = [{**mark, "station": bench.stations[picture.at]} for mark in marks]
    photo, _created = receive_photo(
        bench.build, person, client_uuid=uuid.uuid5(names, f"{bench.build.uuid} {picture.file}"),
        file=ContentFile(_bytes(picture, now), name=f"{picture.file}.jpg"), session=session,
        caption=picture.caption, marks=marks, now=now,
    )  # fmt: skip
    photo.alt, photo.shared, photo.drawn = picture.alt, picture.shared, list(picture.drawn)
    photo.save(update_fields=["alt", "shared", "drawn"])
    return photo


def _bytes(picture: SamplePicture, taken: datetime) -> bytes:
    """Return the file as a camera would have written it."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make], exif[ExifTags.Base.Model] = "Invented", "Bench camera"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken.strftime("%Y:%m:%d %H:%M:%S")
    if picture.has_position:
        place = exif.get_ifd(ExifTags.IFD.GPSInfo)
        place[ExifTags.GPS.GPSLatitudeRef], place[ExifTags.GPS.GPSLatitude] = "N", (12.0, 34.0, 56.0)
        place[ExifTags.GPS.GPSLongitudeRef], place[ExifTags.GPS.GPSLongitude] = "W", (12.0, 34.0, 56.0)
    written = io.BytesIO()
    with Image.open(FOLDER / f"{picture.file}.jpg") as drawn:
        drawn.save(written, "JPEG", quality="keep", exif=exif)
    return written.getvalue()
