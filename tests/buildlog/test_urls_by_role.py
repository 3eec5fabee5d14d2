"""Every URL x method x role, from the URL resolver: a URL that nobody wrote down here fails the suite.

A page of a build is told apart by the least role that may look (``reads``) and the least that may write
(``writes``). Whoever is not signed in is sent to sign in, a stranger finds nothing (404), a role too low is
told so (403), a method that a page does not have is refused (405).
"""

import pytest
from django.urls import get_resolver, reverse

from tests.buildlog.url_rows import BUILD_PAGES, LOOSE_ARGUMENTS, OPEN_PAGES, OWN_PAGES, arguments_of

ROLES = ["reader", "helper", "builder", "owner"]


def every_name():
    """Return the name of every URL, and fail for one that has none."""
    names = set()
    for pattern in get_resolver().url_patterns:
        assert pattern.name, f"{pattern.pattern} has no name"
        names.add(pattern.name)
    return names


def test_no_url_is_listed_twice():
    names = [pattern.name for pattern in get_resolver().url_patterns]

    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_every_url_is_written_down():
    written = set(BUILD_PAGES) | set(OPEN_PAGES) | set(OWN_PAGES)

    assert every_name() == written


def expected(page, method, role) -> set[int]:
    """Return the statuses that one role may meet with one method on a page of a build."""
    if role in ("anonymous", "disabled"):
        return {303, 405} if method not in ("GET", "HEAD") else {302}
    verb = "GET" if method == "HEAD" else method
    least = page.reads if verb == "GET" else page.writes if verb == "POST" else None
    if least is None:
        return {405}
    if role == "stranger":
        return {404}
    if ROLES.index(role) < ROLES.index(least):
        return {403}
    return page.answers


@pytest.fixture
def people(owner, builder, helper, reader, stranger):
    from tests.factories import AccountFactory

    disabled = AccountFactory(sign_in_name="disabled", is_active=False)
    return {
        "anonymous": None, "stranger": stranger, "disabled": disabled, "reader": reader, "helper": helper,
        "builder": builder, "owner": owner,
    }  # fmt: skip


@pytest.mark.parametrize("name", sorted(BUILD_PAGES))
def test_page_of_a_build_answers_each_role(name, people, hull, client_of):
    page, url = BUILD_PAGES[name], reverse(name, args=arguments_of(name, hull))

    # Writers come last, so that what they do cannot change what the others are answered.
    met = {
        (method, role): client_of(account).generic(method, url).status_code
        for method in ["GET", "HEAD", "PUT", "PATCH", "DELETE", "POST"]
        for role, account in people.items()
    }

    wrong = {key: status for key, status in met.items() if status not in expected(page, *key)}
    assert wrong == {}


@pytest.mark.parametrize("name", sorted(OPEN_PAGES))
def test_an_open_page_answers_anybody_alike(name, people, client_of):
    url = reverse(name, args=LOOSE_ARGUMENTS.get(name, []))

    met = {role: client_of(account).get(url).status_code for role, account in people.items() if role != "disabled"}

    signed_in_elsewhere = {302} if name == "sign-in" else set()
    assert set(met.values()) <= OPEN_PAGES[name] | signed_in_elsewhere
    for method in ("PUT", "PATCH", "DELETE"):
        assert client_of(None).generic(method, url).status_code == 405


@pytest.mark.parametrize("name", sorted(OWN_PAGES))
def test_a_page_of_ones_own_asks_strangers_to_sign_in(name, owner, client_of):
    page, url = OWN_PAGES[name], reverse(name, args=LOOSE_ARGUMENTS.get(name, []))

    nobody = {method: client_of(None).generic(method, url).status_code for method in ("GET", "POST")}
    mine = {method: client_of(owner).generic(method, url).status_code for method in ("GET", "PUT", "POST")}

    assert nobody["GET"] in ({302} if page.reads else {302, 405})
    assert nobody["POST"] in ({303} if page.writes else {303, 405})
    assert mine["PUT"] == 405
    assert mine["GET"] in (page.answers if page.reads else {405})
    assert mine["POST"] in (page.answers if page.writes else {405})
