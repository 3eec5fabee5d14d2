"""Signing in and out, and what an account says about itself."""

from django.contrib import messages
from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.actions import accounts as actions
from buildlog.forms.accounts import ChangePasswordForm, RenameForm, SignInForm, ThemeForm
from buildlog.site import throttle
from buildlog.site.errors import too_many
from buildlog.site.sessions import sign_out_everywhere

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@page_and_form
@login_not_required
@sensitive_post_parameters("password")
def sign_in(request):
    posted = request.POST if request.method == "POST" else None
    form = SignInForm(posted, initial={"next": request.GET.get("next", "")})
    if request.method == "POST" and form.is_valid():
        return _try_password(request, form)
    if request.user.is_authenticated:
        return redirect("home")
    return render(request, "accounts/sign_in.html", {"form": form})


def _try_password(request, form):
    name, password = form.cleaned_data["sign_in_name"], form.cleaned_data["password"]
    # The try is taken before anything is hashed: hashing is what a guesser would use up.
    wait = throttle.take_sign_in(request, name)
    if wait:
        return _wait(request, form, wait)
    account = authenticate(request, username=name, password=password)
    if account is None:
        form.add_error(None, _("This name and password do not open an account together. Look at both again."))
        return render(request, "accounts/sign_in.html", {"form": form})
    response = redirect(_safe(request, form.cleaned_data["next"]))
    begin_session(request, account)
    throttle.remember_device(request, response, account.sign_in_name)
    return response


def _wait(request, form, seconds):
    minutes = max(1, -(-seconds // 60))
    form.add_error(None, _("There were too many tries. Try again in %(minutes)d min.") % {"minutes": minutes})
    response = render(request, "accounts/sign_in.html", {"form": form}, status=429)
    response["Retry-After"] = str(seconds)
    return response


def begin_session(request, account) -> None:
    """Sign an account in on this browser and write the browser down among its phones."""
    old_key = request.session.session_key
    login(request, account, backend="django.contrib.auth.backends.ModelBackend")
    if old_key:
        actions.forget_phone(old_key)
    label = _device_label(request.headers.get("User-Agent", ""))
    actions.remember_phone(account, request.session.session_key, label, now=request.now)


def _safe(request, there: str) -> str:
    """Return where to go on: only to a page of this site."""
    fits = url_has_allowed_host_and_scheme(there, {request.get_host()}, require_https=request.is_secure())
    return there if there and fits else "/"


def _device_label(user_agent: str) -> str:
    """Return what a person would call this browser: the kind of device, and the browser's own name."""
    devices = [("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", _("Android")), ("Windows", "Windows"),
               ("Macintosh", "Mac"), ("CrOS", "Chromebook"), ("Linux", "Linux")]  # fmt: skip
    browsers = [("Firefox/", "Firefox"), ("Edg", "Edge"), ("OPR/", "Opera"),
                ("SamsungBrowser/", "Samsung Internet"), ("Chrome/", "Chrome"),
                 ("Chromium/", "Chromium"), ("Safari/", "Safari")]  # fmt: skip
    device = next((name for mark, name in devices if mark in user_agent), _("Another device"))
    browser = next((name for mark, name in browsers if mark in user_agent), "")
    return f"{device}, {browser}" if browser else device


@require_POST
def sign_out(request):
    if request.session.session_key:
        actions.forget_phone(request.session.session_key)
    logout(request)
    messages.info(request, _("Signed out on this device."))
    return redirect("sign-in")


@require_safe
def detail(request):
    return render(request, "accounts/detail.html", _forms_of(request.user))


def _forms_of(account, **bound):
    forms = {
        "rename_form": RenameForm(initial={"sign_in_name": account.sign_in_name}),
        "theme_form": ThemeForm(initial={"theme": account.theme}),
    }
    return {**forms, **bound, "account": account}


@require_POST
def rename(request):
    form = RenameForm(request.POST)
    before = request.user.sign_in_name
    try:
        if form.is_valid():
            actions.rename_account(request.user, form.cleaned_data["sign_in_name"])
            messages.success(request, _("Your name to sign in with is saved."))
            return redirect("account-detail")
    except ValidationError as refused:
        form.add_error("sign_in_name", refused)
    request.user.sign_in_name = before
    return render(request, "accounts/detail.html", _forms_of(request.user, rename_form=form))


@require_POST
def theme(request):
    form = ThemeForm(request.POST)
    if not form.is_valid():
        return render(request, "accounts/detail.html", _forms_of(request.user, theme_form=form))
    actions.choose_theme(request.user, form.cleaned_data["theme"])
    return redirect("account-detail")


@page_and_form
@sensitive_post_parameters("old_password", "password")
def password(request):
    wait = throttle.take_sign_in(request, request.user.sign_in_name) if request.method == "POST" else 0
    if wait:
        return too_many(request, wait)
    form = ChangePasswordForm(request.POST if request.method == "POST" else None, account=request.user)
    if request.method == "POST" and form.is_valid():
        actions.set_password(request.user, form.cleaned_data["password"])
        update_session_auth_hash(request, request.user)
        _move_phone(request)
        messages.success(request, _("The new password stands. Every other device is signed out."))
        return redirect("account-detail")
    return render(request, "accounts/password.html", {"form": form})


def _move_phone(request):
    """The session took a new key with the new password; the others are dead, so their rows go too."""
    sign_out_everywhere(request.user)
    label = _device_label(request.headers.get("User-Agent", ""))
    request.session.save()
    actions.remember_phone(request.user, request.session.session_key, label, now=request.now)
