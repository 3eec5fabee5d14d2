"""Links that work once. Looking at one changes nothing, so a preview by a mail program cannot use it up."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from buildlog.actions import accounts as actions
from buildlog.forms.accounts import NewAccountForm, NewPasswordForm
from buildlog.models import Account, OneTimeLink
from buildlog.queries.one_time_links import one_time_link_that_opens
from buildlog.site import throttle
from buildlog.site.errors import too_many

from .accounts import begin_session

Purpose = OneTimeLink.Purpose


@require_http_methods(["GET", "HEAD", "POST"])
@login_not_required
@sensitive_post_parameters("password", "token")
def use(request, token):
    wait = throttle.wait_for_token(request)
    if wait:
        return too_many(request, wait)
    link = one_time_link_that_opens(token, request.now)
    if link is None or _is_closed(link):
        throttle.count_wrong_token(request)
        return _spent(request)
    try:
        return _DOORS[link.purpose](request, link)
    except actions.LinkSpent:
        return _spent(request)


def _is_closed(link) -> bool:
    """A first-owner link is for a log without accounts; an account that was shut opens by no link."""
    if link.purpose == Purpose.FIRST_OWNER:
        return Account.objects.exists()
    if link.purpose == Purpose.INVITE:
        return link.build is None
    return link.account is None or not link.account.is_active


def _spent(request):
    return render(request, "one_time_links/spent.html", status=404)


def _first_owner(request, link):
    form = NewAccountForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            account = actions.make_first_owner(link, **form.cleaned_data, now=request.now)
        except ValidationError as refused:
            form.add_error("sign_in_name", refused)
        else:
            return _signed_in(request, account)
    return render(request, "one_time_links/first_owner.html", {"form": form})


def _sign_in(request, link):
    if request.method == "POST":
        return _signed_in(request, actions.sign_in_by_link(link, now=request.now))
    return render(request, "one_time_links/sign_in.html", {"account": link.account})


def _reset(request, link):
    form = NewPasswordForm(request.POST if request.method == "POST" else None, account=link.account)
    if request.method == "POST" and form.is_valid():
        account = actions.reset_password(link, form.cleaned_data["password"], now=request.now)
        return _signed_in(request, account)
    return render(request, "one_time_links/reset.html", {"form": form, "account": link.account})


def _invite(request, link):
    if request.user.is_authenticated:
        return _join(request, link)
    form = NewAccountForm(
        request.POST if request.method == "POST" else None, initial={"sign_in_name": link.for_name}
    )
    if request.method == "POST" and form.is_valid():
        try:
            account = actions.accept_invitation_with_new_account(link, **form.cleaned_data, now=request.now)
        except ValidationError as refused:
            form.add_error("sign_in_name", refused)
        else:
            return _signed_in(request, account)
    return render(request, "one_time_links/invite.html", {"form": form, "link": link})


def _join(request, link):
    if request.method == "POST":
        actions.accept_invitation(link, request.user, now=request.now)
        messages.success(request, _("You are in: %(build)s.") % {"build": link.build.name})
        return redirect("home")
    return render(request, "one_time_links/join.html", {"link": link})


def _signed_in(request, account):
    begin_session(request, account)
    response = redirect("home")
    throttle.remember_device(request, response, account.sign_in_name)
    return response


_DOORS = {
    Purpose.FIRST_OWNER: _first_owner,
    Purpose.SIGN_IN: _sign_in,
    Purpose.RESET: _reset,
    Purpose.INVITE: _invite,
}
