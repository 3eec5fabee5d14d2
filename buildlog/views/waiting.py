"""What waits on a phone: who is signed in here, and the page that lists it. The items themselves never leave the phone
but as the forms they are.
"""

from django.contrib.auth.decorators import login_not_required
from django.http import JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.views.decorators.http import require_safe


@require_safe
@login_not_required
def here(request):
    """Say who is signed in, with a fresh token; a stranger is told 401 and never led to another page."""
    if not request.user.is_authenticated or not request.user.is_active:
        return JsonResponse({"status": 401}, status=401)
    return JsonResponse({"account": str(request.user.uuid), "token": get_token(request)})


@require_safe
def waiting(request):
    return render(request, "waiting/detail.html")
