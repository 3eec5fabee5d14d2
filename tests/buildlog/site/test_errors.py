import json

import pytest
from django.test import Client

from buildlog.site import errors


@pytest.mark.parametrize("status", sorted(errors._words()))
def test_page_of_every_status_says_what_to_do_and_stands_without_an_account(rf, status):
    answer = errors.answer(rf.get("/"), status)

    title, sentence = errors._words()[status]
    assert answer.status_code == status
    assert f"<h1>{title}</h1>" in answer.content.decode()
    assert f"<p>{sentence}</p>" in answer.content.decode()
    for word in ("!", "oops", "please", "error"):
        assert word not in f"{title} {sentence}".lower()


def test_fragment_is_answered_to_htmx_and_json_to_whoever_asks_for_it(rf):
    fragment = errors.answer(rf.get("/", HTTP_HX_REQUEST="true"), 404).content.decode()
    told = errors.answer(rf.get("/", HTTP_ACCEPT="application/json"), 404)

    assert "<html" not in fragment
    assert "<h1>No such page</h1>" in fragment
    assert told["Content-Type"] == "application/json"
    assert json.loads(told.content)["status"] == 404


def test_what_is_shown_is_escaped(rf):
    body = errors.answer(rf.get("/"), 400, "Name: <b>x</b>").content.decode()

    assert "&lt;b&gt;" in body
    assert "<b>" not in body


def test_failure_of_the_page_itself_still_gives_the_sentence(rf, monkeypatch):
    def fall_over(*args, **kwargs):
        raise OSError("the templates are gone")

    monkeypatch.setattr(errors, "render_to_string", fall_over)

    answer = errors.answer(rf.get("/"), 500)

    assert answer.status_code == 500
    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    assert "This page failed" in answer.content.decode()


def test_wait_is_told_in_minutes_and_in_the_header(rf):
    answer = errors.too_many(rf.get("/"), 61)

    assert (answer.status_code, answer["Retry-After"]) == (429, "61")
    assert "Try again in 2 min." in answer.content.decode()


@pytest.mark.django_db
def test_form_without_its_token_is_refused_with_what_to_do():
    answer = Client(enforce_csrf_checks=True).post("/write/", {"name": "x"})

    assert answer.status_code == 403
    assert "load the page again" in answer.content.decode()


@pytest.mark.django_db
def test_host_that_is_not_ours_is_refused(client):
    assert client.get("/public/", HTTP_HOST="evil.example.org").status_code == 400
