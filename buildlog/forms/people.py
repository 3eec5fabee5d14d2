"""Names of a build, and who may do what in it."""

from django import forms
from django.utils.translation import gettext_lazy as _

from buildlog.models import Membership

from .choices import choose_one

ROLE_WORDS = [
    (Membership.Role.READER, _("reader: looks")),
    (Membership.Role.HELPER, _("helper: records, does not plan")),
    (Membership.Role.BUILDER, _("builder: records and plans")),
    (Membership.Role.OWNER, _("owner: also people, links and backups")),
]


def _name_field(label, **kwargs):
    return forms.CharField(label=label, max_length=80, **kwargs)


class PersonForm(forms.Form):
    display_name = _name_field(_("Name"), error_messages={"required": _("Name: nothing was typed.")})
    pen_name = _name_field(
        _("Pen name"), required=False, help_text=_("Shown on the club page in place of the name.")
    )
    name_consent = forms.BooleanField(label=_("May be named on the club page"), required=False)


class InviteForm(forms.Form):
    for_name = _name_field(_("Name"), error_messages={"required": _("Name: say who it is for.")})
    role = forms.ChoiceField(
        label=_("May"), choices=ROLE_WORDS, initial=Membership.Role.HELPER, error_messages=choose_one(_("May"))
    )


class RoleForm(forms.Form):
    role = forms.ChoiceField(label=_("May"), choices=ROLE_WORDS, error_messages=choose_one(_("May")))
