import json
import logging
from datetime import UTC, datetime, timedelta

import pytest

from buildlog.site import log

TOKEN = "Zx3_9kQvB7mN-2pLwR8tYcA5dFgH1jKsU6oEiV0nXqM"


class Kept(logging.Handler):
    """Keep each line as it is laid down."""

    def __init__(self):
        super().__init__()
        self.setFormatter(log.JsonLines())
        self.lines = []

    def emit(self, record):
        self.lines.append(self.format(record))


@pytest.fixture
def lines():
    kept = Kept()
    logging.getLogger().addHandler(kept)
    yield lambda: [json.loads(line) for line in kept.lines]
    logging.getLogger().removeHandler(kept)


def test_request_takes_its_time_from_the_clock_that_was_set(client, clock, db):
    clock.forward(days=2)

    assert client.get("/moment/").content == b"2026-03-16T19:30:00+00:00"


def test_request_takes_the_present_time_in_utc_when_no_clock_was_set(client, db):
    told = datetime.fromisoformat(client.get("/moment/").content.decode())

    assert told.utcoffset() == timedelta(0)
    assert abs(datetime.now(UTC) - told) < timedelta(seconds=20)


def test_request_leaves_one_line_with_its_id_and_no_token_query_or_cookie(client, db, lines):
    client.cookies["session"] = "abcdefghijklmnopqrstuvwxyz012345"

    answer = client.get(f"/club/{TOKEN}/?q=what-was-asked", HTTP_USER_AGENT="a phone")

    assert answer.content == b"opened"
    (line,) = [line for line in lines() if line["says"] == "request"]
    assert line.pop("at")
    assert isinstance(line.pop("ms"), int)
    assert line == {
        "level": "info", "from": "buildlog", "says": "request", "request": answer["X-Request-Id"],
        "method": "GET", "path": "/club/***/", "status": 200, "client": "127.0.0.1", "account": None,
    }  # fmt: skip


def test_each_request_has_an_id_of_its_own_that_a_caller_cannot_choose(client, db):
    ids = {client.get("/public/", HTTP_X_REQUEST_ID="chosen")["X-Request-Id"] for _ in range(20)}

    assert len(ids) == 20
    assert "chosen" not in ids


def test_line_of_a_failed_page_carries_the_trace_and_the_id_that_was_shown(client, db, lines):
    client.raise_request_exception = False

    answer = client.get("/broken/")

    shown = answer["X-Request-Id"]
    assert shown.encode() in answer.content
    traces = [line for line in lines() if "trace" in line]
    assert {line["request"] for line in traces} == {shown}
    assert "the plank map fell over for token=***" in traces[0]["trace"]
    assert "abcdefghijklmnop" not in json.dumps(lines())


def test_line_names_the_account_by_its_number_and_never_by_its_name(client, account, lines):
    client.force_login(account)

    client.get("/")

    line = [line for line in lines() if line["says"] == "request"][-1]
    assert line["account"] == account.pk
    assert "anna" not in json.dumps(lines())


def test_lines_of_hostile_requests_hold_no_secret(client, db, lines):
    """Paths, agents and referers carry the token; the log must not."""
    for number in range(250):
        client.get(
            f"/club/{TOKEN}{number}/photos/%0d%0a{{}}/",
            HTTP_REFERER=f"http://testserver/once/{TOKEN}/",
            HTTP_COOKIE=f"session={TOKEN}; csrf={TOKEN}",
        )

    assert len(lines()) >= 250
    assert TOKEN[:20] not in json.dumps(lines())
