"""The printers of the shop: a page of two bars to print, and how long they came out."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from buildlog.access import build_to_record
from buildlog.actions.printers import check_printer
from buildlog.forms.printers import BAR_NM, PrinterCheckForm
from buildlog.queries.printers import printers_of


@require_http_methods(["GET", "HEAD", "POST"])
def printer_list(request, build_uuid):
    visit = build_to_record(request, build_uuid)
    form = PrinterCheckForm(request.POST or None, build=visit.build)
    if form.is_valid():
        told = form.cleaned_data
        check_printer(
            visit.build, printer=told["printer"], paper=told["paper"], nominal_nm=BAR_NM, along_nm=told["along"].nm,
            across_nm=told["across"].nm, person=visit.person, now=request.now,
        )  # fmt: skip
        messages.success(request, _("The check of %(printer)s is kept.") % {"printer": told["printer"]})
        return redirect("printer-list", visit.build.uuid)
    return render(request, "printers/list.html", {
        "visit": visit, "build": visit.build, "form": form, "printers": printers_of(visit.build),
    })  # fmt: skip


@require_safe
def printer_bars(request, build_uuid):
    """Two bars of 100 mm, to be printed at their size and measured."""
    visit = build_to_record(request, build_uuid)
    return render(request, "printers/bars.html", {"visit": visit, "build": visit.build})


printer_list.room = printer_bars.room = "shed"
