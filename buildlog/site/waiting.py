"""What a phone's waiting list is answered: any form of the site, as JSON that says the item's own id back.

A phone deletes an item only when its id came back, so the id is added here and nowhere else: a page that some other
server put in between cannot know it.
"""

import json
import re
from datetime import timedelta
from html.parser import HTMLParser
from uuid import UUID

from django.http import JsonResponse
from django.utils.translation import gettext as _

from buildlog.models import Build

ITEM, WAITED = "X-Waiting-Item", "X-Waited"
# What claims to have waited longer was written under a clock that was put right since.
LONGEST_WAIT = timedelta(days=60)
# Sent at once; the time of the log is then the better clock.
AT_ONCE = timedelta(seconds=60)
# The phone lets a hand wait six seconds at Done; what comes later is told of on the next page.
HAND_WENT_ON = timedelta(seconds=7)


class WaitingAnswers:
    """Set `request.kept_at`, when the phone wrote the item down, and `request.was_kept`, whether a hand was told so and
    has gone on; answer items in JSON.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.kept_at, request.waiting_item, request.was_kept = None, None, False
        item = _uuid(request.headers.get(ITEM, "")) if request.method == "POST" else None
        if item is None:
            return self.get_response(request)
        waited = _waited(request)
        request.waiting_item, request.was_kept = item, waited >= HAND_WENT_ON
        request.kept_at = request.now - waited if AT_ONCE <= waited <= LONGEST_WAIT else None
        return _answer(item, self.get_response(request))

    def process_view(self, request, _view, _args, named):
        """Take for now what claims to be older than its build: that is a clock put right since as well."""
        made_since = Build.objects.filter(uuid=named.get("build_uuid"), created_at__gt=request.kept_at or request.now)
        if request.kept_at and made_since.exists():
            request.kept_at = None


def _uuid(text: str) -> str | None:
    try:
        return str(UUID(text))
    except ValueError:
        return None


def _waited(request) -> timedelta:
    """Return how long ago the item was written down, so that the phone's own clock may be wrong."""
    text = request.headers.get(WAITED, "")
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII):
        return timedelta(0)
    return timedelta(seconds=int(text))


def _answer(item: str, response):
    status = response.status_code
    if status == 401 or status >= 500 or response.streaming:
        return response
    if status in (302, 303):
        return _json(response, {"client_uuid": item, "next": response["Location"]}, 200)
    if 300 <= status < 400:
        # No view led there, so nothing was done: a missing last slash, for one.
        return _json(response, {"client_uuid": item, "sentence": _("Nothing of the log takes this.")}, 404)
    if response.get("Content-Type", "").startswith("application/json"):
        body = json.loads(response.content)
        return _json(response, {"sentence": sentence_of(body)} | body | {"client_uuid": item}, status)
    # A form that came back as a page was not taken: what it says is on it.
    sentence = first_problem(response.content.decode(response.charset, "replace"))
    return _json(response, {"client_uuid": item, "sentence": sentence}, 422 if status < 400 else status)


def _json(response, body: dict, status: int) -> JsonResponse:
    answer = JsonResponse(body, status=status)
    answer.cookies = response.cookies
    return answer


def sentence_of(body: dict) -> str:
    """Return the first sentence of an entry's JSON: what is asked, else refused, else what stands in the way."""
    for name in ("conflicts", "asks", "refused", "errors"):
        found = _first(body.get(name))
        if found:
            return found
    return str(body.get("message", ""))


def _first(told) -> str:
    """Return the first text in what a form told: by field, in lists, or with a name of its own."""
    if isinstance(told, str):
        return told
    if isinstance(told, dict) and "sentence" in told:
        return " ".join(filter(None, [str(told.get("name", "")), str(told["sentence"])]))
    values = told.values() if isinstance(told, dict) else told if isinstance(told, list) else []
    return next(filter(None, map(_first, values)), "")


class _Problem(HTMLParser):
    """The text of the first element that says what is wrong: class err, or the sentence of a problem's page."""

    def __init__(self):
        super().__init__()
        self.depth, self.text, self.is_done = 0, [], False

    def handle_starttag(self, tag, attrs):
        if tag in ("input", "br", "img", "meta", "link"):
            return
        classes = (dict(attrs).get("class") or "").split()
        if self.depth or (not self.is_done and {"err", "problem", "errorlist"} & set(classes)):
            self.depth += 1

    def handle_endtag(self, tag):
        if self.depth:
            self.depth -= 1
            self.is_done = self.depth == 0

    def handle_data(self, data):
        if self.depth:
            self.text.append(data)


def first_problem(page: str) -> str:
    reader = _Problem()
    reader.feed(page)
    return " ".join(" ".join(reader.text).split())[:300]
