"""Cut cards: on screen, on paper, and what a scanned code says."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from buildlog import access
from buildlog.actions.cards import print_card, throw_away_card
from buildlog.drawn.cut_cards import card_pictures
from buildlog.forms.lengths import scale_of
from buildlog.measuring.cut_cards import card_to_cut
from buildlog.models import CardPrint, Membership
from buildlog.pictures.qr import qr
from buildlog.queries.cut_cards import card_print_by_code, changes_since, cut_card_of, is_old
from buildlog.queries.planks import OPEN, lots_of_strake, states_of_strakes
from buildlog.queries.plans import label_of_strake, revision_in_force
from buildlog.site import throttle

from .widths import strake_of


@require_safe
def detail(request, build_uuid, strake_uuid):
    visit = access.build_to_read(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    card = card_to_cut(visit.build, strake, revision_in_force(visit.build))
    shows_all = request.GET.get("stations") == "all"
    station_count = len(card.lines) if card else 0
    card = card and card.at_stations(all_of_them=shows_all)
    printed = _printed(strake, request.GET.get("printed", ""))
    if card and printed and printed.words == card.words:
        # What stands beside a code is what that print says, whatever has been learnt of the habit since.
        card = card.setting(printed.set_widths)
    template = "cards/one.html" if card and request.GET.get("show") == "one" else "cards/detail.html"
    return render(request, template, {
        "visit": visit, "build": visit.build, "strake": strake, "card": card, "scale": scale_of(visit.build),
        "label": card.label if card else label_of_strake(strake), "printed": printed, "lots": lots_of_strake(strake),
        "shows_all": shows_all, "station_count": station_count,
        "pictures": card_pictures(card, "card") if card else None,
        "qr": qr(_address(printed), summary=_("Scan to see whether this card is current")) if printed else None,
    })  # fmt: skip


detail.room = "bench"


def _printed(strake, code):
    return CardPrint.objects.filter(code=code, plan_strake__strake=strake).first() if code else None


def _address(printed) -> str:
    return settings.SITE_URL.rstrip("/") + reverse("card-scan", args=[printed.code])


@require_POST
def make_print(request, build_uuid, strake_uuid):
    """Keep what is about to stand on paper, then show it with its code."""
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    card = card_to_cut(visit.build, strake, revision_in_force(visit.build))
    if card is None:
        raise Http404
    printed = print_card(
        card.plan, words=card.words, widths_nm=card.widths_nm, set_widths=card.set_widths, person=visit.person,
        now=request.now,
    )  # fmt: skip
    where = reverse("card-detail", args=[visit.build.uuid, strake.uuid])
    every = "&stations=all" if request.GET.get("stations") == "all" else ""
    return redirect(f"{where}?printed={printed.code}{every}")


@require_safe
@login_not_required
def scan(request, code):
    """Say to anybody whether a card is current or OLD, and no more; to members, what changed."""
    if wait := throttle.wait_for_token(request):
        return render(request, "cards/wait.html", status=429, context={"seconds": wait})
    printed = card_print_by_code(code.upper())
    if printed is None:
        throttle.count_wrong_token(request)
        raise Http404
    build = printed.plan_strake.revision.build
    strake = printed.plan_strake.strake
    current = cut_card_of(build, strake, revision_in_force(build))
    old = is_old(printed, current.words if current else "")
    context = {"printed": printed, "old": old}
    if (
        request.user.is_authenticated
        and Membership.objects.filter(account=request.user, build=build).exists()
    ):
        context |= _for_members(request, build, strake, printed, current)
    return render(request, "cards/scan.html", context)


def _for_members(request, build, strake, printed, current) -> dict:
    visit = access.build_to_read(request, build.uuid)
    return {
        "visit": visit, "build": build, "strake": strake, "label": printed.plan_strake.label, "current": current,
        "changes": changes_since(printed, current and card_to_cut(build, strake, current.revision)),
        "state": states_of_strakes([strake.pk]).get(strake.pk, OPEN),
    }  # fmt: skip


scan.room = "bench"


@require_POST
def throw_away(request, build_uuid, card_uuid):
    visit = access.build_to_record(request, build_uuid)
    printed = access.of_build(
        CardPrint.objects.select_related("plan_strake__revision__build"), visit.build,
        lookup="plan_strake__revision__build", uuid=card_uuid,
    )  # fmt: skip
    throw_away_card(printed, person=visit.person, now=request.now)
    return redirect("bench", visit.build.uuid)
