"""Builds that were saved to a file, and files that builds were taken in from."""

from buildlog.models import Job


def jobs_of_saving(build, most=6):
    return list(Job.objects.filter(kind="save_build", build=build).order_by("-pk")[:most])


def job_of_taking_in(account, job_uuid):
    """Return the job of a file that this account sent in, or None."""
    return Job.objects.filter(kind="take_build", account=account, uuid=job_uuid).first()


def is_under_way(job) -> bool:
    return job.state in (Job.State.QUEUED, Job.State.RUNNING)
