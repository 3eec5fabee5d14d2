"""What a phone may keep without a sign-in: nothing of anybody is in it."""

import json
import re

from django.urls import reverse


def test_offline_page_is_the_same_for_everybody_and_names_nobody(hull, owner, client_of):
    pages = [client_of(who).get(reverse("offline")).content.decode() for who in (owner, None)]

    assert pages[0] == pages[1]
    assert hull.build.name not in pages[0]
    assert str(owner.uuid) not in pages[0]
    assert "csrf" not in pages[0]


def test_worker_keeps_the_offline_page_and_static_files_and_nothing_else(db, client_of):
    answer = client_of(None).get(reverse("worker"))
    files = json.loads(re.search(r"FILES = (\[.*\]);", answer.content.decode())[1])

    assert answer["Content-Type"].startswith("text/javascript")
    assert files[0] == "/offline/"
    assert all(file.startswith("/static/") for file in files[1:])


def test_every_file_the_offline_page_loads_is_kept(db, client_of):
    files = json.loads(re.search(r"FILES = (\[.*\]);", client_of(None).get(reverse("worker")).content.decode())[1])
    page = client_of(None).get(reverse("offline")).content.decode()

    assert set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page)) <= set(files)


def test_manifest_names_its_icons_by_whole_addresses(db, client_of):
    answer = client_of(None).get(reverse("manifest"))

    assert answer["Content-Type"] == "application/manifest+json"
    assert {icon["src"][:12] for icon in answer.json()["icons"]} == {"/static/img/"}
