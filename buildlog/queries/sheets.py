"""Photographs of a sheet filled in with pencil at the bench, to type its figures off."""

from uuid import UUID

from buildlog.models import Photo

# Somebody who photographed a sheet types it off soon after.
LATEST = 12


def latest_photos(build) -> list[Photo]:
    """Return the newest photographs that can be looked at."""
    return list(_shown(build).order_by("-received_at", "-pk")[:LATEST])


def sheet_of(build, photo_uuid) -> Photo | None:
    """Return the photograph that was chosen, or None where it is not one of this build's."""
    try:
        return _shown(build).filter(uuid=UUID(photo_uuid)).first() if photo_uuid else None
    except ValueError:
        return None


def _shown(build):
    return Photo.objects.filter(build=build, state=Photo.State.READY, taken_out_at__isnull=True)
