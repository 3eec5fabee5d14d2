"""What waited on a phone and was taken: each item once, whatever became of its deed afterwards.

A strake hung late, then unhung, must not hang again because the first answer was lost on its way.
"""

import hashlib
import json
from datetime import timedelta

from django.db import transaction
from django.http import HttpResponseRedirect, JsonResponse
from django.utils.translation import gettext as _

from buildlog.models import TakenItem

# What a phone sends again after a longer time is new here; its readings still have names of their own.
KEPT_FOR = timedelta(days=90)


def forget_old_items(*, now) -> int:
    """Take away the lines of what was taken long ago; return how many."""
    return TakenItem.objects.filter(taken_at__lt=now - KEPT_FOR).delete()[0]


class TakenOnce:
    """Take each item once: the deed and the line that says so are one transaction, and the same item again is given
    the first answer without a second deed. Photographs have names of their own, made of what they are, and their
    files must not be written while a transaction holds the database.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if not request.waiting_item or not request.user.is_authenticated or request.FILES:
            return self.get_response(request)
        with transaction.atomic():
            line, is_new = _claim(request)
            return self._take(request, line) if is_new else _again(request, line)

    def _take(self, request, line):
        response = self.get_response(request)
        answer = _taken(response)
        if response.status_code >= 500:
            transaction.set_rollback(True)
        elif answer:
            line.answer = answer
            line.save(update_fields=["answer"])
        else:
            line.delete()
        return response


def _taken(response) -> dict:
    """Return what to answer the next time; nothing where the item was not taken."""
    if response.status_code in (302, 303):
        return {"location": response["Location"]}
    if response.status_code in (200, 201) and response.get("Content-Type", "").startswith("application/json"):
        return {"body": json.loads(response.content)}
    return {}


def _again(request, line):
    is_theirs = line.account_id != request.user.pk
    if is_theirs or line.digest != _digest(request):
        told = {"sentence": _("The log has this item already, with other content.")}
        # Two tabs of one phone began with one draft: what the second wrote may come again under an id of its own.
        return JsonResponse(told if is_theirs else told | {"taken": True}, status=409)
    if "location" in line.answer:
        return HttpResponseRedirect(line.answer["location"])
    return JsonResponse(line.answer["body"], status=200)


def _digest(request) -> str:
    """Return the content as one name: where it is sent and its fields in order, whatever the token of the page was."""
    fields = [(name, request.POST.getlist(name)) for name in sorted(request.POST) if name != "csrfmiddlewaretoken"]
    return hashlib.sha256(json.dumps([request.path, fields]).encode()).hexdigest()


def _claim(request) -> tuple[TakenItem, bool]:
    """Return the line of an item, and whether it is new. Two posts at once: the second waits here for the first."""
    told = {"account": request.user, "digest": _digest(request), "taken_at": request.now}
    return TakenItem.objects.get_or_create(client_uuid=request.waiting_item, defaults=told)
