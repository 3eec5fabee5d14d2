"""Jobs: queued by a page, claimed by one worker at a time over all processes, told, ended."""

from datetime import timedelta

from django.db import connection, transaction
from django.db.models import Case, IntegerField, Q, Value, When
from django.utils.translation import gettext as _

from buildlog.models import Job

State = Job.State

# A worker tells how far it is at least once a minute. One that said nothing for so long is gone.
SILENT = timedelta(minutes=4)
MOST_TRIES = 5
KEPT_DAYS = 14
# Any number that no other advisory lock of ours uses; only PostgreSQL asks for it.
_CLAIM_LOCK = 4_701_883


class ClaimLost(Exception):
    """Another worker has taken the job since: this one must stop and write nothing more."""


def queue_job(kind, *, now, build=None, account=None, **payload):
    """Put a job in the queue. Inside a transaction it becomes visible when that is committed."""
    return Job.objects.create(kind=kind, build=build, account=account, payload=payload, made_at=now)


def queue_regular_job(kind, every, *, now):
    """Queue a job that the server gives itself, unless one was queued within `every`."""
    if Job.objects.filter(kind=kind, made_at__gt=now - every).exists():
        return None
    with transaction.atomic():
        _one_claimer_at_a_time()
        if Job.objects.filter(kind=kind, made_at__gt=now - every).exists():
            return None
        return queue_job(kind, now=now)


def claim_next(worker, *, now, quick=()):
    """Take the next job that is due, or None. While any worker is at work, no other gets one."""
    if not _claimable(now).exists():
        return None
    with transaction.atomic():
        _one_claimer_at_a_time()
        if Job.objects.filter(state=State.RUNNING, claimed_at__gt=now - SILENT).exists():
            return None
        job = _claimable(now).order_by(_quick_first(quick), "pk").first()
        if job is None:
            return None
        job.state, job.tries = State.RUNNING, job.tries + 1
        job.claimed_by, job.claimed_at = worker, now
        job.save(update_fields=["state", "tries", "claimed_by", "claimed_at"])
    return job


def _claimable(now):
    """Jobs that wait, those to be tried again whose pause is over, and those whose worker is gone."""
    rested = Q(tries=0)
    for tries in range(1, MOST_TRIES):
        rested |= Q(tries=tries, claimed_at__lte=now - pause_after(tries))
    gone = Q(state=State.RUNNING, claimed_at__lte=now - SILENT)
    return Job.objects.filter(gone | Q(state=State.QUEUED) & rested)


def pause_after(tries):
    """Return how long to wait before the next try: 15 s, 1 min, 4 min, 16 min."""
    return timedelta(seconds=15 * 4 ** (tries - 1))


def _quick_first(quick):
    return Case(When(kind__in=quick, then=Value(0)), default=Value(1), output_field=IntegerField())


def _one_claimer_at_a_time():
    # SQLite's IMMEDIATE transactions are one at a time by themselves.
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_CLAIM_LOCK])


def let_go_of_dead_claims(is_dead, *, now):
    """Put back at once what workers of this machine held that are known to be gone; return how many."""
    freed = 0
    for job in Job.objects.filter(state=State.RUNNING):
        if is_dead(job.claimed_by):
            held = Job.objects.filter(pk=job.pk, claimed_by=job.claimed_by, state=State.RUNNING)
            freed += held.update(claimed_at=now - SILENT)
    return freed


def tell_progress(job, sentence, *, now):
    """Say how far a job is, and keep it. Raises ClaimLost when another worker has it by now."""
    _still_mine(job, progress=sentence[:200], claimed_at=now)


def finish_job(job, result, *, now):
    _still_mine(job, state=State.DONE, result=result, progress="", ended_at=now)


def put_back_job(job, *, now, counts=True):
    """Return a job to the queue to be tried again; without `counts` the try did not count."""
    if counts and job.tries >= MOST_TRIES:
        return fail_job(
            job, _("This work was tried %(count)s times and given up.") % {"count": job.tries}, now=now
        )
    changes = {"state": State.QUEUED, "claimed_at": now, "progress": _("Waiting to be tried again.")}
    if not counts:
        # One try stays counted, so that the pause before the next holds.
        changes["tries"] = 1
    return _still_mine(job, **changes)


def fail_job(job, sentence, *, now):
    _still_mine(job, state=State.FAILED, progress=sentence[:200], result={"says": sentence}, ended_at=now)


def _still_mine(job, **changes):
    held = Job.objects.filter(pk=job.pk, claimed_by=job.claimed_by, state=State.RUNNING, tries=job.tries)
    if not held.update(**changes):
        raise ClaimLost
    for name, value in changes.items():
        setattr(job, name, value)


def forget_old_jobs(*, now):
    """Delete ended jobs of two weeks ago; what they made stays."""
    old = Job.objects.filter(ended_at__lt=now - timedelta(days=KEPT_DAYS))
    return old.delete()[0]
