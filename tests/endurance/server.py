"""The real server on a data folder of its own, started as a person starts it and killed as a power switch
does.
"""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 60

_LAY_DOWN = """
import json, sys
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from buildlog.models import Account, Membership, Person
from tests.hulls import lay_down_hull

call_command("migrate", verbosity=0)
owner = Account.objects.create_account("owner")
hull = lay_down_hull(owner, labels=9, sides=("port", "starboard"))
cookies = []
for number in range(int(sys.argv[1])):
    account = Account.objects.create_account(f"helper {number}")
    Membership.objects.create(build=hull.build, account=account, role="helper", since=hull.build.created_at)
    Person.objects.create(build=hull.build, account=account, display_name=f"Helper {number}")
    browser = Client()
    browser.force_login(account)
    cookies.append(browser.cookies[settings.SESSION_COOKIE_NAME].value)
print(json.dumps({
    "build": str(hull.build.uuid),
    "strakes": sorted(str(strake.uuid) for opening in hull.openings for strake in opening.strakes.all()),
    "positions": [station.position for station in hull.stations],
    "session_cookie": settings.SESSION_COOKIE_NAME,
    "csrf_cookie": settings.CSRF_COOKIE_NAME,
    "cookies": cookies,
}))
"""


@dataclass(frozen=True)
class Log:
    """A log laid down in a data folder: what a writer must know to post to it."""

    data: Path
    build: str
    strakes: list[str]
    positions: list[int]
    session_cookie: str
    csrf_cookie: str
    cookies: list[str]


def environment_of(data: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "SITE_URL")}
    told = {"DATA_DIR": str(data), "RECKONER_NO_VENV": "1", "DJANGO_SETTINGS_MODULE": "buildlog.settings"}
    return kept | told | {"PYTHONWARNINGS": "ignore"}


def lay_down(data: Path, writers: int) -> Log:
    """Make the tables, a hull of 18 strakes and one signed-in helper for each writer."""
    done = subprocess.run(
        [sys.executable, "-c", _LAY_DOWN, str(writers)],
        env=environment_of(data), cwd=ROOT, capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(done.stderr)
    return Log(data, **json.loads(done.stdout.splitlines()[-1]))


class Server:
    """`manage.py serve` with all its threads and children, in a process group of its own."""

    def __init__(self, data: Path, words_in: Path | None = None, **variables: str):
        self.data, self.variables = data, variables
        self.told = (words_in or data.parent) / "server.txt"
        self.port = _free_port()
        self.process: subprocess.Popen | None = None
        self.slowest_start = 0.0

    def start(self) -> None:
        began = time.monotonic()
        with self.told.open("ab") as told:
            self.process = subprocess.Popen(
                [sys.executable, str(ROOT / "manage.py"), "serve", "--no-browser", "--port", str(self.port)],
                env=environment_of(self.data) | self.variables, cwd=ROOT, stdout=told, stderr=told,
                start_new_session=True,
            )  # fmt: skip
        while not self.answers():
            if self.process.poll() is not None or time.monotonic() - began > START_SECONDS:
                raise RuntimeError(f"the server did not start: {self.words()[-2000:]}")
            time.sleep(0.05)
        self.slowest_start = max(self.slowest_start, time.monotonic() - began)

    def answers(self) -> bool:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=2)
        try:
            connection.request("GET", "/healthz")
            return connection.getresponse().status == 200
        except OSError:
            return False
        finally:
            connection.close()

    def kill(self) -> None:
        """End the whole tree at once: the server, its threads, and a child that is decoding a photograph."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def stop(self) -> int:
        """End it as Ctrl-C does and return its exit code."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=30)

    def words(self) -> str:
        return self.told.read_text("utf-8", "replace")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def manage(data: Path, *arguments: str) -> subprocess.CompletedProcess:
    command = [sys.executable, str(ROOT / "manage.py"), *arguments]
    return subprocess.run(
        command, env=environment_of(data), cwd=ROOT, capture_output=True, text=True, check=False
    )
