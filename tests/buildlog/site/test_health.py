import pytest
from django.db import OperationalError, connection

from buildlog.site import health


@pytest.mark.django_db
def test_health_is_one_word_open_to_everybody(client):
    answer = client.get("/healthz")

    assert (answer.status_code, answer.content, answer["Content-Type"]) == (200, b"ok\n", "text/plain")
    assert client.post("/healthz").status_code == 405


@pytest.mark.django_db
def test_health_says_when_the_records_cannot_be_reached_and_nothing_of_why(client, monkeypatch):
    def refuse():
        raise OperationalError("could not connect to db.example.org as me")

    monkeypatch.setattr(health.connection, "cursor", refuse)

    answer = client.get("/healthz")

    assert (answer.status_code, answer.content) == (503, b"not ready\n")
    monkeypatch.undo()
    assert connection.is_usable()
