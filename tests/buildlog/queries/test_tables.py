"""The tables as files: every figure exact, every station of every revision closing on the file alone."""

import csv
import io
import re
from collections import defaultdict
from fractions import Fraction

import pytest

from buildlog.archive.tables import table_bytes
from buildlog.models import Reading
from buildlog.queries import tables as queries
from buildlog.sample.story import THE_END, tell_story


@pytest.fixture
def sample(owner):
    return tell_story(owner, until=THE_END)


def read_back(rows) -> list[dict]:
    """Read a table as anybody's program would: the standard library and nothing of ours."""
    return list(csv.DictReader(io.StringIO(table_bytes(rows).decode("utf-8-sig"), newline="")))


def stations_in(rows, ending) -> list[str]:
    return [name for name in rows[0] if name.endswith(ending)]


@pytest.mark.django_db
def test_every_station_of_every_revision_closes_on_the_file_alone(sample):
    revisions = queries.numbered_revisions(sample)
    checked = 0
    for revision in revisions:
        rows = read_back(queries.plan_rows(sample, revision))
        for ending in (" mm", " full size in"):
            for column in stations_in(rows, ending):
                for opening in {row["opening"] for row in rows}:
                    here = [row for row in rows if row["opening"] == opening and row[column]]
                    by_line = defaultdict(list)
                    for row in here:
                        by_line[row["line"]].append(Fraction(row[column]))
                    [widths], [seams], [girth], [left] = (
                        by_line[line] for line in ("sum of widths", "seams", "girth", "left over")
                    )
                    assert sum(by_line["strake"]) == widths
                    assert widths + seams + left == girth
                    assert left == 0
                    checked += 1

    # Three revisions, two sides, eleven stations, mm and inches.
    assert len(revisions) == 3
    assert checked == 3 * 2 * 11 * 2


@pytest.mark.django_db
def test_widths_off_the_plan_are_the_difference_of_the_two_columns_beside_it(sample):
    rows = read_back(queries.table_rows(sample, "widths"))

    read = [row for row in rows if row["read mm"]]
    assert len(rows) == Reading.objects.filter(build=sample, kind="width").count()
    assert len(read) > 300
    for row in read:
        assert Fraction(row["read mm"]) - Fraction(row["planned mm"]) == Fraction(row["off the plan mm"])


@pytest.mark.django_db
def test_every_reading_stands_in_its_table_with_its_state(sample):
    rows = [row for kind in ("girths", "widths", "gaps") for row in read_back(queries.table_rows(sample, kind))]

    readings = {str(r.uuid): r for r in Reading.objects.filter(build=sample, kind__in=["girth", "width", "gap"])}
    assert {row["reading"] for row in rows} == set(readings)
    for row in rows:
        nm = readings[row["reading"]].value_nm
        assert (Fraction(row["read mm"]) * 1_000_000 if row["read mm"] else None) == nm
        assert (row["state"] == "counts") == (row["why"] == "")
    assert {row["state"] for row in rows} > {"counts"}


@pytest.mark.django_db
def test_full_size_is_within_a_rounding_of_the_model_times_the_scale(sample):
    rows = read_back(queries.plan_rows(sample, queries.numbered_revisions(sample)[0]))

    for row in rows:
        for column in stations_in(rows, " mm"):
            inches = row[re.sub(" mm$", " full size in", column)]
            if row[column] and row["line"] == "strake":
                assert abs(Fraction(row[column]) * 48 / Fraction("25.4") - Fraction(inches)) <= Fraction(1, 10_000)


@pytest.mark.django_db
def test_number_of_queries_does_not_grow_with_what_is_read(hull):
    from tests.factories import ReadingFactory

    def counted():
        from django.db import connection
        from django.test.utils import CaptureQueriesContext

        with CaptureQueriesContext(connection) as met:
            queries.table_rows(hull.build, "widths")
        return len(met)

    def read(label):
        return ReadingFactory(
            build=hull.build, opening=hull.opening, strake=hull.strakes[label], station=hull.stations[1],
            person=hull.person,
        )  # fmt: skip

    read("1")
    one = counted()
    read("2"), read("3")
    assert counted() == one
