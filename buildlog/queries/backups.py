"""Backups that were asked for, and who may ask: a backup holds every build there is."""

from buildlog.models import Build, Job


def backup_jobs(most=10):
    return list(Job.objects.filter(kind="backup").order_by("-pk")[:most])


def may_back_up(account) -> bool:
    """Say whether an account owns every build of this log, so that a backup shows it nothing new."""
    return not Build.objects.exclude(
        pk__in=Build.objects.filter(memberships__account=account, memberships__role="owner")
    ).exists()
