import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from urllib.parse import quote

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client

from buildlog.models import Throttle
from buildlog.site import throttle
from buildlog.site.throttle import Bucket, take, take_all, wait_for

START = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
TEN = Bucket("ten", 10)

pytestmark = pytest.mark.django_db


def taken(bucket, subject, count, now=START) -> list[bool]:
    return [take(bucket, subject, now) == 0 for _ in range(count)]


def test_bucket_gives_its_tries_and_then_says_how_long_to_wait():
    assert taken(TEN, "anna", 10) == [True] * 10

    # Ten an hour is one in six minutes.
    assert take(TEN, "anna", START) == 360
    assert take(TEN, "anna", START + timedelta(minutes=4)) == 120
    assert take(TEN, "anna", START + timedelta(minutes=6)) == 0
    assert take(TEN, "anna", START + timedelta(minutes=6)) == 360


def test_refused_try_does_not_put_the_next_one_off():
    taken(TEN, "anna", 10)
    for minute in range(6):
        assert take(TEN, "anna", START + timedelta(minutes=minute)) > 0

    assert take(TEN, "anna", START + timedelta(minutes=6)) == 0


def test_bucket_is_full_after_an_hour_and_never_fuller():
    taken(TEN, "anna", 10)

    assert taken(TEN, "anna", 11, START + timedelta(days=30)) == [True] * 10 + [False]


def test_buckets_of_others_are_their_own():
    taken(TEN, "anna", 10)

    assert take(TEN, "bertil", START) == 0
    assert take(Bucket("other", 10), "anna", START) == 0


def test_clock_set_back_neither_fills_nor_locks_a_bucket():
    taken(TEN, "anna", 10)

    assert take(TEN, "anna", START - timedelta(days=400)) == 360
    assert take(TEN, "anna", START - timedelta(days=400) + timedelta(minutes=6)) == 0


def test_clock_set_back_does_not_lock_a_bucket_that_is_only_looked_at():
    taken(TEN, "anna", 10)
    before = START - timedelta(days=400)

    assert wait_for(TEN, "anna", before) == 360
    assert wait_for(TEN, "anna", before + timedelta(minutes=6)) == 0


def test_several_buckets_are_taken_from_together_or_not_at_all():
    taken(TEN, "empty", 10)

    wait = take_all([(TEN, "empty"), (TEN, "full")], START)

    assert wait == 360
    assert taken(TEN, "full", 11) == [True] * 10 + [False]


def test_looking_at_a_bucket_takes_nothing():
    taken(TEN, "anna", 9)

    assert [wait_for(TEN, "anna", START) for _ in range(5)] == [0] * 5
    assert taken(TEN, "anna", 2) == [True, False]
    assert wait_for(TEN, "anna", START) == 360
    assert wait_for(TEN, "nobody yet", START) == 0


def test_row_names_nobody(settings):
    take(TEN, "anna@192.168.1.20", START)
    first = Throttle.objects.get().key
    settings.SECRET_KEY = "another key"
    take(TEN, "anna@192.168.1.20", START)

    assert len(first) == 64
    assert int(first, 16)
    # Keyed by our secret: without it nobody can try names against the stored digests.
    assert Throttle.objects.count() == 2


def test_rows_that_have_filled_up_again_are_forgotten():
    take(TEN, "long ago", START - timedelta(days=2))
    take(TEN, "now", START)

    assert throttle.forget_idle(START) == 1
    assert Throttle.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_threads_that_try_at_once_share_the_ten():
    def one_try(_):
        try:
            return take(TEN, "anna", START) == 0
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as threads:
        allowed = list(threads.map(one_try, range(60)))

    assert sum(allowed) == 10


@pytest.mark.django_db(transaction=True)
def test_processes_that_try_at_once_share_the_ten(settings):
    script = (
        "import django; django.setup()\n"
        "from datetime import datetime, UTC\n"
        "from buildlog.site.throttle import Bucket, take_all\n"
        "now = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)\n"
        "both = [(Bucket('ten', 10), 'anna'), (Bucket('thirty', 30), '203.0.113.9')]\n"
        "print(sum(take_all(both, now) == 0 for _ in range(15)))\n"
    )
    environment = os.environ | {
        "DATABASE_URL": database_url(),
        "SECRET_KEY": settings.SECRET_KEY,
        "DJANGO_SETTINGS_MODULE": "buildlog.settings",
    }

    started = [
        subprocess.Popen([sys.executable, "-c", script], env=environment, stdout=subprocess.PIPE, text=True)
        for _ in range(4)
    ]
    allowed = [int(each.communicate(timeout=60)[0]) for each in started]

    assert [each.returncode for each in started] == [0] * 4
    assert sum(allowed) == 10


def database_url() -> str:
    known = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{known['NAME']}"
    user = quote(known["USER"] or "") + (f":{quote(known['PASSWORD'])}" if known["PASSWORD"] else "")
    host, port = quote(known["HOST"] or "", safe=""), known["PORT"] or 5432
    return f"postgres://{user}@{host}:{port}/{known['NAME']}"


# Signing in: 10 an hour for an account, 30 for an address, both before a password is hashed.


def tries(client, name, count, **extra) -> list[int]:
    return [client.get("/sign-in/", {"name": name}, **extra).status_code for _ in range(count)]


def test_account_has_ten_tries_an_hour_from_wherever_they_come(client, clock):
    statuses = [
        tries(client, name, 1, REMOTE_ADDR=f"203.0.113.{number}")[0]
        for number, name in enumerate(["anna", "ANNA", " Anna ", "ＡＮＮＡ"] * 3)
    ]

    assert statuses == [200] * 10 + [429] * 2
    clock.forward(minutes=6)
    assert tries(client, "anna", 2, REMOTE_ADDR="203.0.113.99") == [200, 429]


def test_address_has_thirty_tries_an_hour_whatever_names_it_tries(client, clock):
    statuses = [tries(client, f"name {number}", 1)[0] for number in range(35)]

    assert statuses == [200] * 30 + [429] * 5
    assert tries(client, "name 99", 1, REMOTE_ADDR="203.0.113.9") == [200]


def test_household_of_ipv6_shares_its_tries(client, clock):
    statuses = [
        tries(client, f"name {number}", 1, REMOTE_ADDR=f"2001:db8::{number:x}")[0] for number in range(1, 33)
    ]

    assert statuses == [200] * 30 + [429] * 2


def test_blocked_address_does_not_use_up_the_tries_of_an_account(client, clock):
    for number in range(30):
        tries(client, f"name {number}", 1)
    assert tries(client, "anna", 20) == [429] * 20

    assert tries(client, "anna", 10, REMOTE_ADDR="203.0.113.9") == [200] * 10


def known_browser(rf, settings, clock, name="anna") -> Client:
    request = rf.get("/")
    request.id, request.now = "a-known-device", clock()
    response = HttpResponse()
    throttle.remember_device(request, response, name)
    client = Client()
    client.cookies[settings.DEVICE_COOKIE_NAME] = response.cookies[settings.DEVICE_COOKIE_NAME].value
    return client


def test_known_browser_gets_in_while_others_guess_at_the_name(client, rf, settings, clock):
    mine = known_browser(rf, settings, clock)
    assert tries(client, "anna", 12)[-1] == 429

    assert tries(mine, "anna", 11) == [200] * 10 + [429]


def test_known_browser_is_known_for_its_own_account_alone(client, rf, settings, clock):
    mine = known_browser(rf, settings, clock)
    tries(client, "bertil", 12)

    assert tries(mine, "bertil", 1) == [429]


@pytest.mark.parametrize("forged", ["", "x", "a:b:c", "eyJmb3IiOiJhIn0:1x:zz", "\udcff", "e30:" * 3])
def test_forged_mark_of_a_device_is_no_mark(client, rf, settings, clock, forged):
    tries(client, "anna", 12)
    request = rf.get("/")
    request.COOKIES[settings.DEVICE_COOKIE_NAME] = forged

    assert throttle.known_device(request, "anna") == ""


def test_mark_of_a_device_is_closed_to_scripts_and_lasts_a_year(rf, settings, clock):
    request = rf.get("/")
    request.id = "x"
    response = HttpResponse()

    throttle.remember_device(request, response, "anna")

    cookie = response.cookies["device"]
    assert (cookie["httponly"], cookie["samesite"], cookie["max-age"]) == (True, "Lax", 365 * 24 * 60 * 60)
    assert "anna" not in cookie.value


def test_wrong_tokens_of_an_address_are_counted_and_right_ones_are_not(rf, clock):
    request = rf.get("/")
    request.client_address, request.now = "203.0.113.9", clock()
    assert [throttle.wait_for_token(request) for _ in range(50)] == [0] * 50

    for _ in range(30):
        throttle.count_wrong_token(request)

    assert throttle.wait_for_token(request) == 120
    request.client_address = "203.0.113.10"
    assert throttle.wait_for_token(request) == 0
