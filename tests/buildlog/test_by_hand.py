"""A sceptic with the printed pages of one station: every figure is added again from what the pages themselves say.

Nothing here asks the arithmetic. The text of the pages is read, and its figures are added as Fractions.
"""

import html
import re
from fractions import Fraction

import pytest
from django.urls import reverse

from buildlog.models import PlanStrake
from buildlog.sample.story import tell_story

HUNDREDTH, THOUSANDTH = Fraction(1, 100), Fraction(1, 1000)
# A line takes up what was rounded away before it, so it may stand one place off its own rounding; the page says so.
CARRIED = HUNDREDTH
STATIONS = ["FH", "Q", "M", "H", "D", "⊗", "4", "8", "12", "16", "AH"]


@pytest.fixture
def build(owner):
    return tell_story(owner)


@pytest.fixture
def port(build):
    return build.openings.get(side="port")


@pytest.fixture
def printed(build, client_of, owner):
    """Return a function that gives the rows of a page's tables as their cells' texts, heading by heading."""
    browser = client_of(owner)
    return lambda name, *args: browser.get(reverse(name, args=[build.uuid, *args])).content.decode()


def plain(markup) -> str:
    # What is spoken in place of a sign stands beside it; the sign is what is printed.
    markup = re.sub(r'<span class="spoken">.*?</span>', "", markup, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", markup)).split())


def rows_of(markup) -> list[list[str]]:
    found = re.findall(r"<tr[ >].*?</tr>", markup, re.DOTALL)
    return [[plain(cell) for cell in re.findall(r"<t[hd][ >].*?</t[hd]>", row, re.DOTALL)] for row in found]


def number(text) -> Fraction:
    """Read a figure as it is printed: +0.02, −9.82, ▼ 0.06, ▲ 0.04, or one beside its words."""
    sign, figure = re.search(r"([−▼-]?)\s*(?:narrow\s*)?\+?(\d+\.\d+)", text).groups()
    return -Fraction(figure) if sign else Fraction(figure)


def sum_at(page, station) -> dict[str, list]:
    """Return the sum printed for one station: under each heading its rows of words and figure."""
    part = page.split(f"The sum at {station}<")[1].split("</table>")[0]
    return _by_heading(rows_of(part))


def sources_at(page, station) -> dict[str, list]:
    part = page.split(f"What the sum at {station} is made of<")[1].split("</table>")[0]
    return _by_heading(rows_of(part))


def _by_heading(rows):
    groups, last = {}, None
    for row in rows:
        if len(row) == 1 and not re.search(r"\d", row[0]):
            last = groups.setdefault(row[0], [])
        elif len(row) == 2:
            last.append((row[0], number(row[1])))
        elif last is not None:
            groups.setdefault("notes", []).append(row[0])
    return groups


def run_at(page, station, which) -> list:
    """Return strake, off plan and so far, as printed beside the sum of one station."""
    part = page.split(f"The sum at {station}<")[1].split("</details>\n\n")[0]
    part = part.split(f"The run from the {which}, strake by strake")[1].split("</table>")[0]
    return [(label.split()[0], number(off), number(so_far)) for label, off, so_far in rows_of(part)[1:]]


def adds_up(rows):
    *terms, (_words, total) = rows
    return sum((figure for _, figure in terms), Fraction(0)) == total


def test_every_group_of_every_printed_sum_adds_up_exactly(printed, port):
    page = printed("opening-sums", port.uuid)
    for station in STATIONS:
        groups = sum_at(page, station)
        assert {"Short", "Why", "Left alone", "Spread"} <= set(groups)
        for heading in ("Short", "Why", "Left alone", "Spread"):
            assert adds_up(groups[heading]), (station, heading, groups[heading])


def test_every_note_opens_a_sum_that_adds_up(printed, port):
    page = printed("opening-sums", port.uuid)
    notes = re.findall(r'<details class="ruled" id="note-\d+".*?</details>', page, re.DOTALL)
    sums = [_by_heading(rows_of(note)) for note in notes]
    assert notes
    for note, groups in zip(notes, sums, strict=True):
        of_figures = [rows for heading, rows in groups.items() if heading != "notes" and rows]
        assert of_figures, plain(note)
        assert all(adds_up(rows) for rows in of_figures), plain(note)


def test_each_line_of_each_sum_comes_from_what_it_is_made_of(printed, port):
    page = printed("opening-sums", port.uuid)
    for station in STATIONS:
        groups, made = sum_at(page, station), sources_at(page, station)
        short, why = dict(groups["Short"]), dict(groups["Why"])
        assert all(adds_up(made[heading]) for heading in ("Planned", "Widths hung", "Girth", "Seam")), station
        planned, widths = made["Planned"][-1][1], made["Widths hung"][-1][1]
        girth, seams = made["Girth"][-1][1], made["Seam"][-1][1]
        for shown, source in (
            (groups["Short"][0][1], planned), (why["widths hung"], widths), (why["girth lacking"], girth),
            (next(figure for words, figure in why.items() if "seam" in words), seams),
        ):  # fmt: skip
            assert abs(shown - source) < CARRIED, station
        # The seam is its share: so many, each so much, come to what is left for them.
        count, each = re.search(r"shared by (\d+) seams: (\S+) each", " ".join(made["notes"])).groups()
        assert abs(int(count) * Fraction(each) - seams) <= int(count) * THOUSANDTH / 20 + THOUSANDTH
        assert short["short"] == why["short"]


def test_the_runs_beside_a_sum_add_up_strake_by_strake_and_to_its_widths(printed, port):
    page = printed("opening-sums", port.uuid)
    for station in STATIONS:
        ends = Fraction(0)
        for which in ("wale", "keel"):
            so_far = Fraction(0)
            for label, off, printed_so_far in run_at(page, station, which):
                so_far += off
                assert so_far == printed_so_far, (station, which, label)
            ends += so_far
        assert abs(ends - dict(sum_at(page, station)["Why"])["widths hung"]) <= CARRIED


def test_the_gap_check_says_what_the_sum_says_and_adds_up_along_each_row(printed, port):
    sums, page = printed("opening-sums", port.uuid), printed("gap-check", port.uuid)
    ate = {row[0]: row for row in rows_of(page.split("What ate the gap")[1].split("</table>")[0])[1:]}
    follows = {row[0]: row for row in rows_of(page.split("What follows")[1].split("</table>")[0])[1:]}

    assert list(ate) == list(follows) == STATIONS
    for station in STATIONS:
        planned, measured, short, *parts = (number(text) for text in ate[station][1:-1])
        assert planned - measured == short == sum(parts)
        groups = sum_at(sums, station)
        assert [number(text) for text in ate[station][1:4]] == [abs(figure) for _, figure in groups["Short"]]
        assert parts == [figure for _, figure in groups["Why"][:-1]]
        strake, even, alone, step = (number(text) for text in follows[station][1:5])
        assert alone == groups["Left alone"][-1][1]
        assert abs(alone - strake - step) <= CARRIED
        left = len(sources_at(sums, station)["Planned"]) - 1
        assert abs(groups["Spread"][-1][1] / left - even) <= CARRIED


def test_the_strakes_page_the_drift_page_and_the_sum_say_one_thing_of_a_plank(printed, build, port):
    """Port 11: what its own page says it is off stands in the drift table and beside the sum, at each station."""
    plan = PlanStrake.objects.get(revision__state="in_force", opening=port, label="11")
    own = {row[0]: row for row in rows_of(printed("strake-detail", plan.strake.uuid)) if len(row) == 5}
    drift = printed("drift-list").split("Port, from the wale")[-1].split("</table>")[0]
    rows = rows_of(drift)
    (eleven,) = [row for row in rows if row[0] == "11"]
    sums = printed("opening-sums", port.uuid)

    for station, in_drift in zip(rows[0][1:-1], eleven[1:-1], strict=True):
        _at, _full, planned, measured, off = own[station]
        assert abs(number(measured) - number(planned)) - abs(number(off)) <= CARRIED
        beside = next(off for label, off, _ in run_at(sums, station, "wale") if label == "11")
        for elsewhere in (number(in_drift), beside):
            assert abs(elsewhere - (number(measured) - number(planned))) <= CARRIED, station


def test_the_drift_table_adds_up_down_each_column(printed):
    """Each figure is rounded by itself, so together stands off the sum of its belt by half a hundredth a figure."""
    for part in printed("drift-list").split("<tbody>")[1:]:
        rows = [row for row in rows_of(part.split("</tbody>")[0]) if len(row) > 2]
        together = next(row for row in rows if row[0] == "together")
        for column in range(1, len(together) - 1):
            cells = [row[column] for row in rows[: rows.index(together)]]
            figures = [number(text) for text in cells if re.search(r"\d", text)]
            assert abs(sum(figures) - number(together[column])) <= (len(figures) + 1) * HUNDREDTH / 2


def test_the_plan_of_one_station_closes_by_hand(printed, port):
    """Widths at M to two places come to the girth within half a hundredth a strake; the exact sum stands below."""
    page = printed("plan")
    heads, *rows = rows_of(page.split('id="plan-table"')[1].split("</table>")[0])
    column = heads.index("M")
    strakes = [row for row in rows if len(row) == len(heads) and re.match(r"\d", row[0])]
    widths = [Fraction(row[column].split()[0]) for row in strakes if re.match(r"\d", row[column])]
    girth = next(Fraction(row[column].split()[0]) for row in rows if row[0] == "Girth")

    assert len(widths) == 18
    assert abs(sum(widths) - girth) <= len(widths) * HUNDREDTH / 2 + HUNDREDTH / 2
