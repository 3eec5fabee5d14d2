"""Every page of ours met with what nobody would type: none may fail, whatever is sent to it.

The names of the fields are read off the pages themselves, so that a new form is met as well.
"""

import random
import re
import zlib
from urllib.parse import urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import reverse

from tests.buildlog.site.odd_requests import ODD_BYTES
from tests.buildlog.url_rows import BUILD_PAGES, LOOSE_ARGUMENTS, OPEN_PAGES, OWN_PAGES, arguments_of

SEED = 1883
POSTS_A_PAGE = 12
# A day, a choice, a name or a length as no person would type it.
ODD_TEXTS = [
    "",
    " ",
    "\0",
    "\t\n",
    "NaN",
    "inf",
    "-inf",
    "1e999",
    "-0",
    "0",
    "-1",
    "9" * 400,
    "1/0",
    "1 1/0",
    "0x1F",
    "1_000",
    "½½",
    "3 1/4 1/4",
    "٣",
    "𝟛",
    "１２",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31",
    "10000-01-01",
    "24:61",
    "T",
    "port'--",
    'starboard" or 1=1',
    "<svg/onload=alert(1)>",
    "{{ 7*7 }}",
    "{% load %}",
    "../../etc/passwd",
    "\\",
    "\u202eteg",
    "\ufeff",
    "🛶" * 50,
    "e\u0301" * 90,
    "ﷺ" * 40,
    "a" * 20_000,
    "[]",
    "{}",
    "null",
    "true",
    "[" * 3000,
    '{"a":' * 300,
    "00000000-0000-0000-0000-000000000000",
    "not-a-uuid",
    "None",
    "on",
    "9.4 mm 9.4",
    "--",
    "%00",
    "%ff",
    "mm",
    "in",
    "//evil.example.org",
    "http://[",
    "javascript:alert(1)",
    "\x1b[2J",
    "\x7f",
    "'" * 99,
]
KNOWN_FIELDS = [
    "name",
    "client_uuid",
    "version",
    "on",
    "q",
    "as_of",
    "next",
    "kind",
    "side",
    "thing",
    "strake",
]


def names_of_fields(html: str) -> list[str]:
    return re.findall(r'<(?:input|select|textarea|button)[^>]*\sname="([^"]+)"', html)


def odd_form(dice: random.Random, names: list[str]) -> dict:
    """Return a form in which most fields are odd, some are missing, some come twice."""
    form = {}
    for name in names:
        fate = dice.random()
        if fate < 0.15:
            continue
        form[name] = dice.choices(ODD_TEXTS, k=2) if fate > 0.9 else dice.choice(ODD_TEXTS)
    if dice.random() < 0.2:
        form[dice.choice(names)] = SimpleUploadedFile(dice.choice(ODD_TEXTS)[:50] or "x", b"\xff\xd8\0" * 9)
    return form


def bodies(dice: random.Random, names: list[str]):
    """Yield what is posted: forms with odd values, and bodies that are no forms."""
    for _ in range(POSTS_A_PAGE):
        form = odd_form(dice, names)
        yield {"data": encode_multipart(BOUNDARY, form), "content_type": MULTIPART_CONTENT}
    odd = b"".join(dice.choices(ODD_BYTES, k=3))
    yield {"data": odd, "content_type": "application/json"}
    yield {"data": b"[" * 5000, "content_type": "application/json"}
    yield {"data": odd, "content_type": "multipart/form-data; boundary=x"}
    yield {"data": b"name=" + odd, "content_type": "application/x-www-form-urlencoded; charset=latin-1"}


def queries(dice: random.Random):
    for _ in range(4):
        picked = dict.fromkeys(dice.sample(KNOWN_FIELDS, 4))
        yield urlencode({name: dice.choice(ODD_TEXTS) for name in picked}, errors="surrogatepass")


def page_of(name: str, hull) -> str:
    if name in BUILD_PAGES:
        return reverse(name, args=arguments_of(name, hull))
    return reverse(name, args=LOOSE_ARGUMENTS.get(name, []))


# Signing out ends the walk; it is met last by the test of roles.
PAGES = sorted({*BUILD_PAGES, *OWN_PAGES, *OPEN_PAGES} - {"sign-out", "phone-sign-out-others"})


@pytest.mark.parametrize("name", PAGES)
def test_page_met_with_odd_requests_never_fails(name, hull, owner, client_of, settings):
    dice = random.Random(SEED + zlib.crc32(name.encode()))
    browser, url = client_of(owner), page_of(name, hull)
    browser.raise_request_exception = False
    page = browser.get(url).content.decode("utf-8", "replace")
    names = sorted({*names_of_fields(page), *KNOWN_FIELDS} - {"csrfmiddlewaretoken"})
    if name in BUILD_PAGES and BUILD_PAGES[name].reads is None:
        # Its form stands on another page; the bench and the hull have most of them.
        beside = [browser.get(reverse(other, args=[hull.build.uuid])) for other in ("bench", "hull", "shed")]
        names = sorted(
            {*names, *(each for answer in beside for each in names_of_fields(answer.content.decode()))}
        )

    failed = []
    for query in queries(dice):
        status = browser.get(f"{url}?{query}", headers=dice.choice([{}, {"HX-Request": "true"}])).status_code
        if status >= 500:
            failed.append(("GET", query[:200], status))
    for sent in bodies(dice, names):
        status = browser.generic("POST", url, **sent).status_code
        if status >= 500:
            failed.append(("POST", str(sent)[:1500], status))

    assert failed == [], f"{url} with the seed {SEED}"


def test_kit_is_large_enough_and_reaches_the_forms(hull, owner, client_of):
    """Twenty requests go to each page, to fields that are there."""
    widths = client_of(owner).get(page_of("widths-record", hull)).content.decode()

    assert len(PAGES) * (POSTS_A_PAGE + 8) > 1500
    assert len(names_of_fields(widths)) > 5
