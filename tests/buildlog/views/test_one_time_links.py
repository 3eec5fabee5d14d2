"""Links that work once: a look changes nothing, the button uses it up, a spent one says nothing."""

import pytest
from django.urls import reverse

from buildlog.actions.one_time_links import make_one_time_link, use_one_time_link
from buildlog.models import Account, Membership, OneTimeLink
from buildlog.views import one_time_links as views
from tests import factories

Purpose = OneTimeLink.Purpose


def address(token):
    return reverse("one-time-link", args=[token])


@pytest.fixture
def link_for(db, clock):
    def make(purpose, **fields):
        return make_one_time_link(purpose, now=clock(), **fields)

    return make


def test_first_owner_makes_the_account_and_opens_the_log(client, link_for):
    link, token = link_for(Purpose.FIRST_OWNER)

    answer = client.post(address(token), {"sign_in_name": " Tobin  Ashgrave ", "password": ""})

    account = Account.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert (account.sign_in_name, account.has_usable_password()) == ("Tobin Ashgrave", False)
    assert client.get(reverse("build-list")).status_code == 200
    link.refresh_from_db()
    assert link.used_at is not None


def test_first_owner_with_a_refused_name_keeps_the_link(client, link_for):
    link, token = link_for(Purpose.FIRST_OWNER)

    answer = client.post(address(token), {"sign_in_name": "a\u200bb", "password": "four plain garden words"})

    link.refresh_from_db()
    assert link.used_at is None
    assert answer.context["form"].errors["sign_in_name"][0].startswith("Name: it holds a character")


def test_first_owner_link_is_dead_once_there_is_an_account(client, link_for, stranger):
    _, token = link_for(Purpose.FIRST_OWNER)

    assert client.post(address(token), {"sign_in_name": "second"}).status_code == 404
    assert Account.objects.count() == 1


@pytest.mark.parametrize("method", ["get", "head"])
def test_looking_at_a_link_does_not_use_it_up(client, link_for, owner, method):
    link, token = link_for(Purpose.SIGN_IN, account=owner)

    for _ in range(3):
        assert getattr(client, method)(address(token)).status_code == 200

    link.refresh_from_db()
    assert link.used_at is None
    assert "_auth_user_id" not in client.session


def test_sign_in_link_signs_in_once(client, link_for, owner):
    _, token = link_for(Purpose.SIGN_IN, account=owner)

    assert client.post(address(token)).status_code == 302
    assert client.session["_auth_user_id"] == str(owner.pk)
    assert owner.phones.count() == 1
    assert type(client)().post(address(token)).status_code == 404


def test_sign_in_link_used_elsewhere_in_the_meantime_is_spent(
    client, link_for, owner, clock, monkeypatch
):
    link, token = link_for(Purpose.SIGN_IN, account=owner)
    found = views.one_time_link_that_opens(token, clock())
    monkeypatch.setattr(views, "one_time_link_that_opens", lambda *a: found)
    use_one_time_link(link, now=clock())

    assert client.post(address(token)).status_code == 404
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("how", ["unknown", "late", "used", "withdrawn", "shut account"])
def test_every_dead_link_answers_the_same(client, link_for, owner, clock, how):
    _link, token = link_for(Purpose.SIGN_IN, account=owner)
    if how == "unknown":
        token = "x" * 43
    if how == "late":
        clock.forward(hours=12)
    if how == "used":
        OneTimeLink.objects.update(used_at=clock())
    if how == "withdrawn":
        OneTimeLink.objects.update(withdrawn_at=clock())
    if how == "shut account":
        Account.objects.update(is_active=False)

    answer = client.get(address(token))

    assert answer.status_code == 404
    assert "This link opens nothing" in answer.content.decode()


def test_wrong_tokens_are_limited(client, db, clock):
    statuses = [client.get(address(f"{number:043d}")).status_code for number in range(32)]

    assert statuses[:30] == [404] * 30
    assert statuses[30:] == [429, 429]


def test_reset_sets_a_password_and_signs_the_others_out(client, link_for, owner):
    other = type(client)()
    other.post(reverse("sign-in"), {"sign_in_name": "owner", "password": "a long bench password"})
    _, token = link_for(Purpose.RESET, account=owner)

    answer = client.post(address(token), {"password": "four plain garden words"})

    owner.refresh_from_db()
    assert answer.status_code == 302
    assert owner.check_password("four plain garden words")
    assert other.get(reverse("build-list")).status_code == 302


def test_reset_with_a_short_password_keeps_the_link(client, link_for, owner):
    link, token = link_for(Purpose.RESET, account=owner)

    answer = client.post(address(token), {"password": "short"})

    link.refresh_from_db()
    assert link.used_at is None
    assert answer.context["form"].errors["password"][0].startswith("Password: too short.")


def test_invitation_lets_a_known_account_in_with_its_role(client_of, link_for, build, stranger):
    _, token = link_for(Purpose.INVITE, build=build, role="helper", for_name="Marit")

    answer = client_of(stranger).post(address(token))

    assert answer["Location"] == "/"
    membership = Membership.objects.get(build=build, account=stranger)
    assert membership.role == "helper"
    assert stranger.people.get().display_name == "Marit"


def test_invitation_makes_an_account_that_starts_no_builds(client, link_for, build):
    _, token = link_for(Purpose.INVITE, build=build, role="reader", for_name="Marit")

    answer = client.post(address(token), {"sign_in_name": "Marit", "password": "four plain garden words"})

    account = Account.objects.get(sign_in_name="Marit")
    assert answer.status_code == 302
    assert account.memberships.get().role == "reader"
    assert client.get(reverse("build-new")).status_code == 403


def test_invitation_does_not_lower_a_role(client_of, link_for, build, owner):
    _, token = link_for(Purpose.INVITE, build=build, role="reader")

    client_of(owner).post(address(token))

    assert Membership.objects.get(build=build, account=owner).role == "owner"


def test_invitation_says_what_the_role_may_do_and_offers_to_sign_in(client, link_for, build):
    _, token = link_for(Purpose.INVITE, build=build, role="helper", for_name="Marit")

    page = client.get(address(token)).content.decode()

    assert "the plan stays with its builders" in page
    assert f'href="{reverse("sign-in")}?next={address(token)}"' in page
    assert 'value="Marit"' in page


def test_link_is_never_in_the_log(client, link_for, owner, settings):
    _, token = link_for(Purpose.SIGN_IN, account=owner)

    client.get(address(token))

    log = settings.DATA_DIR / "log" / "reckoner.log"
    assert "/once/" in log.read_text()
    assert token not in log.read_text()


def test_wrong_method_is_refused(client, link_for, owner):
    _, token = link_for(Purpose.SIGN_IN, account=owner)

    assert client.put(address(token)).status_code == 405


def test_other_peoples_links_are_unlike(db, clock):
    account = factories.AccountFactory()
    made = {make_one_time_link(Purpose.SIGN_IN, now=clock(), account=account)[1] for _ in range(20)}

    assert len(made) == 20
    assert min(map(len, made)) == 43
