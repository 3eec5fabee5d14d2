"""Rows for tests, made through factory_boy. Whole hulls are made by the actions, as the pages make them."""

import uuid
from datetime import UTC, date, datetime

import factory
from factory.django import DjangoModelFactory

from buildlog import models

NOON = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)
MM = models.NM_PER_MM


class AccountFactory(DjangoModelFactory):
    sign_in_name = factory.Sequence(lambda n: f"account {n}")

    class Meta:
        model = models.Account

    @classmethod
    def _create(cls, model_class, *args, **kwargs):
        password = kwargs.pop("password", None)
        return model_class.objects.create_account(password=password, **kwargs)


class BuildFactory(DjangoModelFactory):
    name = factory.Sequence(lambda n: f"Hull {n}")
    scale_num = 1
    scale_den = 48
    created_at = NOON
    set_up_at = NOON

    class Meta:
        model = models.Build


class PersonFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    display_name = factory.Sequence(lambda n: f"Person {n}")

    class Meta:
        model = models.Person


class MembershipFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    account = factory.SubFactory(AccountFactory)
    role = "owner"
    since = NOON

    class Meta:
        model = models.Membership


class FrameFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    number = factory.Sequence(int)

    class Meta:
        model = models.Frame


class StationFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = factory.Sequence(lambda n: f"S{n}")
    position = factory.Sequence(int)

    class Meta:
        model = models.Station


class OpeningFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    side = "port"

    class Meta:
        model = models.Opening


class StrakeFactory(DjangoModelFactory):
    opening = factory.SubFactory(OpeningFactory)

    class Meta:
        model = models.Strake


class RevisionFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    number = 1
    state = "in_force"
    in_force_from = NOON
    happened_at = NOON
    known_at = NOON
    received_at = NOON

    class Meta:
        model = models.PlanRevision


class PlanStrakeFactory(DjangoModelFactory):
    revision = factory.SubFactory(RevisionFactory)
    strake = factory.SubFactory(StrakeFactory)
    opening = factory.SelfAttribute("strake.opening")
    label = factory.Sequence(lambda n: f"{n}")
    position = factory.Sequence(lambda n: n + 1)
    run = "keel"

    class Meta:
        model = models.PlanStrake


class PlanWidthFactory(DjangoModelFactory):
    plan_strake = factory.SubFactory(PlanStrakeFactory)
    station = factory.SubFactory(StationFactory)
    width_nm = 5 * MM

    class Meta:
        model = models.PlanWidth


class InstrumentFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = factory.Sequence(lambda n: f"Caliper {n}")
    kind = "caliper"

    class Meta:
        model = models.Instrument
        skip_postgeneration_save = True

    @factory.post_generation
    def first_epoch(self, create, extracted, **kwargs):
        models.Epoch.objects.create(instrument=self, number=1, starts_at=datetime(2025, 1, 1, tzinfo=UTC))


class SessionFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    local_date = date(2026, 3, 14)
    opened_at = NOON
    known_at = NOON
    received_at = NOON

    class Meta:
        model = models.Session


class ReadingFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    client_uuid = factory.LazyFunction(uuid.uuid4)
    content_sha256 = "0" * 64
    kind = "width"
    method = "jaws"
    value_nm = 5 * MM
    typed = "5.00"
    unit = "mm"
    happened_at = NOON
    known_at = NOON
    received_at = NOON

    class Meta:
        model = models.Reading


class PhotoFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    client_uuid = factory.LazyFunction(uuid.uuid4)
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    media_type = "image/jpeg"
    file_name = "bench.jpg"
    file_bytes = 1000
    known_at = NOON
    received_at = NOON

    class Meta:
        model = models.Photo


class PhotoSeriesFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = factory.Sequence(lambda n: f"From the bow {n}")
    made_at = NOON

    class Meta:
        model = models.PhotoSeries


class PhotoChangeFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    kind = "label"
    at = NOON

    class Meta:
        model = models.PhotoChange


class ShareLinkFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = "The club"
    token_sha256 = factory.Sequence(lambda n: f"{n:064x}")
    made_at = NOON

    class Meta:
        model = models.ShareLink


class CardPrintFactory(DjangoModelFactory):
    plan_strake = factory.SubFactory(PlanStrakeFactory)
    code = factory.Sequence(lambda n: f"CARD{n:06d}")
    words = "amber heron"
    printed_at = NOON

    class Meta:
        model = models.CardPrint


class TableImportFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    kind = "gaps"
    name = "gaps.csv"
    text = "station,gap mm\nM,12.5\n"
    matches = factory.LazyFunction(
        lambda: {"kind": "gaps", "unit": "mm model", "dates": "dmy", "columns": ["station", "figure"], "odd": "leave"}
    )
    made_at = NOON

    class Meta:
        model = models.TableImport


class LotFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = factory.Sequence(lambda n: f"Lot {n}")
    species = "black cherry"

    class Meta:
        model = models.Lot


class PurchaseFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    bought_on = date(2026, 2, 1)
    what = "three boards"
    price_cents = 4250
    currency = "EUR"

    class Meta:
        model = models.Purchase


class SupplyFactory(DjangoModelFactory):
    build = factory.SubFactory(BuildFactory)
    name = "white glue"

    class Meta:
        model = models.Supply


class TestStripFactory(DjangoModelFactory):
    __test__ = False
    build = factory.SubFactory(BuildFactory)
    species = "black cherry"
    width_nm = 5 * MM
    thickness_nm = 3 * MM // 2
    radius_nm = 60 * MM
    happened_at = known_at = received_at = NOON

    class Meta:
        model = models.TestStrip


class TestJointFactory(DjangoModelFactory):
    __test__ = False
    build = factory.SubFactory(BuildFactory)
    seam_nm = 14_000
    u_nm = 3_000
    strips = 5
    happened_at = known_at = received_at = NOON

    class Meta:
        model = models.TestJoint


class WorryFactory(DjangoModelFactory):
    session = factory.SubFactory(SessionFactory)
    text = "a seam at H looks open"
    written_at = NOON

    class Meta:
        model = models.Worry
