"""Signing in and out, and what an account changes about itself."""

import pytest
from django.urls import reverse

from buildlog.models import Account, SignedInPhone

PHONE = "Mozilla/5.0 (Linux; Android 14; Pixel) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36"
GOOD = {"sign_in_name": "owner", "password": "a long bench password"}


def test_sign_in_opens_the_log_and_writes_the_phone_down(client, owner, clock):
    answer = client.post(reverse("sign-in"), GOOD, headers={"user-agent": PHONE})

    assert (answer.status_code, answer["Location"]) == (302, "/")
    phone = owner.phones.get()
    assert (phone.label, phone.signed_in_at) == ("Android, Chrome", clock())
    assert phone.session_key == client.session.session_key


def test_name_is_known_however_it_is_spelled(client, owner):
    answer = client.post(reverse("sign-in"), GOOD | {"sign_in_name": "  OWNER "})

    assert answer.status_code == 302


def test_wrong_password_and_unknown_name_are_told_the_same(client, owner):
    wrong = client.post(reverse("sign-in"), GOOD | {"password": "not this one"})
    unknown = client.post(reverse("sign-in"), {"sign_in_name": "nobody", "password": "not this one"})

    sentence = "This name and password do not open an account together. Look at both again."
    assert wrong.context["form"].non_field_errors() == [sentence]
    assert unknown.context["form"].non_field_errors() == [sentence]
    assert "nobody" in unknown.content.decode()
    assert "_auth_user_id" not in client.session


def test_shut_account_does_not_open(client, owner):
    Account.objects.filter(pk=owner.pk).update(is_active=False)

    answer = client.post(reverse("sign-in"), GOOD)

    assert answer.status_code == 200
    assert "_auth_user_id" not in client.session


def test_eleventh_try_waits_and_keeps_the_name(client, owner, clock):
    for _ in range(10):
        client.post(reverse("sign-in"), GOOD | {"password": "wrong"})

    answer = client.post(reverse("sign-in"), GOOD)

    assert answer.status_code == 429
    assert answer["Retry-After"] == "360"
    assert "Try again in 6 min." in answer.content.decode()
    assert 'value="owner"' in answer.content.decode()
    clock.forward(minutes=6)
    assert client.post(reverse("sign-in"), GOOD).status_code == 302


def test_tries_are_taken_before_a_password_is_hashed(client, owner, clock, monkeypatch):
    for _ in range(10):
        client.post(reverse("sign-in"), GOOD | {"password": "wrong"})
    hashed = []
    monkeypatch.setattr(Account, "check_password", lambda *a: hashed.append(a))

    client.post(reverse("sign-in"), GOOD)

    assert hashed == []


@pytest.mark.parametrize(
    ("wanted", "gone_to"),
    [
        ("/builds/", "/builds/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("", "/"),
    ],
)
def test_sign_in_goes_on_to_pages_of_this_log_only(client, owner, wanted, gone_to):
    answer = client.post(reverse("sign-in"), GOOD | {"next": wanted})

    assert answer["Location"] == gone_to


def test_page_that_was_asked_for_comes_after_sign_in(client, owner):
    sent = client.get(reverse("build-list"))
    page = client.get(sent["Location"])

    assert '<input type="hidden" name="next" value="/builds/"' in page.content.decode()


def test_empty_sign_in_names_both_fields(client, db):
    answer = client.post(reverse("sign-in"), {})

    assert answer.context["form"].errors == {
        "sign_in_name": ["Name: write the name to sign in with."],
        "password": ["Password: write it here."],
    }


def test_sign_out_forgets_the_phone(client, owner):
    client.post(reverse("sign-in"), GOOD)

    answer = client.post(reverse("sign-out"))

    assert answer["Location"] == reverse("sign-in")
    assert not SignedInPhone.objects.exists()
    assert client.get(reverse("build-list")).status_code == 302


def test_sign_out_is_a_post(client_of, owner):
    assert client_of(owner).get(reverse("sign-out")).status_code == 405


@pytest.mark.parametrize("name", ["account-detail", "account-password", "build-list", "build-new", "home"])
def test_own_pages_are_closed_to_whoever_is_not_signed_in(client, db, name):
    answer = client.get(reverse(name))

    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign-in"))


def test_rename_keeps_the_account(client_of, owner):
    answer = client_of(owner).post(reverse("account-rename"), {"sign_in_name": "Tobin"})

    owner.refresh_from_db()
    assert answer.status_code == 302
    assert (owner.sign_in_name, owner.sign_in_folded) == ("Tobin", "tobin")


def test_rename_to_a_name_that_is_taken_keeps_what_was_typed(client_of, owner, stranger):
    answer = client_of(owner).post(reverse("account-rename"), {"sign_in_name": "Stranger"})

    owner.refresh_from_db()
    assert owner.sign_in_name == "owner"
    assert answer.context["rename_form"].errors == {
        "sign_in_name": ["Name: there is an account of this name already."]
    }
    assert 'value="Stranger"' in answer.content.decode()


def test_rename_may_change_only_its_capitals(client_of, owner):
    client_of(owner).post(reverse("account-rename"), {"sign_in_name": "Owner"})

    owner.refresh_from_db()
    assert owner.sign_in_name == "Owner"


def test_theme_is_kept(client_of, owner):
    browser = client_of(owner)

    browser.post(reverse("account-theme"), {"theme": "dark"})

    assert 'data-theme="dark"' in browser.get(reverse("account-detail")).content.decode()


def test_theme_that_is_none_is_refused(client_of, owner):
    answer = client_of(owner).post(reverse("account-theme"), {"theme": "pink"})

    owner.refresh_from_db()
    assert owner.theme == ""
    assert answer.context["theme_form"].errors == {"theme": ["Light or dark: choose one of the three."]}


def test_new_password_signs_every_other_device_out(client, owner):
    client.post(reverse("sign-in"), GOOD)
    other = type(client)()
    other.post(reverse("sign-in"), GOOD)

    answer = client.post(
        reverse("account-password"),
        {"old_password": "a long bench password", "password": "four plain garden words"},
    )

    assert answer.status_code == 302
    assert client.get(reverse("build-list")).status_code == 200
    assert other.get(reverse("build-list")).status_code == 302
    assert [p.session_key for p in owner.phones.all()] == [client.session.session_key]


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"old_password": "no", "password": "four plain garden words"}, "old_password", "is not the one"),
        ({"old_password": "a long bench password", "password": "short"}, "password", "Password: too short."),
        ({"old_password": "a long bench password", "password": "password123"}, "password", "every list"),
        ({"old_password": "a long bench password", "password": ""}, "password", "Password: write it here."),
    ],
)  # fmt: skip
def test_password_that_will_not_do_is_refused_by_its_field(client_of, owner, typed, field, sentence):
    answer = client_of(owner).post(reverse("account-password"), typed)

    assert sentence in answer.context["form"].errors[field][0]
    owner.refresh_from_db()
    assert owner.check_password("a long bench password")


def test_account_without_password_sets_its_first_one_without_an_old_one(client_of, owner):
    owner.set_unusable_password()
    owner.save()

    client_of(owner).post(reverse("account-password"), {"password": "four plain garden words"})

    owner.refresh_from_db()
    assert owner.check_password("four plain garden words")
