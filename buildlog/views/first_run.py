"""What the pages of the first run share: one question a page, and going back keeps what was typed."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from buildlog.access import build_to_plan
from buildlog.actions import builds as actions
from buildlog.queries.builds import PAGES, first_run_step, question_of
from buildlog.queries.plans import revision_in_force

LONGEST_DRAFT = 200
MOST_DRAFTED = 200
NOT_DRAFTED = {"csrfmiddlewaretoken", "version"}


def page_url(build, page: str, side: str = "") -> str:
    return reverse(page, args=[build.uuid, side] if side else [build.uuid])


def go_on(build, page: str, side: str = ""):
    """Leave a page that was answered: to the next question, or back to the plan where one stands."""
    actions.drop_draft(build, draft_key(page, side))
    build.refresh_from_db()
    if revision_in_force(build):
        return redirect("plan", build.uuid)
    pages = [(name, "") for name in PAGES] + [("first-plan-gaps", s) for s in build.side_list]
    after = pages.index((page, side)) + 1
    following = pages[after] if after < len(pages) else ("first-plan", "")
    # A question that stands further back (the sides were changed) is asked first.
    asked = first_run_step(build)
    order = [*pages, ("first-plan", "")]
    if asked in order and order.index(asked) < order.index(following):
        following = asked
    return redirect(page_url(build, *following))


def draft_key(page: str, side: str = "") -> str:
    return f"{page} {side}".strip()


def typed_before(build, page: str, side: str = "") -> dict:
    """Return what was typed on a page that was left by its back button."""
    return build.first_run.get("drafts", {}).get(draft_key(page, side), {})


def ask(request, visit, template: str, page: str, form, *, side: str = "", status=200, **context):
    """Show one question of the first run with its form."""
    build = visit.build
    planned = revision_in_force(build) is not None
    return render(
        request,
        template,
        {
            "visit": visit, "build": build, "form": form, "side": side, "planned": planned,
            "question": None if planned else question_of(build, page, side),
            "back_url": reverse("first-run-back", args=[build.uuid, page, side or "-"]),
            **context,
        },
        status=status,
    )  # fmt: skip


def changed_meanwhile(form, conflict) -> None:
    """Say that a newer version stands; the form keeps what was typed and can be sent again over it."""
    form.data = form.data.copy()
    form.data["version"] = conflict.theirs.version
    form.add_error(None, _("%(what)s What you typed is still here: look at both, then send it again.") % {
        "what": conflict.sentence
    })  # fmt: skip


@require_POST
def back(request, build_uuid, page, side):
    """Keep what was typed on a page as it is, and go to the page before."""
    visit = build_to_plan(request, build_uuid)
    build, side = visit.build, "" if side == "-" else side
    if page not in [*PAGES, "first-plan-gaps"] or (page == "first-plan-gaps") != (side in build.side_list):
        return redirect("home")
    typed = {
        name[:60]: request.POST[name][:LONGEST_DRAFT]
        for name in list(request.POST)[:MOST_DRAFTED]
        if name not in NOT_DRAFTED
    }
    actions.keep_draft(build, draft_key(page, side), typed)
    before = question_of(build, page, side).before
    return redirect(page_url(build, *before) if before else reverse("build-list"))
