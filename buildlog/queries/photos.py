"""Photographs as pages and the sweep ask for them."""

from buildlog.models import Photo, PhotoRendition
from buildlog.photos import store


def is_key_named(key: str) -> bool:
    """Say whether any row names this file. The original of a refused photograph is not kept."""
    sha256 = key.rpartition("/")[2]
    if key.startswith(f"{store.ORIGINALS}/"):
        return Photo.objects.filter(sha256=sha256).exclude(state=Photo.State.REFUSED).exists()
    return PhotoRendition.objects.filter(key=key).exists()
