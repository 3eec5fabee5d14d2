"""Every "may this person see or change this?": the only place that decides.

A stranger is told that there is nothing (404); somebody who may look but not do is told so (403). A role is
read afresh from the database at each request, so a change takes effect on the next one.
"""

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.http import Http404

from buildlog.models import Build, Membership, Person, ShareLink
from buildlog.queries.links import link_that_opens, token_digest

_ORDER = {"reader": 0, "helper": 1, "builder": 2, "owner": 3}


@dataclass(frozen=True)
class Visit:
    """A build as one account meets it: the build, the role, and the account's name in it."""

    build: Build
    role: str
    person: Person

    @property
    def may_record(self) -> bool:
        return _ORDER[self.role] >= _ORDER["helper"]

    @property
    def may_plan(self) -> bool:
        return _ORDER[self.role] >= _ORDER["builder"]

    @property
    def may_own(self) -> bool:
        return self.role == "owner"


def _visit(request, build_uuid, least: str) -> Visit:
    account = request.user
    if not account.is_authenticated or not account.is_active:
        raise Http404
    membership = (
        Membership.objects.select_related("build").filter(account=account, build__uuid=build_uuid).first()
    )
    if membership is None:
        raise Http404
    if _ORDER[membership.role] < _ORDER[least]:
        raise PermissionDenied
    person = Person.objects.filter(build=membership.build, account=account).first()
    visit = Visit(build=membership.build, role=membership.role, person=person)
    request.visit = visit
    return visit


def build_to_read(request, build_uuid) -> Visit:
    """Return the visit of anybody who may look."""
    return _visit(request, build_uuid, "reader")


def build_to_record(request, build_uuid) -> Visit:
    """Return the visit of a helper, builder or owner: one who may record at the bench."""
    return _visit(request, build_uuid, "helper")


def build_to_plan(request, build_uuid) -> Visit:
    """Return the visit of a builder or owner: one who may change the plan."""
    return _visit(request, build_uuid, "builder")


def build_to_own(request, build_uuid) -> Visit:
    """Return the visit of an owner: people, links, backups, originals."""
    return _visit(request, build_uuid, "owner")


def builds_of(account):
    """Return the builds that an account is a member of, newest first."""
    return Build.objects.filter(memberships__account=account).order_by("-created_at", "-pk")


def of_build(queryset, build, lookup="build", **fields):
    """Return the one row of ``queryset`` that belongs to ``build``, or 404 as for a row that is not there.

    ``lookup`` is the way from the row to its build: "build", or "opening__build" for a strake.
    """
    row = queryset.filter(**{lookup: build}, **fields).first()
    if row is None:
        raise Http404
    return row


def link_to_read(token: str, now) -> ShareLink:
    """Return the link that a token opens. Wrong, paused, run out and revoked look the same: nothing is there."""
    link = link_that_opens(token_digest(token), now) if token else None
    if link is None:
        raise Http404
    return link
