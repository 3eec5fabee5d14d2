"""Addresses that more than one file of tests opens."""

import pytest
from django.urls import reverse


@pytest.fixture
def bench_url(hull):
    return reverse("bench", args=[hull.build.uuid])


@pytest.fixture
def widths_url(hull):
    return reverse("widths-record", args=[hull.build.uuid, hull.strakes["1"].uuid])


@pytest.fixture
def widths_saved_url(hull):
    return reverse("widths-saved", args=[hull.build.uuid, hull.strakes["1"].uuid])
