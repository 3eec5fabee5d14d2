"""Every file of the kit, judged by the whole intake: the check, then the strict decoding."""

import io

from buildlog.photos import child
from buildlog.photos.check import check
from buildlog.photos.refusals import ALL_REASONS, PhotoRefused
from tests.buildlog.photos.file_parts import SECRETS
from tests.buildlog.photos.kit import KEPT, kit

SIZES = ("large", "middle", "small")


def upload(entry):
    file = io.BytesIO(entry.content)
    file.name = entry.name
    return file


def verdict_on(entry, folder):
    """Return "kept" or the reason of the refusal, as an upload and then its job would come to it."""
    try:
        check(upload(entry))
    except PhotoRefused as refusal:
        return refusal.reason
    source = folder / "source"
    source.write_bytes(entry.content)
    return child.answer(source, folder).get("reason", KEPT)


def test_kit_is_large_enough_to_say_something():
    verdicts = [entry.verdict for entry in kit()]

    assert len(verdicts) >= 300
    assert verdicts.count(KEPT) >= 120
    assert len(verdicts) - verdicts.count(KEPT) >= 120


def test_kit_is_judged_right_to_the_last_file(tmp_path):
    wrong = []
    for entry in kit():
        found = verdict_on(entry, tmp_path)
        same = (
            found in ("other_kind", "not_a_photo") if entry.verdict == "not kept" else found == entry.verdict
        )
        if not same:
            wrong.append((entry.label, entry.verdict, found))

    assert wrong == []


def test_published_pictures_hold_nothing_but_the_picture(tmp_path):
    telling = [
        entry
        for entry in kit()
        if entry.verdict == KEPT and any(secret in entry.content for secret in SECRETS)
    ]
    leaks = []
    for entry in telling:
        (tmp_path / "source").write_bytes(entry.content)
        child.answer(tmp_path / "source", tmp_path)
        for size in SIZES:
            made = (tmp_path / f"{size}.jpg").read_bytes()
            leaks += [(entry.label, size, secret) for secret in SECRETS if secret in made]
            leaks += [(entry.label, size, name) for name in segments_besides_the_picture(made)]
            if not made.endswith(b"\xff\xd9"):
                leaks.append((entry.label, size, "a tail"))

    assert len(telling) >= 28
    assert leaks == []


def segments_besides_the_picture(jpeg: bytes) -> list[str]:
    """Name every segment of a JPEG that is no table, frame or scan, but for the plain JFIF head."""
    found, at = [], 2
    while jpeg[at + 1] != 0xDA:
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        if (0xE0 <= marker <= 0xEF or marker == 0xFE) and jpeg[at + 4 : at + 8] != b"JFIF":
            found.append(f"{marker:02x}")
        at += 2 + length
    return found


def test_refusals_are_single_sentences_that_name_the_file():
    odd = []
    for entry in (each for each in kit() if each.verdict not in (KEPT, "damaged")):
        try:
            check(upload(entry))
        except PhotoRefused as refusal:
            named = refusal.sentence.startswith(entry.name) and refusal.reason in ALL_REASONS
            if not (named and refusal.sentence.endswith(".") and len(refusal.sentence) <= 300):
                odd.append((entry.label, refusal.sentence))

    assert odd == []
