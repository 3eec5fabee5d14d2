"""Tables in and out: the pages, by role, and what a builder meets on the way."""

import csv
import io

import pytest
from django.urls import reverse


@pytest.fixture
def at(hull):
    def address(name, *more):
        return reverse(name, args=[hull.build.uuid, *more])

    return address


@pytest.mark.parametrize("kind", ["plan", "girths", "widths", "gaps"])
def test_reader_takes_every_table_away(kind, at, reader, client_of):
    answer = client_of(reader).get(at("table-file", kind))

    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    name = {"plan": "plan-revision-1"}.get(kind, kind)
    assert answer["Content-Disposition"] == f'attachment; filename="test-hull-{name}.csv"'
    assert answer.content.startswith(b"\xef\xbb\xbf")
    assert len(list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))) >= 1


def test_file_comes_without_its_mark_where_that_is_asked(at, owner, client_of):
    assert client_of(owner).get(at("table-file", "plan") + "?mark=no").content.startswith(b"opening,")


@pytest.mark.parametrize("ask", ["stealers", "plan.csv"])
def test_table_that_there_is_not_is_not_found(ask, at, owner, client_of):
    assert client_of(owner).get(at("table-list") + ask + ".csv").status_code == 404


@pytest.mark.parametrize("number", ["2", "0", "one", "-1"])
def test_revision_that_there_is_not_is_not_found(number, at, owner, client_of):
    assert client_of(owner).get(at("table-file", "plan") + f"?revision={number}").status_code == 404


def test_stranger_finds_no_table(at, stranger, client_of):
    assert client_of(stranger).get(at("table-list")).status_code == 404
    assert client_of(stranger).get(at("table-file", "widths")).status_code == 404


def test_shed_leads_to_the_tables(at, reader, client_of):
    assert at("table-list") in client_of(reader).get(at("shed")).content.decode()
