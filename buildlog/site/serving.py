"""What `serve` and `demo` do: make the records ready, say the address, answer, and stop cleanly."""

import logging
import os
import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from contextlib import contextmanager, suppress
from dataclasses import dataclass

from django.conf import settings
from django.core import checks
from django.core.management.base import CommandError
from django.db import connections

from . import log, static_files, upgrade
from .network import own_addresses
from .one_server import only_server

THREADS = 8
# A phone that walks out of the house's network leaves its connection open; this frees it.
IDLE_SECONDS = 120
# How long the worker rests after it failed, before it is started again.
REST_SECONDS = 5.0


@dataclass(frozen=True)
class Place:
    """Where the server listens, and the addresses to say: the first is the one to use on this machine."""

    host: str
    port: int
    addresses: tuple[str, ...]

    @property
    def here(self) -> str:
        return self.addresses[0]

    @property
    def for_phones(self) -> str | None:
        return self.addresses[1] if len(self.addresses) > 1 else None


def choose_place(port: int, lan: bool) -> Place:
    """Return where to listen; open the settings to the addresses that `--lan` prints."""
    if lan:
        own = own_addresses()
        settings.ALLOWED_HOSTS += [*own, *_own_names()]
        addresses = (f"http://127.0.0.1:{port}", *(f"http://{address}:{port}" for address in own))
    else:
        addresses = (f"http://127.0.0.1:{port}",)
    if "SITE_URL" in os.environ:
        # Whoever set SITE_URL has said under which address the log is reached.
        addresses = (settings.SITE_URL, settings.SITE_URL)
    else:
        settings.SITE_URL = addresses[-1] if lan else addresses[0]
    place = Place("0.0.0.0" if lan else "127.0.0.1", port, addresses)  # noqa: S104 - asked for by --lan.
    _refuse_taken(place)
    return place


def _own_names() -> list[str]:
    name = socket.gethostname().lower()
    return [name, f"{name}.local"] if name else []


def _refuse_taken(place: Place) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name != "nt":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((place.host, place.port))
        except OSError as problem:
            raise CommandError(_why_not(place.port, problem)) from problem


def _why_not(port: int, problem: OSError) -> str:
    if isinstance(problem, PermissionError):
        return f"Port {port} is closed to this account of the machine. Choose one above 1023: --port 8000"
    return (
        f"Port {port} is taken, perhaps by a log that runs already. Stop that one, "
        f"or choose another: --port {port + 1 if port < 65535 else 8000}"
    )


def make_ready(say) -> None:
    """Bring the records and the pages up to date, then ask the database whether it holds its settings."""
    # The records are for this account of the machine alone, wherever DATA_DIR lies.
    os.umask(0o077)
    upgrade.bring_up_to_date(say)
    static_files.collect_when_changed(say)
    wrong = checks.run_checks(databases=["default"])
    for each in wrong:
        if each.is_serious():
            raise CommandError(f"The server does not start: {each.msg}")


def run(place: Place, tell: Callable[[], str], *, show: bool) -> None:
    """Answer until Ctrl-C or TERM; then end the worker and close the database.

    `tell` says the addresses once they answer, and returns the one for this machine's browser.
    """
    from waitress.server import create_server

    from buildlog.wsgi import application

    server = create_server(
        application,
        host=place.host,
        port=place.port,
        threads=THREADS,
        # waitress takes 100 and lets the next ones wait unanswered; a club evening may bring more phones.
        connection_limit=500,
        channel_timeout=IDLE_SECONDS,
        max_request_body_size=settings.BODY_BYTES + 1024 * 1024,
        # buildlog.site.network takes forwarded headers off; waitress knows one trusted proxy at most.
        clear_untrusted_proxy_headers=False,
        ident=None,
    )
    with _worker():
        log.note("server started", port=place.port, lan=place.host != "127.0.0.1")
        open_at = tell()
        if show:
            _open_browser(open_at)
        server.run()
        server.close()


@contextmanager
def stopping_cleanly(say):
    """Let Ctrl-C and TERM end the server at any moment of its start and life, without a traceback."""
    signal.signal(signal.SIGTERM, _stop)
    # waitress ends its loop by itself on Ctrl-C; whatever comes before and after it is caught here.
    with suppress(KeyboardInterrupt):
        yield
    log.note("server stopped")
    say("Stopped.")


def _stop(number, frame):
    """Leave the loop as Ctrl-C does."""
    raise KeyboardInterrupt


@contextmanager
def _worker():
    """Run the one worker of long jobs beside the pages."""
    from buildlog.jobs.worker import run_forever

    stop = threading.Event()
    thread = threading.Thread(target=_until_stopped, args=(run_forever, stop), name="jobs", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(timeout=10)
        connections.close_all()


def _until_stopped(run_forever, stop: threading.Event) -> None:
    """Start the worker again when it fails: a job that broke it must not end all later ones."""
    while not stop.is_set():
        try:
            run_forever(stop)
        except Exception:
            logging.getLogger("buildlog").exception("worker failed")
            stop.wait(REST_SECONDS)
    connections.close_all()


def _open_browser(url: str) -> None:
    # Without a desktop the standard library would start a text browser inside the server's own terminal.
    if sys.platform.startswith("linux") and not (
        os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    ):
        return
    with suppress(Exception):
        threading.Thread(target=webbrowser.open, args=(url,), daemon=True).start()


@contextmanager
def sole_server():
    with only_server(settings.DATA_DIR):
        yield
