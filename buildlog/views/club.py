"""The club page: what a builder shared, for whoever has the link. It reads only, and has no way into the rooms.

Every answer asks anew whether the link still opens, so a revoked one shows nothing from the next request on.
"""

from datetime import datetime

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.feedgenerator import Atom1Feed
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from buildlog.access import link_to_read
from buildlog.drawn.club_files import page_as_one_file
from buildlog.drawn.club_pages import club_page_of
from buildlog.queries.links import shared_photos, shared_stories
from buildlog.site import throttle
from buildlog.site.bounds import plain_text
from buildlog.site.errors import too_many
from buildlog.views.photos import rendition_response

SEEN = "seen"
SEEN_SECONDS = 400 * 24 * 3600


def opened_by_link(view):
    """Give ``view`` the link that the token opens; tokens that open nothing are counted and then made to wait."""

    @require_safe
    @login_not_required
    def guarded(request, token, **arguments):
        wait = throttle.wait_for_token(request)
        if wait:
            return too_many(request, wait)
        try:
            link = link_to_read(token, request.now)
        except Http404:
            throttle.count_wrong_token(request)
            raise
        response = view(request, link, token=token, **arguments)
        response["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return guarded


@opened_by_link
def club(request, link, *, token):
    page = club_page_of(link, now=request.now, seen=_seen(request))
    response = render(request, "club/detail.html", {"page": page, "token": token, "link_name": link.name})
    response.set_cookie(
        SEEN, request.now.isoformat(), max_age=SEEN_SECONDS, path=request.path, httponly=True, samesite="Lax",
        secure=request.is_secure(),
    )  # fmt: skip
    return response


def _seen(request):
    """When this browser last looked at this page; the date stays in the browser and goes nowhere else."""
    try:
        moment = datetime.fromisoformat(request.COOKIES.get(SEEN, ""))
    except ValueError:
        return None
    return moment if moment.tzinfo else None


@opened_by_link
def club_photo(request, link, *, token, photo_uuid, size):
    photo = shared_photos(link.build).filter(uuid=photo_uuid).first()
    if photo is None:
        raise Http404
    return rendition_response(request, photo, size)


@opened_by_link
def club_file(request, link, *, token):
    """The whole page as one file: pictures inside, no script, dated; it cannot be called back."""
    page = club_page_of(link, now=request.now)
    html = page_as_one_file(page, now=request.now)
    response = HttpResponse(html, content_type="text/html; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{_file_name(page, request.now)}"'
    return response


def _file_name(page, now) -> str:
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in page.name).strip("-") or "hull"
    return f"{kept}-{now:%Y-%m-%d}.html"


@opened_by_link
def club_feed(request, link, *, token):
    """The shared sessions as an Atom feed, for a reader without an account."""
    here = request.build_absolute_uri(reverse("club", args=[token]))
    # Older texts, and those of a file that was taken in, may hold signs that break a feed.
    name = plain_text(link.build.name)
    feed = Atom1Feed(
        title=name, link=here, description=plain_text(link.build.story) or name, language="en",
        feed_url=request.build_absolute_uri(), feed_guid=f"urn:uuid:{link.build.uuid}",
    )  # fmt: skip
    for story in shared_stories(link.build, most=30):
        feed.add_item(
            title=_("%(name)s, %(day)s") % {"name": name, "day": story.date.isoformat()},
            link=f"{here}#session-{story.uuid}", description=plain_text(story.note) or _("Photographs"),
            unique_id=f"urn:uuid:{story.uuid}", pubdate=story.updated_at, updateddate=story.updated_at,
            author_name=plain_text(story.by) or name,
        )  # fmt: skip
    return HttpResponse(feed.writeString("utf-8"), content_type="application/atom+xml; charset=utf-8")
