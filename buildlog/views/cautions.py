"""The cautions: all of them on one page, and the mark that one was read."""

from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from buildlog.actions.shop import see_caution
from buildlog.models import CautionSeen


@require_safe
def caution_list(request):
    return render(request, "help/cautions.html")


@require_POST
def caution_seen(request, key):
    if key not in CautionSeen.KEYS:
        raise Http404
    see_caution(request.user, key, now=request.now)
    back = request.POST.get("back", "")
    safe = back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return redirect(back if safe else "caution-list")
