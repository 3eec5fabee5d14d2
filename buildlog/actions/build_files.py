"""Builds saved to a file and taken in from one."""

from django.db import transaction

from buildlog.jobs.bell import bell
from buildlog.models import Job, Membership, Person, folded

from .events import tell_event
from .jobs import queue_job

UNDER_WAY = (Job.State.QUEUED, Job.State.RUNNING)


@transaction.atomic
def start_saving(build, account, *, originals, now):
    """Queue the saving of a build and return its job; while one of the same sort is under way, that one."""
    for job in Job.objects.filter(kind="save_build", build=build, state__in=UNDER_WAY):
        if job.payload.get("originals") == originals:
            return job
    job = queue_job("save_build", build=build, account=account, now=now, originals=originals)
    tell_event("asked for", job, build=None, now=now, account=account)
    transaction.on_commit(bell.set)
    return job


@transaction.atomic
def start_taking_in(account, *, file, sent_as, name, as_copy, now):
    """Queue the taking in of a file that lies in the data folder."""
    job = queue_job(
        "take_build", account=account, now=now, file=file, sent_as=sent_as[:120], name=name, as_copy=as_copy
    )
    transaction.on_commit(bell.set)
    return job


@transaction.atomic
def welcome_build(build, account, photographs, *, name, now):
    """Give a build that was taken in to an account, and queue the making of its photographs' smaller copies.

    The account is the person of that name in the build, or of its own; where there is none, one is added. Nothing
    else is written into the build, so that saved again it is what it was.
    """
    Membership.objects.create(build=build, account=account, role=Membership.Role.OWNER, since=now)
    wanted = folded(name or account.sign_in_name)
    person = next((one for one in build.people.all() if folded(one.display_name) == wanted), None)
    if person is None:
        Person.objects.create(build=build, account=account, display_name=name or account.sign_in_name)
    else:
        Person.objects.filter(pk=person.pk).update(account=account)
    for photo in photographs:
        queue_job("photo", build=build, now=now, photo=str(photo.uuid))
    tell_event("took in", build, build=None, now=now, account=account)
    transaction.on_commit(bell.set)
