"""A real server on a copy of a laid-down log, and people with browsers in front of it."""

import shutil

import pytest

from tests.endurance.server import Server
from tests.journeys.flight_mode import NO_SIGNAL
from tests.journeys.laid_down import lay_down
from tests.journeys.visitor import Visitor


@pytest.fixture(scope="session")
def laid_down(playwright, tmp_path_factory):
    return lay_down(tmp_path_factory.mktemp("laid-down"))


@pytest.fixture(scope="module")
def serve(laid_down, tmp_path_factory):
    """Return a function that serves a copy of the empty log or of the sample's."""
    started = []

    def start(*, sample: bool, **variables: str) -> Server:
        data = tmp_path_factory.mktemp("log") / "data"
        shutil.copytree(laid_down.sample if sample else laid_down.empty, data)
        server = Server(data, **variables)
        started.append(server)
        server.start()
        return server

    yield start
    for server in started:
        if server.process.poll() is None:
            server.kill()


@pytest.fixture(scope="module")
def empty_log(serve):
    return serve(sample=False)


@pytest.fixture(scope="module")
def sample_log(serve):
    return serve(sample=True)


@pytest.fixture
def visit(browser, laid_down):
    """Return a function that sits a person down at a server; at the end nothing may have gone wrong unforgiven."""
    visitors = []

    def arrive(server, device="phone", *, signed_in=False, in_browser=browser, host="127.0.0.1", **options):
        visitor = Visitor(in_browser, f"http://{host}:{server.port}", device, **options)
        if signed_in:
            visitor.context.add_cookies([laid_down.cookie | {"url": visitor.address}])
        visitors.append(visitor)
        return visitor

    yield arrive
    problems = [problem for visitor in visitors for problem in visitor.problems]
    for visitor in visitors:
        visitor.close()
    assert problems == []


@pytest.fixture
def tobin(sample_log, visit):
    """The builder with a phone; what a lost signal writes to the console is what the journey is about."""
    phone = visit(sample_log, signed_in=True)
    yield phone
    phone.context.set_offline(False)
    phone.forgive(NO_SIGNAL)


@pytest.fixture(params=["phone", "desk"])
def device(request):
    return request.param
