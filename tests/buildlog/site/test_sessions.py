from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.sessions.models import Session
from django.http import HttpResponse
from django.test import Client

from buildlog.models import SignedInPhone
from buildlog.site.sessions import sign_out_everywhere, signed_in_at


@pytest.fixture
def phone(account, clock):
    client = Client()
    client.force_login(account)
    return client


def is_signed_in(client) -> bool:
    return client.get("/").status_code == 200


def test_stranger_is_sent_to_sign_in_and_back_to_the_page_they_wanted(client, db):
    answer = client.get("/", {"side": "port"})

    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/%3Fside%3Dport")


def test_lapsed_fragment_sends_the_whole_page_to_sign_in(client, db):
    answer = client.get(
        "/", HTTP_HX_REQUEST="true", HTTP_HX_CURRENT_URL="http://testserver/builds/7/?side=port"
    )

    assert (answer.status_code, answer["HX-Redirect"]) == (
        401,
        "/sign-in/?next=%2Fbuilds%2F7%2F%3Fside%3Dport",
    )
    assert answer.content == b""


def test_lapsed_fragment_is_not_sent_back_to_another_site(client, db):
    answer = client.get("/", HTTP_HX_REQUEST="true", HTTP_HX_CURRENT_URL="http://evil.example.org/")

    assert answer["HX-Redirect"] == "/sign-in/?next=%2F"


def test_stranger_who_asks_for_json_is_told_so_and_not_redirected(client, db):
    answer = client.get("/", HTTP_ACCEPT="application/json")

    assert (answer.status_code, answer["Content-Type"]) == (401, "application/json")


def test_post_of_a_stranger_is_sent_to_sign_in_by_get(client, db):
    answer = client.post("/", {"width": "9.4"})

    assert (answer.status_code, answer["Location"]) == (303, "/sign-in/")


def test_lapsed_post_leads_back_to_the_page_it_was_sent_from(client, db):
    answer = client.post("/", {"width": "9.4"}, HTTP_REFERER="http://testserver/builds/7/?side=port")

    assert (answer.status_code, answer["Location"]) == (303, "/sign-in/?next=%2Fbuilds%2F7%2F%3Fside%3Dport")


@pytest.mark.parametrize("elsewhere", ["http://evil.example.org/builds/7/", "//evil.example.org/", "no address"])
def test_lapsed_post_is_not_sent_back_to_another_site(client, db, elsewhere):
    assert client.post("/", {"width": "9.4"}, HTTP_REFERER=elsewhere)["Location"] == "/sign-in/"


def test_session_used_now_and_then_lives_on_and_ends_ninety_days_after_its_sign_in(phone, clock):
    for _ in range(9):
        clock.forward(days=10)
        assert is_signed_in(phone)

    clock.forward(seconds=1)

    assert not is_signed_in(phone)


def test_session_is_saved_once_a_day_and_not_with_every_page(phone, clock, django_assert_num_queries):
    is_signed_in(phone)
    clock.forward(hours=23)
    with django_assert_num_queries(2):
        answer = phone.get("/")
    assert not answer.cookies

    clock.forward(hours=2)
    answer = phone.get("/")

    assert answer.cookies["session"]["max-age"] == 14 * 24 * 60 * 60


def test_session_left_alone_for_fourteen_days_is_over(phone, clock):
    is_signed_in(phone)

    # Django keeps the end of a session by the real clock; this is that row, fourteen days on.
    Session.objects.update(expire_date=datetime.now(UTC) - timedelta(seconds=1))

    assert not is_signed_in(phone)


def test_end_of_a_session_is_fourteen_days_away_when_it_begins(phone):
    left = Session.objects.get().expire_date - datetime.now(UTC)

    assert timedelta(days=14) - left < timedelta(minutes=1)


def test_sign_in_gives_a_new_session_key_and_its_time(client, account, clock):
    before = client.session
    before["draft"] = "x"
    before.save()

    client.force_login(account)

    assert client.session.session_key != before.session_key
    assert signed_in_at(client.session) == clock.moment


def test_new_password_ends_every_session_at_once(account, clock):
    phones = [Client() for _ in range(5)]
    for each in phones:
        each.force_login(account)
    assert [is_signed_in(each) for each in phones] == [True] * 5

    account.set_password("a new garboard every year")
    account.save()

    assert [is_signed_in(each) for each in phones] == [False] * 5


def test_closed_account_is_out_at_once(account, phone):
    assert is_signed_in(phone)

    account.is_active = False
    account.save()

    assert not is_signed_in(phone)


def test_sign_out_everywhere_ends_all_listed_phones_but_the_one_in_hand(account, clock):
    phones = [Client() for _ in range(3)]
    for each in phones:
        each.force_login(account)
        SignedInPhone.objects.update_or_create(
            session_key=each.session.session_key,
            defaults={
                "account": account,
                "label": "a phone",
                "signed_in_at": clock.moment,
                "last_seen_at": clock.moment,
            },
        )

    ended = sign_out_everywhere(account, but_for=phones[0].session.session_key)

    assert ended == 2
    assert [is_signed_in(each) for each in phones] == [True, False, False]
    assert account.phones.count() == 1


def test_private_page_is_the_accounts_own(phone):
    answer = phone.get("/")

    assert isinstance(answer, HttpResponse)
    assert answer.content == b"the log of anna"
    assert answer["Cache-Control"] == "no-store"
