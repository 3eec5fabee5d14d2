import json
import logging

import pytest

from buildlog.site import log

TOKEN = "Zx3_9kQvB7mN-2pLwR8tYcA5dFgH1jKsU6oEiV0nXqM"
UUID = "0b0f2f5e-6d0f-4a53-9a3a-5b6b0a4f9c11"


def written(says="said", *args, level=logging.INFO, facts=None, exc_info=None) -> dict:
    record = logging.LogRecord("buildlog", level, __file__, 1, says, args, exc_info)
    record.facts = facts or {}
    return json.loads(log.JsonLines().format(record))


@pytest.mark.parametrize(
    ("text", "masked"),
    [
        (f"/club/{TOKEN}/feed.atom", "/club/***/feed.atom"),
        ("/club/short/photos/", "/club/***/photos/"),
        (f"/invite/{TOKEN}", "/invite/***"),
        ("/card/K7QM2", "/card/***"),
        (f"/sign-in/{TOKEN}/", "/sign-in/***/"),
        (f"https://log.example.org/once/{TOKEN}/", "https://log.example.org/once/***/"),
        (f"Not Found: /club/{TOKEN}/", "Not Found: /club/***/"),
        ("password=garboard&name=anna", "password=***&name=anna"),
        ("{'csrfmiddlewaretoken': 'abc123', 'note': 'x'}", "{'csrfmiddlewaretoken': '***', 'note': 'x'}"),
        ("Cookie: session=k3y", "Cookie: ***=k3y"),
        (f"session key {TOKEN[:32]} gone", "session key *** gone"),
        (f"/builds/{UUID}/strakes/12/", f"/builds/{UUID}/strakes/12/"),
        ("File \"buildlog/views/a_module_with_quite_a_long_name.py\"",) * 2,
        ("3 1/4\" between frames 12 and 13",) * 2,
    ],
)  # fmt: skip
def test_text_with_a_secret_is_masked_and_other_text_is_not(text, masked):
    said = log.masked(text)

    assert TOKEN[:32] not in said
    if "Cookie" in text:
        assert "k3y" not in said
    else:
        assert said == masked


def test_line_holds_utc_time_level_words_facts_and_the_request():
    ticket = log.request_id.set("5f2a")
    try:
        line = written("request %s", "GET", facts={"status": 404, "path": f"/club/{TOKEN}/"})
    finally:
        log.request_id.reset(ticket)

    assert line.pop("at").endswith("+00:00")
    assert line == {
        "level": "info",
        "from": "buildlog",
        "says": "request GET",
        "request": "5f2a",
        "status": 404,
        "path": "/club/***/",
    }


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r", "\u2028", "\x85", "\x0b", "\x1b[2J", "\u202e"])
def test_input_cannot_forge_a_second_line_or_steer_a_terminal(break_):
    record = logging.LogRecord("buildlog", 20, "", 1, f'a{break_}{{"level": "error"}}', (), None)

    line = log.JsonLines().format(record)

    assert len(line.splitlines()) == 1
    assert line.isascii()
    assert line.isprintable()


def test_trace_of_a_failure_is_kept_without_the_secret_in_it():
    try:
        raise ValueError(f"wrong token={TOKEN}")
    except ValueError as problem:
        line = written("failed", exc_info=(ValueError, problem, problem.__traceback__))

    assert "ValueError: wrong token=***" in line["trace"]
    assert "test_log.py" in line["trace"]


def test_log_file_that_cannot_be_written_does_not_stop_the_page(tmp_path, capsys):
    (tmp_path / "log").write_text("a file is where the folder should be")
    handler = log.LogFile(str(tmp_path / "log" / "reckoner.log"))
    handler.setFormatter(log.JsonLines())

    handler.handle(logging.LogRecord("buildlog", 20, "", 1, "said", (), None))

    assert capsys.readouterr().err == ""


def test_log_file_is_made_at_its_first_line_closed_to_others_and_rolled_over(tmp_path, monkeypatch):
    monkeypatch.setattr(log, "BYTES_A_FILE", 2000)
    handler = log.LogFile(str(tmp_path / "log" / "reckoner.log"))
    handler.setFormatter(log.JsonLines())
    assert not (tmp_path / "log").exists()

    for number in range(200):
        handler.handle(logging.LogRecord("buildlog", 20, "", 1, "line %d", (number,), None))
    handler.close()

    files = sorted(path.name for path in (tmp_path / "log").iterdir())
    assert files == ["reckoner.log", *(f"reckoner.log.{n}" for n in range(1, log.KEPT_FILES + 1))]
    assert (tmp_path / "log").stat().st_mode & 0o077 == 0
    assert all(path.stat().st_size <= 2000 for path in (tmp_path / "log").iterdir())
