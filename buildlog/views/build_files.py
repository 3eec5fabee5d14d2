"""One build saved to a file by its owner, and a build taken in from a file by whoever may start builds."""

from pathlib import Path

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_own
from buildlog.actions.build_files import start_saving, start_taking_in
from buildlog.archive import build_shelf
from buildlog.forms.build_files import SendInForm
from buildlog.models import Job
from buildlog.queries.build_files import is_under_way, job_of_taking_in, jobs_of_saving


@require_safe
def build_file_list(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    rows = [
        {"job": job, "is_here": bool(job.result.get("file")) and build_shelf.file_of(job.result["file"]) is not None}
        for job in jobs_of_saving(visit.build)
    ]
    context = {"visit": visit, "rows": rows, "kept_days": build_shelf.KEPT_DAYS,
               "under_way": any(is_under_way(row["job"]) for row in rows)}  # fmt: skip
    return render(request, "build_files/list.html", context)


@require_POST
def build_file_save(request, build_uuid):
    visit = build_to_own(request, build_uuid)
    start_saving(visit.build, request.user, originals=request.POST.get("for") != "others", now=request.now)
    messages.success(request, _("The build is being saved; this page says when the file can be carried away."))
    return redirect("build-file-list", visit.build.uuid)


@require_safe
def build_file(request, build_uuid, job_uuid):
    visit = build_to_own(request, build_uuid)
    job = Job.objects.filter(kind="save_build", build=visit.build, uuid=job_uuid, state=Job.State.DONE).first()
    path = build_shelf.file_of(job.result.get("file", "")) if job else None
    if path is None:
        raise Http404
    return FileResponse(path.open("rb"), as_attachment=True, filename=path.name, content_type="application/zip")


@require_http_methods(["GET", "HEAD", "POST"])
def build_file_take(request):
    """Send a saved build in; what is in it is looked at by the worker, and the next page says what came of it."""
    if not request.user.may_start_builds:
        raise PermissionDenied
    form = SendInForm(request.POST, request.FILES) if request.method == "POST" else SendInForm()
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data["file"]
        path = build_shelf.keep_sent_in(sent)
        job = start_taking_in(
            request.user, file=path.name, sent_as=Path(sent.name).name, name=form.cleaned_data["name"].strip(),
            as_copy=form.cleaned_data["as_copy"], now=request.now,
        )  # fmt: skip
        return redirect("build-file-taken", job.uuid)
    return render(request, "build_files/take.html", {"form": form})


@require_safe
def build_file_taken(request, job_uuid):
    job = job_of_taking_in(request.user, job_uuid)
    if job is None:
        raise Http404
    return render(request, "build_files/taken.html", {"job": job, "under_way": is_under_way(job)})


for view in (build_file_list, build_file_save, build_file):
    view.room = "shed"
