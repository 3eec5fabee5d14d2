"""The words of the trade, each on one line."""

from django.shortcuts import render
from django.views.decorators.http import require_safe


@require_safe
def word_list(request):
    return render(request, "help/words.html")
