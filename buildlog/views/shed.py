"""The Shed room: what is kept in order away from the bench."""

from django.conf import settings
from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.models import SignedInPhone
from buildlog.queries.backups import may_back_up
from buildlog.queries.instruments import instruments_of
from buildlog.queries.links import state_of
from buildlog.site.backups import last_verified_at

OLD_BACKUP_DAYS = 7


@require_safe
def shed(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    links = [state_of(link, request.now) for link in visit.build.links.all()] if visit.may_own else []
    last = last_verified_at()
    return render(request, "shed/detail.html", {
        "visit": visit, "instruments": instruments_of(visit.build), "links_open": links.count("open"),
        "people": visit.build.people.count(), "phones": SignedInPhone.objects.filter(account=request.user).count(),
        "may_back_up": visit.may_own and may_back_up(request.user), "last_backup": last,
        "backup_is_old": last is None or (request.now - last).days >= OLD_BACKUP_DAYS, "is_https": settings.IS_HTTPS,
    })  # fmt: skip
