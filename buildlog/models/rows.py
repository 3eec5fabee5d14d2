"""What rows have in common: a name for ever, a version, three times."""

import uuid

from django.db import models
from django.db.models.base import ModelState

# One millimetre on the model is a million of the whole nanometres that columns ending in ``_nm`` hold.
NM_PER_MM = 1_000_000


class QuickRow(models.Model):
    """A row of which pages read hundreds at once."""

    class Meta:
        abstract = True

    @classmethod
    def from_db(cls, db, field_names, values):
        """Make the instance of a row with all its columns at once.

        Django sets each column by the way that looks after changed relations, which was a fifth of the time of an
        entry; a row just read has no relation that could be out of date.
        """
        new = cls.__new__(cls)
        new._state = ModelState()
        new._state.adding, new._state.db = False, db
        new.__dict__.update(zip(field_names, values, strict=True))
        return new


class Row(QuickRow):
    """A row that is exported or named in a URL."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        abstract = True


class EditedRow(Row):
    """A row that people edit: ``version`` rises with every edit, and an edit names the version it saw."""

    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True


class Fact(Row):
    """Something that happened at the bench, with its three times.

    ``happened_at`` is bench time. ``known_at`` is the time from which reviews count it, normally the first save
    on the phone. ``received_at`` is when the server had it. A review as of a date reads ``known_at`` only.
    """

    happened_at = models.DateTimeField()
    known_at = models.DateTimeField(db_index=True)
    received_at = models.DateTimeField()

    class Meta:
        abstract = True


class Size(models.TextChoices):
    """The size a length was typed at; a change of scale recomputes only what was typed at full size."""

    MODEL = "model"
    FULL = "full"


class Side(models.TextChoices):
    PORT = "port"
    STARBOARD = "starboard"


class Side3(models.TextChoices):
    PORT = "port"
    STARBOARD = "starboard"
    BOTH = "both"
