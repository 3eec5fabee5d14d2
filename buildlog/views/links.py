"""Share links, for the owner: made, shown with their code, paused, opened again, renewed, revoked."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_own, of_build
from buildlog.actions import links as actions
from buildlog.actions.conflict import NotPossible
from buildlog.actions.sessions import local_date
from buildlog.forms.links import LinkForm
from buildlog.models import ShareLink
from buildlog.pictures.qr import qr
from buildlog.queries.links import state_of


@require_safe
def link_list(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    rows = [(link, state_of(link, request.now)) for link in visit.build.links.all()]
    return render(request, "links/list.html", {"visit": visit, "rows": rows})


@require_http_methods(["GET", "HEAD", "POST"])
def link_new(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    today = local_date(visit.build, request.now)
    form = LinkForm(request.POST if request.method == "POST" else None, build=visit.build, today=today)
    if request.method == "POST" and form.is_valid():
        link = actions.make_link(
            visit.build, name=form.cleaned_data["name"], person=visit.person, now=request.now,
            expires_at=form.expires_at, shows=form.shows,
        )  # fmt: skip
        return redirect("link-detail", visit.build.uuid, link.uuid)
    return render(request, "links/new.html", {"visit": visit, "form": form})


@require_safe
def link_detail(request, build_uuid, link_uuid):
    visit = build_to_own(request, build_uuid)
    link = of_build(ShareLink.objects, visit.build, uuid=link_uuid)
    state = state_of(link, request.now)
    context = {"visit": visit, "link": link, "state": state}
    if state != "revoked":
        address = request.build_absolute_uri(reverse("club", args=[actions.token_of(link)]))
        context |= {"address": address, "code": qr(address, summary=str(_("The link as a code for phones")), level="m")}
    return render(request, "links/detail.html", context)


def _deed(action, said):
    """Return the view of one deed on one link."""

    @require_POST
    def deed(request, build_uuid, link_uuid):
        visit = build_to_own(request, build_uuid)
        link = of_build(ShareLink.objects, visit.build, uuid=link_uuid)
        try:
            action(link, person=visit.person, now=request.now)
            messages.success(request, said % {"name": link.name})
        except NotPossible as refused:
            messages.warning(request, refused.sentence)
        return redirect("link-detail", visit.build.uuid, link.uuid)

    return deed


link_pause = _deed(actions.pause_link, _("%(name)s is paused: the link shows nothing until you open it again."))
link_open = _deed(actions.open_link, _("%(name)s opens again."))
link_revoke = _deed(actions.revoke_link, _("%(name)s is revoked for good."))
link_renew = _deed(actions.renew_link, _("%(name)s has a new address; the old one is dead."))

for view in (link_list, link_new, link_detail, link_pause, link_open, link_revoke, link_renew):
    view.room = "shed"
