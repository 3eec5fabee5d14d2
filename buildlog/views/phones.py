"""Signed-in phones: every browser of one's own account, ended from here."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from buildlog.actions.phones import sign_out_phone
from buildlog.models import SignedInPhone
from buildlog.site.sessions import sign_out_everywhere


@require_safe
def phone_list(request):
    phones = SignedInPhone.objects.filter(account=request.user).order_by("-last_seen_at")
    return render(request, "phones/list.html", {"phones": phones, "this_one": request.session.session_key})


@require_POST
def phone_sign_out(request, phone_uuid):
    phone = SignedInPhone.objects.filter(account=request.user, uuid=phone_uuid).first()
    if phone is None:
        raise Http404
    sign_out_phone(phone)
    messages.success(request, _("%(phone)s is signed out.") % {"phone": phone.label})
    return redirect("phone-list")


@require_POST
def phone_sign_out_others(request):
    sign_out_everywhere(request.user, but_for=request.session.session_key)
    messages.success(request, _("Every other phone is signed out."))
    return redirect("phone-list")
