from urllib.parse import urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.signals import request_started
from django.db import close_old_connections
from django.test import Client

from buildlog.site.requests import Handler
from tests.buildlog.site.odd_requests import odd_requests

SEED = 1883


class Unreadable:
    """A body that must not be touched."""

    def read(self, *args):
        raise AssertionError("the body was read")

    readline = read


@pytest.fixture
def no_database():
    """A handler called as a server calls it looks after its connections first; a test has none of its own."""
    request_started.disconnect(close_old_connections)
    yield
    request_started.connect(close_old_connections)


def test_body_that_says_it_is_too_large_is_refused_unread(no_database, settings):
    answers = []
    handler = Handler()
    environ = next(odd_requests(SEED, 1)) | {
        "REQUEST_METHOD": "POST",
        "PATH_INFO": "/write/",
        "QUERY_STRING": "",
        "CONTENT_TYPE": "multipart/form-data; boundary=x",
        "CONTENT_LENGTH": str(settings.BODY_BYTES + 1),
        "wsgi.input": Unreadable(),
    }

    body = b"".join(handler(environ, lambda status, headers: answers.append(status)))

    assert [status[:3] for status in answers] == ["413"]
    assert b"One photograph may have 40 MB." in body


@pytest.mark.django_db
def test_body_at_the_limit_is_read(settings):
    settings.BODY_BYTES = 1000
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = None

    def length_sent(fill):
        return Client().post("/write/", "n=" + "x" * fill, content_type="application/x-www-form-urlencoded")

    assert length_sent(998).content == b"read 1"
    assert length_sent(999).status_code == 413


@pytest.mark.parametrize("length", ["-1", "1e3", "x", "٣", "9" * 30, "+5", "0x10"])
def test_length_that_is_no_number_is_refused(rf, client, length):
    assert client.generic("POST", "/write/", b"x", CONTENT_LENGTH=length).status_code == 400


@pytest.mark.django_db
@pytest.mark.parametrize(
    "send",
    [
        lambda client: client.get("/look-up/?name=%00"),
        lambda client: client.get("/look-up/?%00=x"),
        lambda client: client.get("/look%00-up/"),
        lambda client: client.post("/look-up/", {"name": "a\0b"}),
        lambda client: client.post("/look-up/", {"a\0": "x"}),
        lambda client: client.post("/look-up/", "name=%00", content_type="application/x-www-form-urlencoded"),
        lambda client: client.get("/look-up/", headers={"cookie": 'session="\\000aaaaaaaa"'}),
    ],
    ids=["query value", "query name", "path", "form value", "form name", "urlencoded", "cookie"],
)
def test_nul_is_refused_wherever_it_comes_in(client, send):
    answer = send(client)

    assert answer.status_code == 400
    assert "could not be read" in answer.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["urlencoded", "multipart"])
def test_control_signs_are_dropped_from_what_is_typed_but_tab_and_line_breaks(client, kind):
    odd = "".join(map(chr, [*range(1, 9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF]))
    note = f"Tongs{odd} slipped\tat M\r\nand\u202e again"
    typed = {"note": note, "new_password": f"keel{odd}", "twice": ["a\x08", "b"]}
    if kind == "urlencoded":
        body, content_type = urlencode(typed, doseq=True), "application/x-www-form-urlencoded"
        answer = client.post("/told/", body, content_type=content_type)
    else:
        answer = client.post("/told/", typed | {"f": SimpleUploadedFile("p.jpg", b"\xff\xd8\0\x08")})

    plain = {"note": [note.replace(odd, "")], "new_password": [f"keel{odd}"], "twice": ["a", "b"]}
    assert answer.json()["fields"] == plain
    assert answer.json()["files"] == ([] if kind == "urlencoded" else [4])


@pytest.mark.django_db
def test_file_may_hold_any_byte(client):
    answer = client.post("/look-up/", {"name": "anna", "f": SimpleUploadedFile("p.jpg", b"\xff\xd8\0\0")})

    assert (answer.status_code, answer.content) == (200, b"False 1")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("charset", ["charset=\0", "charset*=''%00", "charset=\ud800", "charset*=x'y'%ff"])
def test_charset_that_is_none_is_no_failure_of_ours(charset):
    statuses = []
    environ = next(odd_requests(SEED, 1)) | {
        "PATH_INFO": "/public/",
        "REQUEST_METHOD": "GET",
        "CONTENT_LENGTH": "",
        "CONTENT_TYPE": f"text/plain; {charset}",
        "HTTP_COOKIE": "",
    }

    response = Handler()(environ, lambda status, headers: statuses.append(status))
    response.close()

    assert statuses == ["200 OK"]


@pytest.mark.django_db(transaction=True)
def test_odd_requests_are_never_a_failure_of_ours():
    """600 seeded requests on the application as a server calls it: none answers 500, none raises."""
    handler = Handler()
    seen: dict[int, int] = {}
    for number, environ in enumerate(odd_requests(SEED, 600)):
        told = _shown(environ)
        statuses: list[str] = []

        response = handler(environ, lambda status, headers, kept=statuses: kept.append(status))
        body = b"".join(response)
        response.close()

        status = int(statuses[0][:3])
        assert status < 500, f"request {number} of seed {SEED} gave {status}: {told}"
        assert body or environ["REQUEST_METHOD"] == "HEAD" or status in (301, 302, 303, 401, 405), told
        seen[status] = seen.get(status, 0) + 1
    # The kit must reach the pages as well as the refusals, or it would prove little.
    assert {200, 302, 400, 404, 405, 413} <= set(seen), seen
    assert seen[200] > 50


def _shown(environ) -> str:
    names = ("REQUEST_METHOD", "PATH_INFO", "QUERY_STRING", "CONTENT_TYPE", "CONTENT_LENGTH", "HTTP_COOKIE")
    return str({name: environ.get(name, "")[:80] for name in names})


def test_odd_requests_are_the_same_each_time():
    def paths():
        return [environ["PATH_INFO"] for environ in odd_requests(SEED, 50)]

    assert paths() == paths()
