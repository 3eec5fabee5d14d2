"""A real browser over one page and the static files, under the policy that every page has."""

from pathlib import Path

import django_htmx
import pytest
from django.conf import settings
from django.template import Context, Template

ROOT = Path(__file__).resolve().parents[2]
HTMX = Path(django_htmx.__file__).parent / "static"
KINDS = {".css": "text/css", ".js": "text/javascript", ".woff2": "font/woff2", ".svg": "image/svg+xml"}


@pytest.fixture
def open_page(browser):
    """Return a function that shows template source at a size, with answers for further addresses."""
    contexts = []

    def show(source: str, *, phone: bool = True, answers: dict | None = None, **options):
        size = {"width": 360, "height": 740} if phone else {"width": 1280, "height": 800}
        context = browser.new_context(viewport=size, has_touch=phone, is_mobile=phone, **options)
        contexts.append(context)
        page = context.new_page()
        page.problems = []
        page.on("pageerror", lambda problem: page.problems.append(str(problem)))
        html = Template(source).render(Context({"theme": ""}))
        page.route("**/*", lambda route: _answer(route, html, answers or {}))
        page.goto("http://bench.invalid/")
        page.evaluate("document.fonts.ready")
        return page

    yield show
    for context in contexts:
        context.close()


def _answer(route, html: str, answers: dict) -> None:
    path = route.request.url.split("bench.invalid", 1)[-1]
    if path in answers:
        status, body = answers[path]
        return (
            route.abort()
            if status == 0
            else route.fulfill(status=status, body=body, content_type="text/html")
        )
    if path == "/":
        return route.fulfill(body=html, content_type="text/html; charset=utf-8", headers=_policy())
    name = path.removeprefix(settings.STATIC_URL)
    found = [folder / name for folder in (ROOT / "static", HTMX) if (folder / name).is_file()]
    if not found:
        return route.fulfill(status=404)
    return route.fulfill(body=found[0].read_bytes(), content_type=KINDS.get(found[0].suffix, "image/png"))


def _policy() -> dict[str, str]:
    rules = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    return {
        "Content-Security-Policy": "; ".join(f"{name} {' '.join(values)}" for name, values in rules.items())
    }
