import socket
import threading
import time

import pytest
from django.core.management.base import CommandError

from buildlog.site import one_server, serving


@pytest.fixture
def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(autouse=True)
def own_hosts(settings, monkeypatch):
    settings.ALLOWED_HOSTS = ["localhost"]
    settings.SITE_URL = "http://localhost:8000"
    monkeypatch.delenv("SITE_URL", raising=False)
    monkeypatch.setattr(serving, "own_addresses", lambda: ["192.168.1.20", "10.0.0.7"])
    monkeypatch.setattr(serving.socket, "gethostname", lambda: "Bench")


def test_place_is_this_machine_alone_unless_asked(free_port, settings):
    place = serving.choose_place(free_port, lan=False)

    assert (place.host, place.here, place.for_phones) == ("127.0.0.1", f"http://127.0.0.1:{free_port}", None)
    assert settings.ALLOWED_HOSTS == ["localhost"]
    assert place.here == settings.SITE_URL


def test_place_on_the_network_allows_and_tells_the_machines_addresses(free_port, settings):
    place = serving.choose_place(free_port, lan=True)

    assert place.host == "0.0.0.0"
    assert place.addresses == (
        f"http://127.0.0.1:{free_port}",
        f"http://192.168.1.20:{free_port}",
        f"http://10.0.0.7:{free_port}",
    )
    assert place.for_phones == f"http://192.168.1.20:{free_port}"
    assert settings.ALLOWED_HOSTS == ["localhost", "192.168.1.20", "10.0.0.7", "bench", "bench.local"]


def test_address_chosen_by_the_host_is_the_one_that_is_told(free_port, settings, monkeypatch):
    monkeypatch.setenv("SITE_URL", "https://log.example.org")
    settings.SITE_URL = "https://log.example.org"

    place = serving.choose_place(free_port, lan=True)

    assert place.here == place.for_phones == "https://log.example.org"


def test_taken_port_is_told_with_the_next_one():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        with pytest.raises(CommandError, match=f"^Port {port} is taken.*--port"):
            serving.choose_place(port, lan=False)


def test_second_server_on_the_same_records_is_refused_until_the_first_has_ended(tmp_path):
    first, second, third = (one_server.only_server(tmp_path) for _ in range(3))
    with first, pytest.raises(CommandError, match="is being served already"):
        second.__enter__()

    with third:
        assert (tmp_path / "serving.lock").exists()


def test_worker_that_failed_is_started_again_until_it_is_stopped(monkeypatch):
    monkeypatch.setattr(serving, "REST_SECONDS", 0.01)
    stop, starts = threading.Event(), []

    def fall_over(stop_event):
        starts.append(time.monotonic())
        if len(starts) == 3:
            stop_event.set()
            return
        raise RuntimeError("a photograph like no other")

    serving._until_stopped(fall_over, stop)

    assert len(starts) == 3
