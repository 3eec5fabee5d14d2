import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from buildlog.site import static_files


@pytest.fixture
def static(settings, tmp_path):
    folder = tmp_path / "static"
    (folder / "css").mkdir(parents=True)
    (folder / "css" / "one.css").write_text("body { margin: 0 }")
    settings.STATICFILES_DIRS = [folder]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    settings.STATIC_ROOT = tmp_path / "collected"
    return folder


def test_static_files_are_collected_once_and_again_when_one_changes(static, settings):
    said = []
    first = [static_files.collect_when_changed(said.append) for _ in range(3)]
    (static / "css" / "one.css").write_text("body { margin: 1px }")
    again = [static_files.collect_when_changed(said.append) for _ in range(2)]

    assert first == [True, False, False]
    assert again == [True, False]
    assert (settings.STATIC_ROOT / "css" / "one.css").read_text() == "body { margin: 1px }"
    assert len(said) == 2


def test_starts_at_the_same_moment_collect_once(static, settings):
    with ThreadPoolExecutor(4) as starts:
        did = list(starts.map(lambda _: static_files.collect_when_changed(lambda said: None), range(4)))

    assert sorted(did) == [False, False, False, True]
    assert (settings.STATIC_ROOT / "css" / "one.css").exists()


def test_change_of_the_same_length_is_seen_by_its_time(static):
    before = static_files.fingerprint()
    os.utime(static / "css" / "one.css", (1, 1))

    assert static_files.fingerprint() != before


def test_new_file_is_seen(static):
    before = static_files.fingerprint()
    (static / "css" / "two.css").touch()

    assert static_files.fingerprint() != before


def test_collecting_that_was_cut_short_is_done_again(static, monkeypatch):
    def cut_short(*args, **options):
        raise KeyboardInterrupt

    static_files.collect_when_changed(lambda said: None)
    (static / "css" / "two.css").touch()
    with monkeypatch.context() as patched:
        patched.setattr(static_files, "call_command", cut_short)
        with pytest.raises(KeyboardInterrupt):
            static_files.collect_when_changed(lambda said: None)

    assert static_files.collect_when_changed(lambda said: None) is True
