"""What the club may see: sessions and photographs, one by one, private until shared."""

from django.db import transaction

from buildlog.models import Photo, Session

from .events import tell_event


def share(build, *, sessions, photos, person, now):
    """Let exactly these sessions and photographs, of those that were on the page, be shared.

    ``sessions`` and ``photos`` map rows to whether they are to be shared; what did not change is not touched.
    Returns how many changed.
    """
    with transaction.atomic():
        changed = [row for row, wanted in {**sessions, **photos}.items() if row.shared != wanted]
        for row in changed:
            model = Session if isinstance(row, Session) else Photo
            model.objects.filter(pk=row.pk, build=build).update(shared=not row.shared)
            tell_event("hid" if row.shared else "shared", row, build=build, now=now, person=person)
    return len(changed)
