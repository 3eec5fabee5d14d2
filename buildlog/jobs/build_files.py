"""Save a build to a file, and take one in from a file: asked for on a page or by a command."""

from uuid import UUID

from buildlog.actions.build_files import welcome_build
from buildlog.archive import build_shelf
from buildlog.archive.build_export import save_build
from buildlog.archive.build_import import AlreadyHere, take_in_build
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.models import Build, Job
from buildlog.site import clock


def save(job, tell) -> dict:
    now = clock.now()
    path = build_shelf.new_file(job.build, now)
    try:
        saved = save_build(job.build, path, originals=job.payload["originals"], now=now, say=tell)
    except ArchiveTrouble as trouble:
        return {"refused": str(trouble)}
    return {
        "file": path.name, "bytes": saved.size, "rows": saved.rows, "photographs": saved.photographs,
        "missing": len(saved.missing), "originals": job.payload["originals"],
    }  # fmt: skip


def take_in(job, tell) -> dict:
    """Take in what was sent. A worker killed after the rows were laid down finds so in the job's payload."""
    job.refresh_from_db(fields=["payload"])
    if "taken" in job.payload:
        return _end(job, job.payload["taken"])
    path = build_shelf.file_of(job.payload["file"])
    if path is None:
        return {"refused": "The file that was sent is no longer here. Send it again."}
    asked = {name: job.payload[name] for name in ("as_copy", "name")}
    try:
        taken = take_in_for(job.account, path, **asked, say=tell, job=job)
    except ArchiveTrouble as trouble:
        says = str(trouble).replace(path.name, job.payload["sent_as"])
        return _end(job, {"refused": says, "is_here": isinstance(trouble, AlreadyHere)})
    return _end(job, told(taken))


def _end(job, result: dict) -> dict:
    build_shelf.let_go(job.payload["file"])
    return result


def told(taken) -> dict:
    return {
        "build": str(taken.build.uuid), "name": taken.build.name, "rows": taken.rows,
        "photographs": len(taken.photographs), "not_taken": [list(pair) for pair in taken.refused[:100]],
    }  # fmt: skip


def take_in_for(account, path, *, as_copy, name, say, job=None):
    """Take a build in for an account; ``name`` is who of its persons the account is, if any."""

    def within(taken):
        welcome_build(taken.build, account, taken.photographs, name=name, now=clock.now())
        if job is not None:
            payload = job.payload | {"taken": told(taken)}
            Job.objects.filter(pk=job.pk).update(payload=payload)

    return take_in_build(path, as_copy=as_copy, say=say, within=within)


def build_named(text: str) -> list[Build]:
    """Return the builds that a command means: by uuid, or by name."""
    try:
        return list(Build.objects.filter(uuid=UUID(text)))
    except ValueError:
        return list(Build.objects.filter(name=text).order_by("pk"))
