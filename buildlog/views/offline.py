"""What stands on a phone without a signal: the data-free page, the worker that keeps it, and the manifest."""

import hashlib
import json

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

KEPT = [
    "css/reckoner.css", "fonts/latin-normal.woff2", "js/store.js", "js/waiting.js", "js/keypad.js", "js/offline.js",
    "img/favicon.svg", "img/icon-192.png",
]  # fmt: skip


@require_safe
@login_not_required
def offline(request):
    """Show the page that holds nothing of anybody; a script draws the forms from what the phone keeps."""
    return _short_lived(render(request, "offline/detail.html", {"signed_in": False, "theme": "", "messages": []}))


@require_safe
@login_not_required
def worker(request):
    """Give the worker with the addresses it keeps; a new version of any of them is a new worker."""
    files = [reverse("offline"), *map(static, KEPT)]
    page = render_to_string("offline/detail.html")
    told = json.dumps(files) + page
    context = {"files": json.dumps(files), "name": f"offline-{hashlib.sha256(told.encode()).hexdigest()[:12]}"}
    response = render(request, "offline/worker.js", context, content_type="text/javascript; charset=utf-8")
    return _short_lived(response)


@require_safe
@login_not_required
def manifest(request):
    told = json.loads((settings.ROOT / "static/img/reckoner.webmanifest").read_text("utf-8"))
    told["icons"] = [icon | {"src": static(f"img/{icon['src']}")} for icon in told["icons"]]
    return _short_lived(JsonResponse(told, content_type="application/manifest+json"))


def _short_lived(response) -> HttpResponse:
    response["Cache-Control"] = "public, max-age=0, must-revalidate"
    return response
