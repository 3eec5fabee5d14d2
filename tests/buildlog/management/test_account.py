import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from buildlog.models import Account, OneTimeLink
from buildlog.queries.one_time_links import one_time_link_that_opens

pytestmark = pytest.mark.django_db


def run(*arguments) -> str:
    told = StringIO()
    call_command("account", *arguments, stdout=told)
    return told.getvalue()


def link_in(told, clock) -> OneTimeLink:
    token = re.search(r"http://localhost:8000/once/([\w-]{43})/", told)[1]
    return one_time_link_that_opens(token, clock())


def test_new_account_comes_with_a_link_to_choose_its_password(clock):
    told = run("Anna Berg")

    link = link_in(told, clock)
    assert (link.purpose, link.account.sign_in_name) == ("reset", "Anna Berg")
    assert not link.account.has_usable_password()
    assert told.startswith(
        "A link to choose a password for Anna Berg; it works once, until 2026-03-15 19:30 UTC:"
    )


def test_first_account_may_start_builds_and_later_ones_when_told(clock):
    for arguments in (["anna"], ["bertil"], ["cecilia", "--owner"], ["bertil", "--owner"]):
        run(*arguments)

    assert dict(Account.objects.values_list("sign_in_name", "may_start_builds")) == {
        "anna": True,
        "bertil": True,
        "cecilia": True,
    }
    Account.objects.filter(sign_in_name="bertil").update(may_start_builds=False)
    run("bertil")
    assert not Account.objects.get(sign_in_name="bertil").may_start_builds


def test_existing_account_is_found_however_its_name_is_typed_and_signed_in(clock):
    run("anna")

    link = link_in(run(" ANNA"), clock)

    assert (link.purpose, link.account.sign_in_name) == ("sign_in", "anna")
    assert Account.objects.count() == 1


def test_reset_link_leads_to_a_new_password_and_leaves_the_old_one_until_then(clock):
    account = Account.objects.create_account("anna", "keel and garboard")

    link = link_in(run("anna", "--reset-link"), clock)

    account.refresh_from_db()
    assert (link.purpose, link.account) == ("reset", account)
    assert account.check_password("keel and garboard")


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["nobody", "--reset-link"], "There is no account named 'nobody'"),
        ([""], "Name: write the name"),
        (["   "], "Name: write the name"),
        (["x" * 81], "Name: 80 characters at most"),
        (["a\u202eb"], "Name: it holds a character that cannot be seen"),
        (["a\0b"], "Name: it holds a character that cannot be seen"),
    ],
)
def test_bad_name_is_refused_with_code_two_and_nothing_made(arguments, sentence):
    with pytest.raises(CommandError, match=sentence) as refusal:
        run(*arguments)

    assert refusal.value.returncode == 2
    assert not Account.objects.exists()
    assert not OneTimeLink.objects.exists()


def test_closed_account_gets_no_link():
    account = Account.objects.create_account("anna")
    account.is_active = False
    account.save()

    with pytest.raises(CommandError, match="is closed") as refusal:
        run("anna", "--reset-link")
    assert refusal.value.returncode == 2
