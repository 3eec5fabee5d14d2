"""Ending the session of one signed-in phone."""

from django.contrib.sessions.models import Session as BrowserSession
from django.db import transaction

from buildlog.models import SignedInPhone


def sign_out_phone(phone: SignedInPhone):
    """End one browser's session; its next request is asked to sign in."""
    with transaction.atomic():
        BrowserSession.objects.filter(session_key=phone.session_key).delete()
        phone.delete()
