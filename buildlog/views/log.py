"""The Log room: sessions by date, newest first, and a search for words."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.forms.log import SearchForm
from buildlog.queries.log import A_PAGE, sessions_of, stories_of


@require_safe
def log(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    form = SearchForm(request.GET or None)
    words = form.cleaned_data["words"] if form.is_valid() else ""
    page = Paginator(sessions_of(visit.build, words=words), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "log/detail.html", {
        "visit": visit, "form": form, "words": words, "page": page,
        "stories": stories_of(list(page.object_list)),
    })  # fmt: skip
