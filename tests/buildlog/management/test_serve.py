"""The server as it is started: real processes on a data folder of their own."""

import http.cookiejar
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.error
import urllib.parse
import urllib.request
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from buildlog.management.commands import demo

ROOT = Path(__file__).resolve().parents[3]
READY_SECONDS = 90


class Server:
    """One `manage.py serve` or `demo`, and what it said so far."""

    def __init__(self, folder: Path, *arguments: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        kept = {"PATH", "HOME", "SYSTEMROOT", "TMPDIR"}
        environment = {name: value for name, value in os.environ.items() if name in kept}
        environment |= {"DATA_DIR": str(folder), "RECKONER_NO_VENV": "1", "PYTHONUNBUFFERED": "1"}
        command = [
            sys.executable,
            str(ROOT / "manage.py"),
            *arguments,
            "--port",
            str(self.port),
            "--no-browser",
        ]
        self.process = subprocess.Popen(
            command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        self.said: list[str] = []
        self._heard = threading.Condition()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        for line in self.process.stdout:
            with self._heard:
                self.said.append(line.rstrip("\n"))
                self._heard.notify_all()

    def heard(self, pattern: str) -> re.Match:
        """Wait for a line, and return what of it was looked for."""

        def found():
            return next((hit for line in self.said if (hit := re.search(pattern, line))), None)

        with self._heard:
            assert self._heard.wait_for(found, READY_SECONDS), "\n".join(self.said)
            return found()

    def get(self, path: str, opener=None, **fields):
        url = path if path.startswith("http") else f"http://127.0.0.1:{self.port}{path}"
        data = urllib.parse.urlencode(fields).encode() if fields else None
        for _ in range(100):
            try:
                with (opener or urllib.request.build_opener()).open(url, data, timeout=20) as answer:
                    return answer.status, answer.read().decode(), answer.geturl()
            except urllib.error.HTTPError as refused:
                with refused:
                    return refused.code, refused.read().decode(), url
            except urllib.error.URLError:
                # The link is printed a moment before the port is open.
                threading.Event().wait(0.1)
        pytest.fail("the server does not answer")

    def stop(self, number=signal.SIGTERM) -> int:
        self.process.send_signal(number)
        return self.process.wait(timeout=30)


@pytest.fixture
def start(tmp_path):
    started = []

    def run(*arguments: str, folder: Path = tmp_path / "data") -> Server:
        started.append(Server(folder, *arguments))
        return started[-1]

    yield run
    for server in started:
        if server.process.poll() is None:
            server.process.kill()
        server.process.wait()
        server.process.stdout.close()


def browser():
    return urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))


def token_of_form(html: str) -> str:
    return re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', html)[1]


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_first_start_makes_the_owner_and_the_second_keeps_them(start, tmp_path):
    server = start("serve")
    link = server.heard(r"  (http://127\.0\.0\.1:\d+/once/\S+)")[1]
    mine = browser()
    page = server.get(link, mine)[1]
    status, _, there = server.get(
        link,
        mine,
        csrfmiddlewaretoken=token_of_form(page),
        sign_in_name="Anna",
        password="keel and garboard",
    )
    assert (status, "/once/" in there, "/sign-in/" in there) == (200, False, False)
    # The link has worked once.
    assert server.get(link)[0] == 404
    assert server.stop() == 0
    assert server.said[-1] == "Stopped."

    again = start("serve")
    again.heard("Strake Reckoner: ")
    # The browser signed in before the restart is signed in after it (cookies know hosts and no ports).
    status, _, there = again.get("/account/", mine)
    assert (status, urllib.parse.urlsplit(there).path) == (200, "/account/")
    assert not [line for line in again.said if "/once/" in line]
    log = (tmp_path / "data" / "log" / "reckoner.log").read_text()
    assert link.rsplit("/", 2)[1] not in log
    assert "garboard" not in log


def test_records_are_closed_to_other_accounts_of_the_machine(start, tmp_path):
    server = start("serve")
    server.heard("/once/")
    assert server.get("/healthz")[:2] == (200, "ok\n")

    made = [path for path in (tmp_path / "data").rglob("*") if path.name != "serving.lock"]

    assert {path.name for path in made} >= {"secret_key", "reckoner.sqlite3"}
    assert [str(path) for path in made if os.name != "nt" and path.stat().st_mode & 0o077] == []


def test_second_server_on_the_same_records_ends_with_a_sentence(start):
    start("serve").heard("/once/")

    second = start("serve")

    assert second.process.wait(timeout=READY_SECONDS) == 1
    second.heard("is being served already")
    assert not [line for line in second.said if "Traceback" in line]


@pytest.mark.parametrize("port", ["0", "-1", "65536"])
def test_port_that_is_none_is_refused_with_code_two(port):
    with pytest.raises(CommandError, match="a number from 1 to 65535") as refusal:
        call_command("serve", f"--port={port}", stdout=StringIO())

    assert refusal.value.returncode == 2


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_demo_shows_the_sample_keeps_what_was_typed_and_starts_anew_when_told(start, tmp_path):
    def signed_in_at(server):
        link = server.heard(r"  (http://127\.0\.0\.1:\d+/once/\S+)")[1]
        mine = browser()
        page = server.get(link, mine)[1]
        server.get(link, mine, csrfmiddlewaretoken=token_of_form(page))
        front = server.get("/builds/", mine)[1]
        sample = re.search(r'href="(/builds/[0-9a-f-]{36}/[^"]*)"[^>]*>Look at the sample hull', front)[1]
        return link, mine, server.get(sample, mine)[1]

    server = start("demo")
    first_link, mine, sample = signed_in_at(server)
    assert "Orlawen" in sample
    account = server.get("/account/", mine)[1]
    server.get(
        "/account/name/", mine, csrfmiddlewaretoken=token_of_form(account), sign_in_name="Tobin the Second"
    )
    assert server.stop() == 0
    assert sorted(each.name for each in (tmp_path / "data").iterdir()) == ["demo"]

    again = start("demo")
    second_link, _, sample = signed_in_at(again)
    again.heard("signs you in as Tobin the Second")
    assert second_link.rsplit("/", 2)[1] != first_link.rsplit("/", 2)[1]
    assert "Orlawen" in sample
    assert again.stop() == 0

    anew = start("demo", "--reset")
    anew.heard("The sample starts anew.")
    anew.heard("signs you in as Tobin;")
    assert anew.stop() == 0


def test_reset_touches_no_other_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "mine"
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "reckoner.sqlite3").write_text("years of readings")

    with pytest.raises(RuntimeError):
        demo.empty_demo_folder()

    assert (settings.DATA_DIR / "reckoner.sqlite3").read_text() == "years of readings"


def test_reset_empties_the_demo_folder_but_for_its_key(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "demo"
    (settings.DATA_DIR / "photos" / "originals").mkdir(parents=True)
    (settings.DATA_DIR / "secret_key").write_text("key")
    (settings.DATA_DIR / "reckoner.sqlite3").touch()
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "kept").touch()
    (settings.DATA_DIR / "elsewhere").symlink_to(outside)

    demo.empty_demo_folder()

    assert [each.name for each in settings.DATA_DIR.iterdir()] == ["secret_key"]
    assert (outside / "kept").exists()
