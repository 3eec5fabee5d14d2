"""What is shared with the club: a page of sessions and photographs to tick."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from buildlog.access import build_to_own
from buildlog.actions.shares import share
from buildlog.queries.log import A_PAGE, sessions_of, stories_of


@require_http_methods(["GET", "HEAD", "POST"])
def share_list(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    page = Paginator(sessions_of(visit.build), A_PAGE).get_page(request.GET.get("page"))
    stories = stories_of(list(page.object_list))
    if request.method == "POST":
        changed = _share(request, visit, stories)
        said = ngettext("%(n)d thing changed for the club.", "%(n)d things changed for the club.", changed)
        messages.success(request, said % {"n": changed})
        return redirect(f"{reverse('share-list', args=[visit.build.uuid])}?page={page.number}")
    return render(request, "shares/list.html", {"visit": visit, "page": page, "stories": stories})


def _share(request, visit, stories) -> int:
    """Only rows that stood on the page as it was sent can change; others keep what they have."""
    sent, ticked = set(request.POST.getlist("on_page")), set(request.POST.getlist("shared"))
    sessions = {s.session: str(s.session.uuid) in ticked for s in stories if str(s.session.uuid) in sent}
    photos = {p: str(p.uuid) in ticked for s in stories for p in s.photos if str(p.uuid) in sent}
    return share(visit.build, sessions=sessions, photos=photos, person=visit.person, now=request.now)


share_list.room = "shed"
