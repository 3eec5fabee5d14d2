"""Markup that the one policy lets through, and that stands without a script."""

import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
DRAWERS = sorted((ROOT / "buildlog").rglob("*.py"))
# Colours may stand only where no stylesheet reaches: the browser's own bar (test_tokens holds them).
COLOURLESS = [path for path in TEMPLATES if path.name != "_theme_colour.html"]


def _named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def _without_comments(text: str) -> str:
    text = re.sub(r"{% comment %}.*?{% endcomment %}", "", text, flags=re.DOTALL)
    return re.sub(r"{#.*?#}", "", text)


@pytest.mark.parametrize("path", TEMPLATES, ids=_named)
def test_a_template_has_no_inline_style_or_script(path):
    text = _without_comments(path.read_text(encoding="utf-8"))

    assert re.findall(r"\sstyle\s*=", text) == []
    assert re.findall(r"\son[a-z]+\s*=\s*[\"']", text) == []
    assert re.findall(r"hx-on|hx-vals\s*=\s*[\"']js:|javascript:", text) == []
    assert re.findall(r"<script(?![^>]*\ssrc=)", text) == []


@pytest.mark.parametrize("path", COLOURLESS, ids=_named)
def test_a_template_names_no_colour(path):
    text = _without_comments(path.read_text(encoding="utf-8"))

    assert (
        re.findall(
            r"(?:fill|stroke|color|bgcolor)\s*=\s*[\"']#?\w",
            re.sub(r"[\"'](?:none|currentColor|url\([^)]*\))[\"']", "", text),
        )
        == []
    )
    assert re.findall(r"[\"'\s:](#[0-9a-fA-F]{6}|#[0-9a-fA-F]{3})[\"'\s;]", text) == []


@pytest.mark.parametrize("path", [p for p in DRAWERS if "pictures" in p.parts], ids=_named)
def test_a_picture_is_painted_by_classes(path):
    text = path.read_text(encoding="utf-8")

    assert re.findall(r"\sstyle=|<style", text) == []
    painted = re.findall(r"(?:fill|stroke)=[\"']([^\"'{]+)", text)
    assert [value for value in painted if not value.startswith(("none", "url(", "hatch-"))] == []
    assert re.findall(r"#[0-9a-fA-F]{6}\b", text) == []


def test_every_class_a_picture_asks_for_is_painted():
    css = (ROOT / "static/css/reckoner.css").read_text(encoding="utf-8")
    named = set(re.findall(r"\.(p-[a-z0-9-]+)", re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)))
    asked = set()
    for path in DRAWERS:
        if "pictures" in path.parts:
            for found in re.findall(
                r"(?<![\w-])p-[a-z0-9-]*[a-z0-9]\b(?!-)", path.read_text(encoding="utf-8")
            ):
                asked.add(found)

    assert asked - named == set()


def test_the_page_asks_htmx_for_nothing_the_policy_forbids():
    base = (ROOT / "templates/base.html").read_text(encoding="utf-8")
    chosen = json.loads(re.search(r"name=\"htmx-config\" content='([^']*)'", base)[1])

    assert (chosen["includeIndicatorStyles"], chosen["allowEval"], chosen["allowScriptTags"]) == (
        False,
        False,
        False,
    )
    assert chosen["historyCacheSize"] == 0
    assert {"code": "409", "swap": True} in chosen["responseHandling"]


def test_every_icon_of_the_manifest_is_here():
    folder = ROOT / "static/img"
    manifest = json.loads((folder / "reckoner.webmanifest").read_text(encoding="utf-8"))

    assert [icon["src"] for icon in manifest["icons"] if not (folder / icon["src"]).is_file()] == []
    assert any(icon.get("purpose") == "maskable" for icon in manifest["icons"])
