"""`/healthz`: is the server able to answer? One word, no detail; `manage.py doctor` gives the rest."""

from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.http import HttpResponse
from django.views.decorators.http import require_safe


@login_not_required
@require_safe
def healthz(request):
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            well = cursor.fetchone() == (1,)
    except Error:
        well = False
    return HttpResponse(
        "ok\n" if well else "not ready\n", status=200 if well else 503, content_type="text/plain"
    )
