"""The register of printers: two bars measured, the last check of each printer and paper counts."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from buildlog.models import PrinterCheck

GOOD = {"printer": "Inkjet in the shed", "paper": "A4", "along": "99.2", "across": "100,1"}


@pytest.fixture
def where(hull):
    return reverse("printer-list", args=[hull.build.uuid])


def test_both_bars_are_kept_with_what_they_should_be(hull, owner, client_of, where, clock):
    answer = client_of(owner).post(where, GOOD)

    assert answer.status_code == 302
    kept = {c.direction: (c.nominal_nm, c.measured_nm, c.paper, c.happened_at) for c in PrinterCheck.objects.all()}
    assert kept == {
        "along": (100_000_000, 99_200_000, "A4", clock.moment),
        "across": (100_000_000, 100_100_000, "A4", clock.moment),
    }
    page = client_of(owner).get(where).content.decode()
    assert "Inkjet in the shed" in page
    assert '<b class="fig">99.20</b> along, <b class="fig">100.10</b> across' in page


def test_the_last_check_counts_and_another_paper_is_another(hull, owner, client_of, where, clock):
    browser = client_of(owner)
    browser.post(where, GOOD)
    clock.forward(days=1)
    browser.post(where, GOOD | {"printer": "inkjet  in the shed", "along": "100", "across": "100.05"})
    browser.post(where, GOOD | {"paper": "Letter", "along": "101"})

    shown = browser.get(where).context["printers"]

    assert [(one.paper, one.along.measured_nm, one.checks) for one in shown] == [
        ("Letter", 101_000_000, 1), ("A4", 100_000_000, 2),
    ]  # fmt: skip
    assert [one.is_true for one in shown] == [False, True]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"printer": " "}, "Printer: nothing was typed."),
        ({"paper": "napkin"}, "Paper: choose one."),
        ({"along": ""}, "Bar along the sheet: nothing was typed."),
        ({"along": "long"}, "bar along the sheet"),
        ({"across": "120"}, "Bar across the sheet: 120 is far from the 100 mm it should be."),
        ({"across": "9.92"}, "Bar across the sheet: 9.92 is far from the 100 mm"),
    ],
)
def test_what_will_not_do_is_named_and_nothing_typed_is_lost(hull, owner, client_of, where, changes, said):
    page = client_of(owner).post(where, GOOD | changes)

    assert page.status_code == 200
    assert said.casefold() in page.content.decode().casefold()
    assert not PrinterCheck.objects.exists()
    if "printer" not in changes:
        assert 'value="Inkjet in the shed"' in page.content.decode()


def test_bars_are_a_hundred_millimetres_on_paper(hull, owner, client_of):
    page = client_of(owner).get(reverse("printer-bars", args=[hull.build.uuid])).content.decode()

    assert page.count("100 mm") >= 2
    assert "bars-across" in page
    assert "bars-along" in page


def test_list_asks_once_however_many_printers(hull, owner, client_of, where, django_assert_max_num_queries):
    browser = client_of(owner)
    browser.post(where, GOOD)
    with CaptureQueriesContext(connection) as one:
        browser.get(where)
    most = len(one)
    for name in ("Laser", "Club's own"):
        browser.post(where, GOOD | {"printer": name})

    with django_assert_max_num_queries(most):
        browser.get(where)
