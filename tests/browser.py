"""The real browser of the tests: where it is found, and how it is started."""

import os
import shutil

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def chromium_path() -> str:
    """Return where a Chromium is, or an empty text."""
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), "")


def launch(playwright, *more_flags: str):
    return playwright.chromium.launch(executable_path=chromium_path() or None, args=[*FLAGS, *more_flags])
