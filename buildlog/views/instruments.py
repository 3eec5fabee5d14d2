"""The register of instruments: zero checks, *zero may have moved*, corrections that keep what was read."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_plan, build_to_read, build_to_record, of_build
from buildlog.actions import instruments as actions
from buildlog.actions.conflict import Conflict
from buildlog.drawn.instrument_lines import instrument_line_of
from buildlog.forms.instruments import CorrectionForm, InstrumentForm, NoteForm, ZeroCheckForm
from buildlog.models import Instrument, ZeroCorrection
from buildlog.queries.instruments import (
    corrections_of,
    history_of,
    instruments_of,
    off_epochs_of,
    state_of,
    strakes_in_epoch,
)

page_and_form = require_http_methods(["GET", "HEAD", "POST"])
U_CHECK_NM = 5_000


@require_safe
def instrument_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    return render(request, "instruments/list.html", {"visit": visit, "rows": instruments_of(visit.build)})


@page_and_form
def instrument_new(request, build_uuid):
    visit = build_to_record(request, build_uuid)
    form = InstrumentForm(request.POST if request.method == "POST" else None, build=visit.build)
    if request.method == "POST" and form.is_valid():
        try:
            added = _add(visit, form.cleaned_data, request.now)
            return redirect("instrument-detail", visit.build.uuid, added.uuid)
        except Conflict as taken:
            form.add_error("name", taken.sentence)
    return render(request, "instruments/new.html", {"visit": visit, "form": form})


def _add(visit, told, now):
    doubt = {"u_nm": told["u"].nm} if told.get("u") else {}
    return actions.add_instrument(
        visit.build, name=told["name"], kind=told["kind"], owner=told["owner"], reading_unit=told["reading_unit"],
        person=visit.person, now=now, **doubt,
    )  # fmt: skip


@require_safe
def instrument_detail(request, build_uuid, instrument_uuid):
    visit = build_to_read(request, build_uuid)
    return _detail(request, visit, of_build(Instrument.objects, visit.build, uuid=instrument_uuid))


def _detail(request, visit, instrument, *, asked=None, correction_form=None, **bound):
    history, corrections = history_of(instrument), corrections_of(instrument)
    offers = [
        {"off": off, "strakes": strakes_in_epoch(off.epoch),
         "form": correction_form if correction_form and off == asked else CorrectionForm(auto_id=f"id{n}_%s")}
        for n, off in enumerate(off_epochs_of(instrument))
    ]  # fmt: skip
    context = {
        "visit": visit, "instrument": instrument, "state": state_of(instrument), "history": history,
        "corrections": corrections, "line": instrument_line_of(instrument, history, [one.row for one in corrections]),
        "offers": offers, "check_form": ZeroCheckForm(build=visit.build), "moved_form": NoteForm(), **bound,
    }  # fmt: skip
    return render(request, "instruments/detail.html", context)


@require_POST
def zero_check(request, build_uuid, instrument_uuid):
    visit = build_to_record(request, build_uuid)
    instrument = of_build(Instrument.objects, visit.build, uuid=instrument_uuid)
    form = ZeroCheckForm(request.POST, build=visit.build)
    if not form.is_valid():
        return _detail(request, visit, instrument, check_form=form)
    actions.check_zero(
        instrument, offset_nm=form.offset_nm, u_nm=U_CHECK_NM, note=form.cleaned_data["note"], person=visit.person,
        now=request.now,
    )  # fmt: skip
    messages.success(request, _("The zero check is kept."))
    return redirect("instrument-detail", visit.build.uuid, instrument.uuid)


@require_POST
def zero_moved(request, build_uuid, instrument_uuid):
    visit = build_to_record(request, build_uuid)
    instrument = of_build(Instrument.objects, visit.build, uuid=instrument_uuid)
    form = NoteForm(request.POST)
    if not form.is_valid():
        return _detail(request, visit, instrument, moved_form=form)
    actions.tell_zero_may_have_moved(
        instrument, note=form.cleaned_data["note"], person=visit.person, now=request.now
    )
    messages.success(request, _("Noted. Readings from now on are in doubt until the zero is checked."))
    return redirect("instrument-detail", visit.build.uuid, instrument.uuid)


@require_POST
def zero_correct(request, build_uuid, instrument_uuid):
    """Take what the last check of an epoch read off its readings, or let them count as read: both end the doubt.

    What was read stays as read.
    """
    visit = build_to_plan(request, build_uuid)
    instrument = of_build(Instrument.objects, visit.build, uuid=instrument_uuid)
    asked, form = _asked(request, instrument), CorrectionForm(request.POST)
    if asked is None:
        messages.warning(request, _nothing_to_correct(instrument))
    elif not form.is_valid():
        return _detail(request, visit, instrument, asked=asked, correction_form=form)
    else:
        _correct(request, visit, asked, form.cleaned_data["reason"])
    return redirect("instrument-detail", visit.build.uuid, instrument.uuid)


def _asked(request, instrument):
    """Return the epoch that a form names, of those that ask for a correction; the newest where it names none."""
    off, named = off_epochs_of(instrument), request.POST.get("epoch", "")
    return next((one for one in off if named in ("", str(one.epoch.uuid))), None)


def _nothing_to_correct(instrument):
    if any(one.row.withdrawn_at is None for one in corrections_of(instrument)):
        return _("A correction already stands for these readings; withdraw it first.")
    return _("Check the zero first: there is nothing to correct by.")


def _correct(request, visit, asked, reason):
    as_read = "as_read" in request.POST
    try:
        actions.correct_zero(
            asked.epoch, offset_nm=0 if as_read else asked.offset_nm, reason=reason,
            u_nm=actions.USUAL_U_NM[asked.epoch.instrument.kind][1] if as_read else U_CHECK_NM,
            person=visit.person, now=request.now,
        )  # fmt: skip
        said = _("They count as they were read.") if as_read else _("Corrected.")
        messages.success(request, said + " " + _("It can be withdrawn at any time."))
    except Conflict as taken:
        messages.warning(request, taken.sentence)


@require_POST
def zero_correction_withdraw(request, build_uuid, correction_uuid):
    visit = build_to_plan(request, build_uuid)
    correction = ZeroCorrection.objects.filter(
        uuid=correction_uuid, epoch__instrument__build=visit.build
    ).first()
    if correction is None:
        raise Http404
    actions.withdraw_correction(correction, person=visit.person, now=request.now)
    messages.success(request, _("Withdrawn. The readings count as they were read, and are in doubt."))
    return redirect("instrument-detail", visit.build.uuid, correction.epoch.instrument.uuid)


for view in (
    instrument_list, instrument_new, instrument_detail, zero_check, zero_moved, zero_correct, zero_correction_withdraw,
):  # fmt: skip
    view.room = "shed"
