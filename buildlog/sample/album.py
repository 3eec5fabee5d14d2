"""Which drawn picture belongs to which session, and what is said of it."""

import io
import uuid
from dataclasses import dataclass
from datetime import datetime

from django.core.files.base import ContentFile
from PIL import ExifTags, Image

from buildlog.actions.photos import receive_photo

from .drawings import FOLDER


@dataclass(frozen=True)
class SamplePicture:
    """One picture of a session; ``at`` is a station, ``strakes`` those that it shows."""

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


ALBUM = [
    SamplePicture(1, "girth-strip", "The girth taken with a paper strip, port at dead flat.",
                  "A paper strip with pencil ticks along a bare frame.", at="⊗"),
    SamplePicture(2, "battens", "Four battens pinned for the belts, port from the bow.",
                  "Four thin battens pinned across the bare frames.", has_position=True),
    SamplePicture(3, "slate", "Session 3, port.", "A card that says session 3, 15 February, port."),
    SamplePicture(8, "letter", "The post came while I cut 14.", "A plank beside a letter.", strakes=("14",),
                  shared=False),
    SamplePicture(10, "drop-strake", "Port 12 stops between Q and the stem; its neighbours close over it.",
                  "A strake that ends short near the bow, let into its neighbour.", strakes=("12",), at="Q"),
    SamplePicture(13, "heat-iron", "Port strake 11 over the iron.", "A hot iron over a bent plank.", strakes=("11",)),
    SamplePicture(16, "garboard", "Port garboard in place.", "The first strake against the keel, frames bare above it.",
                  strakes=("1",)),
    SamplePicture(20, "stealer", "The stealer 3a at the stern, port.", "A short plank let in at the stern.",
                  strakes=("3a", "4"), at="AH"),
    SamplePicture(23, "caliper-check", "Caliper A with its jaws shut.", "A caliper, jaws shut, that shows 0.08."),
    SamplePicture(24, "spoiled", "The right strake 9, and the one I cut from the old card.",
                  "Two planks, one marked 4.50, the narrower one marked 3.75, revision 1.", strakes=("9",), at="⊗"),
    SamplePicture(25, "bilge-gap", "The bilge gap from outside, a strip across it at dead flat.",
                  "An open gap in the planking, frames behind it, a paper strip across it.",
                  strakes=("10", "4"), at="⊗", drawn=(
                      _number(1, 0.70, 0.27, 0.57, 0.34, "free edge, from the wale"),
                      _number(2, 0.70, 0.78, 0.57, 0.69, "free edge, from the keel"),
                      _number(3, 0.30, 0.58, 0.20, 0.50, "frame timbers"),
                  )),
    SamplePicture(34, "last-gap", "The last gap, port: strake 7 is made to it.",
                  "One strake left out, a paper strip across the gap.", strakes=("7",), at="⊗"),
    SamplePicture(35, "closed", "Closed.", "The planked side without a gap.", side="starboard", strakes=("7",)),
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
    exif[ExifTags.Base.Make], exif[ExifTags.Base.Model] = "Drawn", "by code"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken.strftime("%Y:%m:%d %H:%M:%S")
    if picture.has_position:
        place = exif.get_ifd(ExifTags.IFD.GPSInfo)
        place[ExifTags.GPS.GPSLatitudeRef], place[ExifTags.GPS.GPSLatitude] = "N", (12.0, 34.0, 56.0)
        place[ExifTags.GPS.GPSLongitudeRef], place[ExifTags.GPS.GPSLongitude] = "W", (12.0, 34.0, 56.0)
    written = io.BytesIO()
    with Image.open(FOLDER / f"{picture.file}.jpg") as drawn:
        drawn.save(written, "JPEG", quality="keep", exif=exif)
    return written.getvalue()
