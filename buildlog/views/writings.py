"""Writing down a tip, a mishap or a worry; the worries that stand, and closing one."""

import uuid

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from buildlog import access
from buildlog.actions.conflict import Conflict
from buildlog.actions.writings import close_worry, write_down
from buildlog.forms.writings import CloseForm, WritingForm
from buildlog.models import Strake, Worry
from buildlog.queries.log import labels_of
from buildlog.queries.writings import open_worries

from .photo_notes import strakes_to_name

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@page_and_form
def writing_new(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    initial = {
        "kind": request.GET.get("kind", "mishap"), "strake": request.GET.get("strake", ""), "client_uuid": uuid.uuid4(),
    }  # fmt: skip
    form = WritingForm(request.POST or None, strakes=strakes_to_name(visit), initial=initial)
    if form.is_valid():
        told = form.cleaned_data
        strakes = Strake.objects.select_related("opening")
        strake = (
            access.of_build(strakes, visit.build, lookup="opening__build", uuid=told["strake"])
            if told["strake"] else None
        )  # fmt: skip
        write_down(
            visit.build, told["kind"], text=told["text"], strake=strake, operation=told["operation"],
            person=visit.person, now=request.now, happened_at=request.kept_at,
            # A page kept on a phone may be written on more than once; what waits there has a name of its own.
            client_uuid=request.waiting_item or told["client_uuid"],
        )  # fmt: skip
        messages.success(request, _("It is written down."))
        return redirect("bench", visit.build.uuid)
    return render(request, "writings/new.html", {"visit": visit, "build": visit.build, "form": form})


@require_safe
def worry_list(request, build_uuid):
    visit = access.build_to_read(request, build_uuid)
    labels = labels_of(visit.build)
    worries = [{"row": row, "strake": labels.get(row.strake_id)} for row in open_worries(visit.build)]
    return render(request, "writings/worries.html", {"visit": visit, "build": visit.build, "worries": worries})


@page_and_form
def worry_close(request, build_uuid, worry_uuid):
    visit = access.build_to_record(request, build_uuid)
    worries = Worry.objects.select_related("session__build", "person")
    worry = access.of_build(worries, visit.build, lookup="session__build", uuid=worry_uuid)
    form = CloseForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            close_worry(worry, reason=form.cleaned_data["reason"], person=visit.person, now=request.now)
        except Conflict as conflict:
            form.add_error(None, f"{conflict.sentence} {conflict.theirs.closed_reason}")
            return _close_page(request, visit, worry, form, status=409)
        return redirect("worry-list", visit.build.uuid)
    return _close_page(request, visit, worry, form)


def _close_page(request, visit, worry, form, status=200):
    context = {"visit": visit, "build": visit.build, "worry": worry, "form": form}
    return render(request, "writings/close.html", context, status=status)


writing_new.room = "bench"
worry_list.room = worry_close.room = "log"
