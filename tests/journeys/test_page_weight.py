"""What a page weighs on its first visit, photographs left out: itself, its style sheet and its scripts.

The font, 34 kB and kept by the browser for all pages, is weighed by itself: words are readable before it has come.
"""

import gzip
import re
import urllib.request
from urllib.parse import urljoin

import pytest

pytestmark = pytest.mark.journeys

LIMIT = 100_000
LINKED = re.compile(r'<(?:script|link)\b[^>]*?\b(?:src|href)="(/static/[^"]+\.(?:js|css))"')
FONT = re.compile(r'href="(/static/fonts/[^"]+\.woff2)"')


def fetched(address: str, cookie: str) -> bytes:
    with urllib.request.urlopen(urllib.request.Request(address, headers={"Cookie": cookie})) as answer:
        return answer.read()


def packed(content: bytes) -> int:
    """Return the bytes as gzip -6 sends them."""
    return len(gzip.compress(content, 6))


def test_no_page_weighs_more_than_100_kb_without_its_photographs(sample_log, laid_down):
    address = f"http://127.0.0.1:{sample_log.port}"
    cookie = f"{laid_down.cookie['name']}={laid_down.cookie['value']}"
    sizes, weights = {}, {}
    for name, path in laid_down.pages.items():
        if name == "public-missing":
            continue
        page = fetched(address + path, cookie)
        weights[name] = packed(page)
        for linked in set(LINKED.findall(page.decode())):
            if linked not in sizes:
                sizes[linked] = packed(fetched(urljoin(address, linked), cookie))
            weights[name] += sizes[linked]

    assert len(weights) > 40
    assert len(sizes) > 10
    (font,) = set(FONT.findall(page.decode()))
    assert len(fetched(urljoin(address, font), cookie)) < 40_000
    assert {name: weight for name, weight in weights.items() if weight > LIMIT} == {}
