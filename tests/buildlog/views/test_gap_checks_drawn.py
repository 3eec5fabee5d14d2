"""The gap check's picture beside its table: the same shortage of the same parts."""

from datetime import UTC, datetime

import pytest

from buildlog.drawn.gap_wedges import wedge_stations
from buildlog.sample.story import tell_story
from tests.buildlog.views.test_gap_checks import _figure, _rows, _url


@pytest.mark.parametrize("day", [(2026, 2, 14), (2026, 4, 11)])
def test_the_picture_says_what_the_table_says_part_by_part(client_of, owner, day):
    """After the recut of February the plan itself leaves a part, and short as drawn is short as in the table."""
    build = tell_story(owner, until=datetime(*day, 23, tzinfo=UTC))
    port = build.openings.get(side="port")

    answer = client_of(owner).get(_url(build, port))

    page, review = answer.content.decode(), answer.context["review"]
    rows = _rows(page, "Planned, measured and short, with the parts")
    stations = {one.name: one for one in wedge_stations(review, list(rows))}
    assert list(stations) == list(reversed(rows))
    for name, cells in rows.items():
        drawn = [end - start for _part, start, end in stations[name].stacked()]
        assert round(sum(drawn), 2) == stations[name].measured_mm == _figure(cells[2])
        told = sorted(_figure(cell) for cell in cells[3:-1] if _figure(cell))
        assert sorted(round(part, 2) for part in drawn) == told
    picture = str(answer.context["wedge"])
    assert ("in the plan" in picture) == ("in the plan" in page.split("<tbody>")[0]) == (day[1] == 4)
