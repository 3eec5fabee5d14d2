"""The one clock. Views hand `request.now` on to actions, so a test or the sample can say what time it is."""

from datetime import UTC, datetime

from django.conf import settings


def now() -> datetime:
    """Return the present time, aware, in UTC (settings.CLOCK stands in for the real clock in tests)."""
    return settings.CLOCK() if settings.CLOCK else datetime.now(UTC)
