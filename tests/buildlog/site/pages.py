"""A few pages that do one thing each, so that what stands around every page can be tested by itself."""

import errno
import json

from django import forms
from django.contrib.auth.decorators import login_not_required
from django.db import OperationalError
from django.http import HttpResponse, JsonResponse
from django.urls import path
from django.views.decorators.http import require_POST, require_safe

from buildlog.models import Account, folded
from buildlog.site import health
from buildlog.site.disk import DiskFull
from buildlog.site.throttle import take_sign_in


class NameForm(forms.Form):
    name = forms.CharField(max_length=80)


@require_safe
def private(request):
    return HttpResponse(f"the log of {request.user.sign_in_name}")


@login_not_required
@require_safe
def public(request):
    return HttpResponse(f"{request.client_address} {request.scheme} {request.get_host()}")


@login_not_required
@require_safe
def kept(request):
    return HttpResponse("kept", headers={"Cache-Control": "private, max-age=60"})


@login_not_required
@require_safe
def moment(request):
    return HttpResponse(request.now.isoformat())


@login_not_required
def look_up(request):
    """Ask the database for whatever was sent, as a sign-in page does."""
    form = NameForm(request.POST if request.method == "POST" else request.GET)
    found = (
        form.is_valid() and Account.objects.filter(sign_in_folded=folded(form.cleaned_data["name"])).exists()
    )
    return HttpResponse(f"{found} {len(request.FILES)}")


@login_not_required
@require_POST
def told(request):
    return JsonResponse({"fields": dict(request.POST.lists()), "files": [each.size for each in request.FILES.values()]})


@login_not_required
@require_POST
def write(request):
    return HttpResponse(f"read {len(request.POST)}")


@login_not_required
def sign_in(request):
    wait = take_sign_in(request, request.GET.get("name", ""))
    return HttpResponse(str(wait), status=429 if wait else 200)


def _raising(problem):
    @login_not_required
    def view(request):
        raise problem

    return view


@login_not_required
def token_page(request, token):
    return HttpResponse("opened" if token else "")


@login_not_required
def says_json(request):
    return HttpResponse(json.dumps({"ok": True}), content_type="application/json")


urlpatterns = [
    path("", private, name="front"),
    path("public/", public),
    path("kept/", kept),
    path("moment/", moment),
    path("look-up/", look_up),
    path("write/", write),
    path("told/", told),
    path("sign-in/", sign_in, name="sign-in"),
    path("club/<token>/", token_page),
    path("once/<token>/", token_page, name="one-time-link"),
    path("json/", says_json),
    path("full/", _raising(DiskFull())),
    path("full-write/", _raising(OSError(errno.ENOSPC, "No space left on device"))),
    path("full-database/", _raising(OperationalError("database or disk is full"))),
    path("locked/", _raising(OperationalError("database is locked"))),
    path(
        "broken/",
        _raising(RuntimeError("the plank map fell over for token=abcdefghijklmnopqrstuvwxyz012345")),
    ),
    path("healthz", health.healthz, name="healthz"),
]
handler400 = "buildlog.site.errors.bad_request"
handler403 = "buildlog.site.errors.forbidden"
handler404 = "buildlog.site.errors.not_found"
handler500 = "buildlog.site.errors.failed"
