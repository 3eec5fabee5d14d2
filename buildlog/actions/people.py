"""People of a build: invited, given another role, renamed, let go. A build always keeps one owner."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Membership, OneTimeLink, Person

from .conflict import NotPossible
from .events import tell_event
from .one_time_links import make_one_time_link


def add_person(build, *, display_name, person, now, pen_name="", name_consent=False):
    """Add a name that readings may point at, with no account behind it."""
    with transaction.atomic():
        added = Person.objects.create(
            build=build, display_name=display_name, pen_name=pen_name, name_consent=name_consent
        )
        tell_event("added", added, build=build, now=now, person=person)
    return added


def edit_person(one, *, display_name, pen_name, name_consent, person, now):
    """Change a name, the pen name, and the leave to show the name on the club page."""
    before = {"display_name": one.display_name, "pen_name": one.pen_name, "name_consent": one.name_consent}
    one.display_name, one.pen_name, one.name_consent = display_name, pen_name, name_consent
    with transaction.atomic():
        one.save(update_fields=["display_name", "pen_name", "name_consent"])
        after = {"display_name": display_name, "pen_name": pen_name, "name_consent": name_consent}
        tell_event("edited", one, build=one.build, now=now, person=person, before=before, after=after)
    return one


def invite(build, *, role, for_name, account, person, now):
    """Make a link that joins the build with a role, once; return the row and its token."""
    with transaction.atomic():
        link, token = make_one_time_link(
            OneTimeLink.Purpose.INVITE, now=now, build=build, role=role, for_name=for_name, made_by=account
        )
        tell_event("invited", link, build=build, now=now, person=person, after={"role": role, "for": for_name})
    return link, token


def withdraw_invitation(link, *, person, now):
    with transaction.atomic():
        OneTimeLink.objects.filter(pk=link.pk, used_at=None).update(withdrawn_at=now)
        tell_event("withdrew", link, build=link.build, now=now, person=person)


def give_role(membership, role, *, person, now):
    """Give a member another role; the last owner stays one."""
    with transaction.atomic():
        if membership.role == Membership.Role.OWNER and role != Membership.Role.OWNER:
            _keep_an_owner(membership)
        before, membership.role = membership.role, role
        membership.save(update_fields=["role"])
        tell_event("gave role", membership, build=membership.build, now=now, person=person,
                   before={"role": before}, after={"role": role})  # fmt: skip
    return membership


def let_go(membership, *, person, now):
    """End a membership. The name stays with its readings; the account sees nothing from the next request on."""
    with transaction.atomic():
        if membership.role == Membership.Role.OWNER:
            _keep_an_owner(membership)
        tell_event("let go", membership, build=membership.build, now=now, person=person,
                   before={"role": membership.role})  # fmt: skip
        membership.delete()


def _keep_an_owner(membership):
    owners = Membership.objects.select_for_update().filter(build=membership.build, role=Membership.Role.OWNER)
    if not owners.exclude(pk=membership.pk).exists():
        raise NotPossible(_("A build keeps one owner at least. Make somebody else an owner first."), field="role")
