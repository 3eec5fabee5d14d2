"""Every page of the sample hull in a real browser: fit for everybody, nothing refused by the policy, nothing out of
the window, and no label of a picture over another.
"""

import pytest

pytestmark = pytest.mark.journeys

# Ink and not line height: capitals reach 0.66 of the size over the baseline, tails 0.2 under it.
LABELS = """() => [...document.querySelectorAll('svg')].flatMap((svg, number) => {
  const edge = svg.getBoundingClientRect();
  if (!edge.width || !svg.checkVisibility({visibilityProperty: true})) return [];
  const scrolls = svg.closest('.scroll') !== null;
  const shown = [...svg.querySelectorAll('text')].filter(text => text.textContent.trim() && text.checkVisibility());
  return shown.map(text => {
    const words = text.textContent.trim(), box = text.getBBox(), to = text.getScreenCTM();
    const size = parseFloat(getComputedStyle(text).fontSize), line = text.getStartPositionOfChar(0).y;
    const tail = /[gjpqy,;()Q]/.test(words) ? 0.2 : 0.02;
    const corners = [[box.x, line - 0.66 * size], [box.x + box.width, line + tail * size]]
      .map(([x, y]) => new DOMPoint(x, y).matrixTransform(to));
    const [left, right] = [corners[0].x, corners[1].x].sort((a, b) => a - b);
    const [top, bottom] = [corners[0].y, corners[1].y].sort((a, b) => a - b);
    const cut = left < edge.left - 0.5 || right > edge.right + 0.5 || top < edge.top - 0.5 || bottom > edge.bottom + 0.5
      || (!scrolls && (left < -0.5 || right > document.documentElement.clientWidth + 0.5));
    return {number, words, left, right, top, bottom, cut};
  });
})"""

# Every picture is made in several cuts, and one of them is seen, hardly smaller than it was drawn, so that
# its words stay as large as they were meant.
CUTS = """() => [...document.querySelectorAll('.cuts')].flatMap(cuts => {
  if (!cuts.parentElement.checkVisibility()) return [];
  const seen = [...cuts.querySelectorAll('svg')].filter(svg => svg.checkVisibility());
  const words = cuts.querySelector('svg').getAttribute('aria-label')?.slice(0, 40);
  if (seen.length !== 1) return [`${seen.length} cuts are seen of the picture ${words}`];
  const shown = seen[0].getBoundingClientRect().width, drawn = seen[0].viewBox.baseVal.width;
  return shown < 0.95 * drawn ? [`drawn ${drawn} wide and shown ${shown}: ${words}`] : [];
})"""


def test_axe_finds_nothing_serious_on_any_page(sample_log, laid_down, visit, device):
    """The phone by day, the desk by night, so that both layouts and both sets of colours are met."""
    scheme = {"phone": "light", "desk": "dark"}[device]
    seen = pages_seen(visit, sample_log, laid_down, device, color_scheme=scheme)
    found = [(name, *problem) for name, visitor in seen for problem in visitor.serious()]

    assert found == []


def test_no_page_scrolls_sideways_and_no_label_of_a_picture_touches_another(sample_log, laid_down, visit):
    found, labels_met = [], 0
    for name, visitor in pages_seen(visit, sample_log, laid_down, "desk"):
        page = visitor.page
        for width in (320, 360, 720, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            wide = page.evaluate("document.documentElement.scrollWidth")
            if wide > width:
                found.append(f"{name} at {width}: scrolls sideways, {wide} px")
            if width != 320:
                labels = page.evaluate(LABELS)
                labels_met += len(labels)
                found += [f"{name} at {width}: {what}" for what in wrong_labels(labels) + page.evaluate(CUTS)]

    assert found == [], "\n".join(found)
    assert labels_met > 300


def pages_seen(visit, log, laid_down, device, **options):
    """Yield whoever looks at each page, whole and with its fonts. Those of a stranger are seen by one."""
    tobin, stranger = visit(log, device, signed_in=True, **options), visit(log, device, **options)
    for name, path in laid_down.pages.items():
        visitor = stranger if name.startswith("public-") else tobin
        answer = visitor.page.goto(path)
        assert answer.status == (404 if name == "public-missing" else 200), name
        visitor.page.evaluate("document.fonts.ready")
        yield name, visitor
    assert stranger.forgive("404") == 1


def wrong_labels(labels: list[dict]) -> list[str]:
    found = [f"{one['words']!r} is cut off" for one in labels if one["cut"]]
    for index, one in enumerate(labels):
        for other in labels[index + 1 :]:
            if other["number"] == one["number"] and touches(one, other):
                found.append(f"{one['words']!r} touches {other['words']!r}")
    return found


def touches(one, other, by=0.5) -> bool:
    return (
        min(one["right"], other["right"]) - max(one["left"], other["left"]) > by
        and min(one["bottom"], other["bottom"]) - max(one["top"], other["top"]) > by
    )


def test_the_looks_themselves_can_fail(sample_log, laid_down, visit):
    """The control: a page broken on purpose is found out by each of them."""
    visitor = visit(sample_log, "desk", signed_in=True)
    page = visitor.page
    page.goto(laid_down.pages["hull"])
    page.evaluate("""() => {
      document.body.append(Object.assign(document.createElement('style'), {textContent: 'body { color: red }'}));
      const svg = [...document.querySelectorAll('main svg')].find(one => one.querySelector('text')?.checkVisibility());
      const text = svg.querySelector('text'), copy = text.cloneNode(true), far = text.cloneNode(true);
      copy.setAttribute('x', +text.getAttribute('x') + 2);
      far.setAttribute('y', -400);
      svg.append(copy, far);
      document.querySelector('main').append(document.createElement('input'));
    }""")

    found = wrong_labels(page.evaluate(LABELS))
    assert [what for what in found if "touches" in what]
    assert [what for what in found if "cut off" in what]
    assert visitor.serious()
    assert visitor.forgive("Content Security Policy") >= 1
