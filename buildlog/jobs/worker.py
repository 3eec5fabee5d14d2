"""The one worker: takes jobs one after another, so that no two photographs are ever decoded at once."""

import logging
import os
import secrets
import socket
import threading

from django.db import close_old_connections

from buildlog.actions import jobs
from buildlog.jobs import kinds
from buildlog.jobs.bell import bell
from buildlog.photos.derive import ChildLost
from buildlog.site import clock
from buildlog.site.disk import is_disk_full

_LOG = logging.getLogger("buildlog")
_LOOK_AGAIN_SECONDS = 2.0


def run_forever(stop_event: threading.Event) -> None:
    """Do jobs until `stop_event` is set; the job in hand is finished first."""
    worker = _own_name()
    jobs.let_go_of_dead_claims(lambda name: _is_dead(name, worker), now=clock.now())
    while not stop_event.is_set():
        close_old_connections()
        for kind, every in kinds.REGULAR.items():
            jobs.queue_regular_job(kind, every, now=clock.now())
        if not _run_one(worker):
            close_old_connections()
            bell.wait(_LOOK_AGAIN_SECONDS)
            bell.clear()


def run_pending(after_each=lambda count: None) -> int:
    """Do every job that is due now and return how many there were; for tests and commands.

    ``after_each`` is called with how many are done, so that a command can say how far it is.
    """
    worker, count = _own_name(), 0
    while _run_one(worker):
        count += 1
        after_each(count)
    return count


def _run_one(worker: str) -> bool:
    job = jobs.claim_next(worker, now=clock.now(), quick=kinds.QUICK)
    if job is None:
        return False
    try:
        _do(job)
    except jobs.ClaimLost:
        _LOG.warning("job %s was taken by another worker", job.uuid)
    return True


def _do(job) -> None:
    try:
        result = kinds.work_of(job.kind)(job, lambda says: jobs.tell_progress(job, says, now=clock.now()))
    except jobs.ClaimLost:
        raise
    except ChildLost as lost:
        _LOG.warning("job %s: %s", job.uuid, lost)
        jobs.put_back_job(job, now=clock.now(), counts=lost.counts)
    except Exception as trouble:
        _LOG.exception("job %s (%s) did not end well", job.uuid, job.kind)
        # A full disk says nothing about the job: it is tried again for as long as the disk stays full.
        jobs.put_back_job(job, now=clock.now(), counts=not is_disk_full(trouble))
    else:
        jobs.finish_job(job, result, now=clock.now())


def _own_name() -> str:
    return f"{socket.gethostname()[:40]}:{os.getpid()}:{secrets.token_hex(6)}"


def _is_dead(name: str, own: str) -> bool:
    """Say whether the worker of that name is known to be gone: same machine, and its process is no more."""
    host, pid, _mark = (*name.split(":"), "", "")[:3]
    own_host, own_pid, _own_mark = own.split(":")
    if host != own_host or not pid.isdigit() or name == own:
        return False
    if pid == own_pid:
        # This process, earlier; or, in a container, the process that had our number before us.
        return True
    return os.name != "nt" and not _is_alive(int(pid))


def _is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
