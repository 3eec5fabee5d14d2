"""A build carried away as a file, and taken in from one, on the pages."""

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog.archive import build_shelf
from buildlog.jobs import worker
from buildlog.models import Build, Job, Membership, Person
from tests.buildlog.archive.build_kit import save, undone
from tests.hulls import lay_down_hull

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA_DIR / "photos"
    settings.DATA_DIR.mkdir()
    return settings.DATA_DIR


@pytest.fixture
def carried(owner, tmp_path):
    """The bytes of a saved build that is no longer in the log."""
    with undone():
        save(lay_down_hull(owner, name="Carried").build, tmp_path / "carried.zip")
    return (tmp_path / "carried.zip").read_bytes()


def at(name, build, *args):
    return reverse(name, args=[build.uuid, *args])


def send(browser, content, sent_as="carried.zip", **typed):
    return browser.post(reverse("build-file-take"), {"file": SimpleUploadedFile(sent_as, content), **typed})


def words_of(response) -> str:
    return response.content.decode()


@pytest.mark.parametrize(("meant_for", "originals"), [("self", True), ("others", False)])
def test_build_is_saved_and_carried_away(build, client_of, owner, meant_for, originals):
    browser = client_of(owner)

    asked = browser.post(at("build-file-save", build), {"for": meant_for})
    waiting = words_of(browser.get(asked.url))
    worker.run_pending()
    done = words_of(browser.get(asked.url))
    job = Job.objects.get(kind="save_build")
    file = browser.get(at("build-file", build, job.uuid))
    content = b"".join(file.streaming_content)
    file.close()

    assert "waiting for its turn" in waiting
    assert "Carry it away" in done
    assert ("to give away:" in done) is not originals
    assert file.headers["Content-Disposition"].startswith('attachment; filename="Test-hull-')
    assert zipfile.ZipFile(io.BytesIO(content)).testzip() is None


def test_saving_is_asked_for_once(build, client_of, owner):
    for _ in range(2):
        client_of(owner).post(at("build-file-save", build), {"for": "self"})

    assert Job.objects.filter(kind="save_build").count() == 1


def test_file_of_another_build_is_not_found(build, client_of, owner):
    other = lay_down_hull(owner, name="Other").build
    client_of(owner).post(at("build-file-save", other))
    worker.run_pending()

    job = Job.objects.get(kind="save_build")
    assert client_of(owner).get(at("build-file", build, job.uuid)).status_code == 404
    found = client_of(owner).get(at("build-file", other, job.uuid))
    assert found.status_code == 200
    found.close()


def test_file_that_was_let_go_is_said(build, client_of, owner, clock):
    client_of(owner).post(at("build-file-save", build))
    worker.run_pending()
    for path in build_shelf.folder().iterdir():
        path.unlink()

    page = words_of(client_of(owner).get(at("build-file-list", build)))

    assert "let go" in page
    assert "Carry it away" not in page


def test_build_is_taken_in_and_opened(carried, client_of, stranger):
    browser = client_of(stranger)

    sent = send(browser, carried)
    waiting = words_of(browser.get(sent.url))
    worker.run_pending()
    done = words_of(browser.get(sent.url))

    build = Build.objects.get()
    assert "waiting for its turn" in waiting
    assert "Carried is here:" in done
    assert browser.get(reverse("bench", args=[build.uuid])).status_code == 200
    assert Membership.objects.get().account == stranger
    assert set(Person.objects.values_list("display_name", "account__sign_in_name")) == {
        ("owner", None), ("stranger", "stranger"),
    }  # fmt: skip
    assert not list(build_shelf.folder().iterdir())


def test_who_is_in_the_build_already_is_not_added(carried, client_of, owner):
    send(client_of(owner), carried)
    worker.run_pending()

    assert Person.objects.get().account == owner


def test_name_says_who_one_is(carried, client_of, stranger):
    send(client_of(stranger), carried, name=" Owner ")
    worker.run_pending()

    assert Person.objects.get().account == stranger


def test_same_build_again_is_said_and_comes_as_a_copy(carried, client_of, stranger):
    browser = client_of(stranger)
    for _ in range(2):
        sent = send(browser, carried, sent_as="mine.zip")
        worker.run_pending()
    page = words_of(browser.get(sent.url))

    assert "mine.zip" in page
    assert "is in this log already" in page
    assert Build.objects.count() == 1
    send(browser, carried, as_copy="on")
    worker.run_pending()
    assert set(Build.objects.values_list("name", flat=True)) == {"Carried", "Carried (copy)"}


@pytest.mark.parametrize(("content", "words"), [
    (b"", "this file is empty"),
    (b"hello", "this is not a ZIP file"),
])  # fmt: skip
def test_file_that_is_no_build_is_said_at_once_and_the_name_stays(client_of, stranger, content, words):
    answer = send(client_of(stranger), content, name="Tobin")

    assert words in words_of(answer)
    assert 'value="Tobin"' in words_of(answer)
    assert not Job.objects.exists()


def test_damaged_file_is_said_by_its_own_name_and_nothing_stays(carried, client_of, stranger):
    sent = send(client_of(stranger), carried[:-40], sent_as="bench & more.zip")
    worker.run_pending()
    page = words_of(client_of(stranger).get(sent.url))

    assert "bench &amp; more.zip is not a ZIP file, or its end is missing." in page
    assert "Nothing was taken in." in page
    assert not Build.objects.exists()
    assert not list(build_shelf.folder().iterdir())


def test_no_file_is_said(client_of, stranger):
    assert "choose the file" in words_of(client_of(stranger).post(reverse("build-file-take")))


def test_who_may_start_no_builds_may_take_none_in(carried, client_of, stranger):
    stranger.may_start_builds = False
    stranger.save()

    assert send(client_of(stranger), carried).status_code == 403
    assert client_of(stranger).get(reverse("build-file-take")).status_code == 403
    assert "Take a build in" not in words_of(client_of(stranger).get(reverse("build-list")))


def test_what_another_sent_in_is_not_found(carried, client_of, stranger, owner):
    sent = send(client_of(stranger), carried)

    assert client_of(owner).get(sent.url).status_code == 404


def test_worker_killed_after_the_rows_were_laid_down_comes_to_the_same(carried, client_of, stranger):
    """The job is done a second time; the build is there once, and the page says so."""
    from buildlog.jobs import build_files

    sent = send(client_of(stranger), carried)
    job = Job.objects.get(kind="take_build")
    first = build_files.take_in(job, lambda says: None)
    second = build_files.take_in(Job.objects.get(pk=job.pk), lambda says: None)
    worker.run_pending()

    assert first == second
    assert Build.objects.count() == 1
    assert "Carried is here:" in words_of(client_of(stranger).get(sent.url))


def test_old_files_are_let_go(build, client_of, owner, clock):
    import os

    from buildlog.jobs.sweep import sweep_files

    client_of(owner).post(at("build-file-save", build))
    worker.run_pending()
    (path,) = build_shelf.folder().iterdir()
    left = build_shelf.folder() / ".half"
    left.mkdir()
    now = clock().timestamp()
    os.utime(path, (now, now))
    os.utime(left, (now, now))

    assert sweep_files(None, lambda says: None)["old_build_files"] == 0
    clock.forward(days=8)
    assert sweep_files(None, lambda says: None)["old_build_files"] == 2
    assert not list(build_shelf.folder().iterdir())
