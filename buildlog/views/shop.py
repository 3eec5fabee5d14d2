"""The shop: wood, purchases, supplies, humidity, and the trials that teach the builder's own hand."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog import access
from buildlog.actions import shop as actions
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.readings import epoch_at
from buildlog.actions.sessions import local_date
from buildlog.forms import shop as forms
from buildlog.measuring.shop import PlankingError, joint_told, seam_of_shop
from buildlog.models import Lot, Purchase, Supply, TestJoint, TestStrip
from buildlog.queries import shop as queries
from buildlog.queries.widths import instruments_in_hand

from .widths import strake_of

page_and_form = require_http_methods(["GET", "HEAD", "POST"])
FORMS = {Lot: forms.LotForm, Purchase: forms.PurchaseForm, Supply: forms.SupplyForm}
TITLES = {Lot: gettext_lazy("Wood lot"), Purchase: gettext_lazy("Purchase"), Supply: gettext_lazy("Supply")}


@require_safe
def shop(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    build, seam = visit.build, seam_of_shop(visit.build)
    return render(request, "shop/detail.html", {
        "visit": visit, "build": build, "lots": queries.wood_lots(build),
        "supplies": queries.supplies_of(build, local_date(build, request.now)),
        "humidity": queries.humidity_of(build), "strips": queries.strips_of(build),
        "joints": queries.standing_joints(build), "seam": seam,
        "purchases": build.purchases.select_related("lot").order_by("-bought_on", "-pk") if visit.may_plan else [],
        "totals": queries.totals_paid(build) if visit.may_plan else [],
    })  # fmt: skip


def _new(model, least):
    @page_and_form
    def new(request, build_uuid):
        visit = least(request, build_uuid)
        initial = {"bought_on": local_date(visit.build, request.now)}
        form = FORMS[model](request.POST or None, build=visit.build, initial=initial)
        if form.is_valid():
            try:
                actions.add_row(model, visit.build, person=visit.person, now=request.now, **form.changes())
                return redirect("shop", visit.build.uuid)
            except Conflict as conflict:
                form.add_error("name", conflict.sentence)
        return _page(request, visit, form, title=TITLES[model], deed=_("Add"))

    new.room = "shed"
    return new


def _edit(model, least):
    @page_and_form
    def edit(request, build_uuid, row_uuid):
        visit = least(request, build_uuid)
        row = access.of_build(model.objects.select_related("build"), visit.build, uuid=row_uuid)
        if request.method != "POST":
            return _page(request, visit, FORMS[model](build=visit.build, initial=_seen(row)), title=TITLES[model])
        form = FORMS[model](request.POST, build=visit.build)
        if not form.is_valid():
            return _page(request, visit, form, title=TITLES[model])
        try:
            version = form.cleaned_data["version"] or 0
            actions.edit_row(row, version, person=visit.person, now=request.now, **form.changes())
        except Conflict as conflict:
            return _both(request, visit, form, conflict, title=TITLES[model])
        return redirect("shop", visit.build.uuid)

    edit.room = "shed"
    return edit


def _seen(row) -> dict:
    """Return a row as its form is filled in."""
    seen = {field.name: getattr(row, field.name) for field in row._meta.concrete_fields}
    if seen.get("thickness_nm"):
        seen["thickness"] = f"{seen['thickness_nm'] / 1e6:.2f} mm"
    if seen.get("price_cents") is not None:
        seen["price"] = f"{seen['price_cents'] // 100}.{seen['price_cents'] % 100:02d}"
    return seen


def _both(request, visit, form, conflict, *, title):
    """Theirs is told in words, ours stays in the fields under the version that stands now."""
    theirs = conflict.theirs
    if theirs is None:
        form.add_error("name", conflict.sentence)
        return _page(request, visit, form, title=title)
    data = form.data.copy()
    data["version"] = theirs.version
    told = [
        {"label": form.fields[name].label, "text": value}
        for name, value in _seen(theirs).items()
        if name in form.fields and name != "version" and str(value or "") != str(form.data.get(name) or "")
    ]
    again = type(form)(data, build=visit.build)
    return _page(request, visit, again, title=title, conflict=conflict, theirs=told, status=409)


def _page(request, visit, form, *, title, deed="", status=200, **context):
    context |= {"visit": visit, "build": visit.build, "form": form, "title": title, "deed": deed or _("Save it")}
    return render(request, "shop/form.html", context, status=status)


lot_new, lot_edit = _new(Lot, access.build_to_plan), _edit(Lot, access.build_to_plan)
purchase_new, purchase_edit = _new(Purchase, access.build_to_plan), _edit(Purchase, access.build_to_plan)
supply_new, supply_edit = _new(Supply, access.build_to_record), _edit(Supply, access.build_to_record)


@page_and_form
def strip_new(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    form = forms.StripForm(request.POST or None, build=visit.build)
    if form.is_valid():
        actions.record_strip(visit.build, person=visit.person, now=request.now, **form.changes())
        return redirect("shop", visit.build.uuid)
    return _page(request, visit, form, title=_("A strip bent as a trial"), deed=_("Add"), caution="hot tools")


@page_and_form
def joint_new(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    tools = visit.build.instruments.filter(pk__in=[one.pk for one in instruments_in_hand(visit.build)])
    form = forms.JointForm(request.POST or None, build=visit.build, instruments=tools)
    if form.is_valid():
        try:
            _record_joint(request, visit, form)
            return redirect("shop", visit.build.uuid)
        except PlankingError as refused:
            form.add_error(refused.field if refused.field in form.fields else None, str(refused))
    return _page(request, visit, form, title=_("A trial joint"), deed=_("Add"), caution="glue")


def _record_joint(request, visit, form):
    told, tool = form.cleaned_data, form.cleaned_data["instrument"]
    epoch = epoch_at(tool, request.now)
    zero = epoch.corrections.filter(withdrawn_at=None).first() if epoch else None
    seam = joint_told(
        told["strips"], told["across"].nm, instrument=tool, zero_offset_nm=zero.offset_nm if zero else 0
    )
    actions.record_joint(
        visit.build, person=visit.person, now=request.now, seam_nm=round(seam.seam_mm * 1e6),
        u_nm=round(seam.u_mm * 1e6), strips=len(told["strips"]), note=told["note"],
        typed=f"{form.data['strips'].strip()}; {told['across'].typed}"[:300],
    )  # fmt: skip


def _withdraw(model):
    @require_POST
    def withdraw(request, build_uuid, row_uuid):
        visit = access.build_to_record(request, build_uuid)
        row = access.of_build(model.objects.select_related("build"), visit.build, uuid=row_uuid)
        try:
            actions.withdraw_trial(row, person=visit.person, now=request.now)
        except NotPossible as refused:
            messages.info(request, refused.sentence)
        return redirect("shop", visit.build.uuid)

    withdraw.room = "shed"
    return withdraw


strip_withdraw, joint_withdraw = _withdraw(TestStrip), _withdraw(TestJoint)


@require_POST
def strake_wood(request, build_uuid, strake_uuid):
    """Say which wood the planks of a strake are of."""
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    form = forms.WoodForm(request.POST, build=visit.build)
    if form.is_valid():
        try:
            actions.set_lot(strake, form.cleaned_data["lot"], person=visit.person, now=request.now)
        except NotPossible as refused:
            messages.info(request, refused.sentence)
    else:
        messages.info(request, form.errors["lot"][0])
    return redirect("strake-detail", visit.build.uuid, strake.uuid)


shop.room = strip_new.room = joint_new.room = "shed"
strake_wood.room = "hull"
