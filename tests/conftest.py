"""What every test may use. People are always owner, builder, helper, reader, stranger, and link."""

from datetime import UTC, datetime, timedelta

import pytest


class Clock:
    """A clock that stands until it is told to move; `settings.CLOCK` while a test uses the `clock` fixture."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def forward(self, **span: float) -> datetime:
        self.moment += timedelta(**span)
        return self.moment


@pytest.fixture
def clock(settings) -> Clock:
    settings.CLOCK = Clock(datetime(2026, 3, 14, 19, 30, tzinfo=UTC))
    return settings.CLOCK
