"""The people of a build with their roles, and the invitations that wait."""

from dataclasses import dataclass

from buildlog.models import Membership, OneTimeLink, Person


@dataclass(frozen=True)
class PersonOfBuild:
    person: Person
    membership: Membership | None

    @property
    def role(self) -> str:
        return self.membership.role if self.membership else ""


def people_of(build) -> list[PersonOfBuild]:
    """Return every name of a build, with its membership where it has an account in it."""
    members = {m.account_id: m for m in Membership.objects.filter(build=build)}
    return [PersonOfBuild(p, members.get(p.account_id)) for p in build.people.select_related("account")]


def open_invitations(build, now):
    links = OneTimeLink.objects.filter(build=build, purpose=OneTimeLink.Purpose.INVITE)
    return links.filter(used_at=None, withdrawn_at=None, expires_at__gt=now).order_by("-made_at")
