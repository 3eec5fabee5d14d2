"""What a person types about their account: names and passwords."""

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from buildlog.models import Account

NAME = _("Name")


def _name_field(label=NAME):
    return forms.CharField(
        label=label,
        max_length=80,
        strip=True,
        error_messages={
            "required": _("Name: write the name to sign in with."),
            "max_length": _("Name: 80 characters at most."),
        },
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )


def _password_field(label, autocomplete, required=True, help_text=""):
    return forms.CharField(
        label=label,
        strip=False,
        required=required,
        max_length=1000,
        help_text=help_text,
        error_messages={
            "required": _("Password: write it here."),
            "max_length": _("Password: 1000 characters at most."),
        },
        # What was typed comes back when another field was at fault; the page is never stored by a browser.
        widget=forms.PasswordInput(attrs={"autocomplete": autocomplete}, render_value=True),
    )


class SignInForm(forms.Form):
    sign_in_name = _name_field()
    password = _password_field(_("Password"), "current-password")
    next = forms.CharField(required=False, widget=forms.HiddenInput)


class NewPasswordForm(forms.Form):
    """A new password, held to the site's rules; ``account`` so that it is not the name over again."""

    password = _password_field(
        _("New password"), "new-password", help_text=_("Ten characters or more. Four plain words do well.")
    )

    def __init__(self, *args, account=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.account = account

    def clean_password(self):
        password = self.cleaned_data["password"]
        _hold_to_rules(password, self.account)
        return password


class ChangePasswordForm(NewPasswordForm):
    """The old password first, where there is one: a phone left on the bench must not lock its owner out."""

    old_password = _password_field(_("Present password"), "current-password")
    field_order = ["old_password", "password"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not self.account.has_usable_password():
            del self.fields["old_password"]

    def clean_old_password(self):
        if not self.account.check_password(self.cleaned_data["old_password"]):
            raise ValidationError(_("Present password: this is not the one that stands."))
        return self.cleaned_data["old_password"]


class NewAccountForm(forms.Form):
    """A name, and a password for whoever wants one."""

    sign_in_name = _name_field(_("Your name"))
    password = _password_field(
        _("Password"),
        "new-password",
        required=False,
        help_text=_(
            "Ten characters or more; four plain words do well. May be left empty: then a link signs you in."
        ),
    )

    def clean_password(self):
        password = self.cleaned_data["password"]
        if password:
            _hold_to_rules(password, Account(sign_in_name=self.data.get("sign_in_name", "")[:80]))
        return password


class RenameForm(forms.Form):
    sign_in_name = _name_field(_("Name to sign in with"))


class ThemeForm(forms.Form):
    theme = forms.ChoiceField(
        label=_("Light or dark"),
        required=False,
        choices=[("", _("As this device")), ("light", _("Light")), ("dark", _("Dark"))],
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": _("Light or dark: choose one of the three.")},
    )


# What the site's rules refuse, in our own words; the rules themselves stand in the settings.
_REFUSED = {
    "password_too_short": _("Password: too short. Ten characters or more; four plain words do well."),
    "password_too_common": _(
        "Password: this one stands on every list of guesses. Four plain words do better."
    ),
    "password_too_similar": _("Password: too near to the name. Take words that have nothing to do with it."),
}


def _hold_to_rules(password, account):
    try:
        validate_password(password, account)
    except ValidationError as refused:
        codes = [error.code for error in refused.error_list]
        raise ValidationError(
            [_REFUSED[code] for code in codes if code in _REFUSED] or refused.messages
        ) from None
