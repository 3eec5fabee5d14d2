"""Backups, made by a button, verified before they say so, and carried away as one file. The owner's."""

from django.contrib import messages
from django.http import FileResponse, Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import build_to_own
from buildlog.actions.backups import start_backup
from buildlog.archive import upkeep
from buildlog.models import Job
from buildlog.queries.backups import backup_jobs, may_back_up
from buildlog.site.backups import last_verified_at


def _visit(request, build_uuid):
    """A backup holds every build of the log, so it is for whoever owns them all."""
    visit = build_to_own(request, build_uuid)
    if not may_back_up(request.user):
        raise Http404
    return visit


@require_safe
def backup_list(request, build_uuid):
    visit = _visit(request, build_uuid)
    jobs = backup_jobs()
    under_way = any(job.state in (Job.State.QUEUED, Job.State.RUNNING) for job in jobs)
    context = {"jobs": jobs, "under_way": under_way, "last": last_verified_at(), "visit": visit}
    return render(request, "backups/list.html", context)


@require_POST
def backup_start(request, build_uuid):
    visit = _visit(request, build_uuid)
    start_backup(request.user, now=request.now)
    messages.success(request, _("The backup has begun; the page says when it is made and verified."))
    return redirect("backup-list", visit.build.uuid)


@require_safe
def backup_file(request, build_uuid, job_uuid):
    _visit(request, build_uuid)
    job = Job.objects.filter(kind="backup", uuid=job_uuid, state=Job.State.DONE).first()
    path = upkeep.file_of(job.result.get("file", "")) if job else None
    if path is None:
        raise Http404
    return FileResponse(path.open("rb"), as_attachment=True, filename=path.name, content_type="application/zip")


for view in (backup_list, backup_start, backup_file):
    view.room = "shed"
