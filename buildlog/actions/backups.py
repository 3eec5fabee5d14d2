"""Backups asked for by a button."""

from django.db import transaction

from buildlog.jobs.bell import bell
from buildlog.models import Job

from .events import tell_event
from .jobs import queue_job


def start_backup(account, *, now):
    """Queue a backup of the whole log and return its job; while one is under way that one is returned.

    The finished job's ``result`` holds ``file``, ``bytes``, ``rows``, ``photographs`` and ``missing``;
    ``buildlog.archive.upkeep.file_of(job.result["file"])`` is the path to hand out.
    """
    with transaction.atomic():
        under_way = Job.objects.filter(kind="backup", state__in=[Job.State.QUEUED, Job.State.RUNNING]).first()
        if under_way:
            return under_way
        job = queue_job("backup", now=now, account=account)
        tell_event("asked for", job, build=None, now=now, account=account)
        transaction.on_commit(bell.set)
    return job
