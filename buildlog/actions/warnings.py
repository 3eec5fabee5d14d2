"""*Not now*: a warning stays away from one person until its facts change."""

from buildlog.models import HiddenWarning


def hide_warning(build, *, person, fingerprint, now):
    """Put one warning off. Twice changes nothing."""
    HiddenWarning.objects.get_or_create(
        build=build, person=person, fingerprint=fingerprint, defaults={"at": now}
    )
