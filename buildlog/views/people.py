"""People and roles, for the owner."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_own, of_build
from buildlog.actions import people as actions
from buildlog.actions.conflict import NotPossible
from buildlog.forms.people import InviteForm, PersonForm, RoleForm
from buildlog.models import Membership, OneTimeLink, Person
from buildlog.queries.people import open_invitations, people_of

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
def person_list(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    context = {"people": people_of(visit.build), "invitations": open_invitations(visit.build, request.now)}
    return render(request, "people/list.html", {"visit": visit, **context})


@page_and_form
def person_new(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    form = PersonForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        actions.add_person(visit.build, person=visit.person, now=request.now, **form.cleaned_data)
        return redirect("person-list", visit.build.uuid)
    return render(request, "people/new.html", {"visit": visit, "form": form})


@page_and_form
def person_detail(request, build_uuid, person_uuid):
    visit = build_to_own(request, build_uuid)
    one = of_build(Person.objects, visit.build, uuid=person_uuid)
    membership = _membership(one)
    initial = {"display_name": one.display_name, "pen_name": one.pen_name, "name_consent": one.name_consent}
    form = PersonForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        actions.edit_person(one, person=visit.person, now=request.now, **form.cleaned_data)
        messages.success(request, _("%(name)s is saved.") % {"name": one.display_name})
        return redirect("person-list", visit.build.uuid)
    role_form = RoleForm(initial={"role": membership.role}) if membership else None
    context = {"one": one, "form": form, "membership": membership, "role_form": role_form}
    return render(request, "people/detail.html", {"visit": visit, **context})


def _membership(one) -> Membership | None:
    return Membership.objects.filter(build=one.build, account=one.account).first() if one.account_id else None


def _membership_or_404(visit, person_uuid) -> Membership:
    membership = _membership(of_build(Person.objects, visit.build, uuid=person_uuid))
    if membership is None:
        raise Http404
    return membership


@require_POST
def person_role(request, build_uuid, person_uuid):
    visit = build_to_own(request, build_uuid)
    membership = _membership_or_404(visit, person_uuid)
    form = RoleForm(request.POST)
    try:
        if form.is_valid():
            actions.give_role(membership, form.cleaned_data["role"], person=visit.person, now=request.now)
            messages.success(request, _("The role is changed from the next page on."))
        else:
            messages.warning(request, _("May: choose one of the four."))
    except NotPossible as refused:
        messages.warning(request, refused.sentence)
    return _after(visit, membership, person_uuid)


@require_POST
def person_let_go(request, build_uuid, person_uuid):
    visit = build_to_own(request, build_uuid)
    membership = _membership_or_404(visit, person_uuid)
    try:
        actions.let_go(membership, person=visit.person, now=request.now)
        messages.success(request, _("Let go. The name stays with what it recorded."))
    except NotPossible as refused:
        messages.warning(request, refused.sentence)
    return _after(visit, membership, person_uuid)


def _after(visit, membership, person_uuid):
    """Go back to the person; whoever gave away their own ownership goes where they still may."""
    if membership.account_id == visit.person.account_id and membership.role != Membership.Role.OWNER:
        return redirect("bench", visit.build.uuid)
    return redirect("person-detail", visit.build.uuid, person_uuid)


@page_and_form
def invitation_new(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    form = InviteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        link, token = actions.invite(
            visit.build, account=request.user, person=visit.person, now=request.now, **form.cleaned_data
        )
        address = request.build_absolute_uri(reverse("one-time-link", args=[token]))
        return render(request, "people/invited.html", {"visit": visit, "link": link, "address": address})
    return render(request, "people/invite.html", {"visit": visit, "form": form})


@require_POST
def invitation_withdraw(request, build_uuid, link_uuid):
    visit = build_to_own(request, build_uuid)
    link = of_build(OneTimeLink.objects, visit.build, uuid=link_uuid, purpose=OneTimeLink.Purpose.INVITE)
    actions.withdraw_invitation(link, person=visit.person, now=request.now)
    messages.success(request, _("The invitation opens nothing any more."))
    return redirect("person-list", visit.build.uuid)


for view in (person_list, person_new, person_detail, person_role, person_let_go, invitation_new, invitation_withdraw):
    view.room = "shed"
