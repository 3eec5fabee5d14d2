import pytest
from django.test import Client

POLICY = {
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "form-action 'self'",
    "img-src 'self' blob:",
    "base-uri 'none'",
    "object-src 'none'",
    "frame-ancestors 'none'",
}
PATHS = {
    "/public/": 200,
    "/nowhere/": 404,
    "/": 302,
    "/broken/": 500,
    "/full/": 507,
    "/healthz": 200,
    "/public/?x=%00": 400,
}


@pytest.mark.django_db
@pytest.mark.parametrize("path", PATHS)
def test_every_answer_carries_the_one_policy_and_its_friends(client, path):
    client.raise_request_exception = False

    answer = client.get(path)

    assert answer.status_code == PATHS[path]
    assert set(answer["Content-Security-Policy"].split("; ")) == POLICY
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Cache-Control"] == "no-store"
    assert len(answer["X-Request-Id"]) == 16
    assert not answer.has_header("Strict-Transport-Security")
    assert not answer.has_header("Cross-Origin-Opener-Policy")


@pytest.mark.django_db
@pytest.mark.parametrize("path", PATHS)
def test_every_answer_over_https_asks_for_https_ever_after(serve_under, path):
    client = serve_under(SITE_URL="https://log.example.org")
    client.raise_request_exception = False

    answer = client.get(path, secure=True, HTTP_HOST="log.example.org")

    assert answer.status_code == PATHS[path]
    assert answer["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert set(answer["Content-Security-Policy"].split("; ")) == POLICY


@pytest.mark.django_db
def test_http_request_to_an_https_site_is_sent_on_with_the_policy(serve_under):
    client = serve_under(SITE_URL="https://log.example.org")

    answer = client.get("/public/", HTTP_HOST="log.example.org")

    assert (answer.status_code, answer["Location"]) == (301, "https://log.example.org/public/")
    assert set(answer["Content-Security-Policy"].split("; ")) == POLICY


@pytest.mark.django_db
def test_health_is_answered_over_http_too_for_the_machine_itself(serve_under):
    client = serve_under(SITE_URL="https://log.example.org")

    assert client.get("/healthz", HTTP_HOST="localhost").content == b"ok\n"


@pytest.mark.django_db
def test_page_that_says_how_long_it_may_be_kept_is_left_alone():
    assert Client().get("/kept/")["Cache-Control"] == "private, max-age=60"


@pytest.mark.django_db
def test_fragment_is_told_apart_from_its_page_in_caches():
    assert "HX-Request" in Client().get("/public/", HTTP_HX_REQUEST="true")["Vary"]
