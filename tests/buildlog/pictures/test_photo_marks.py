"""Numbered marks over a photograph."""

import pytest

from buildlog.pictures.photo_marks import PhotoMark, photo_marks


@pytest.mark.parametrize("shown", [328, 720])
def test_marks_stand_where_they_were_put_and_keep_their_size(shown):
    picture = photo_marks([PhotoMark(1, 0.5, 0.5, 0.25, 0.75)], 1600, 1120, shown=shown, summary="1 free edge")

    assert f'cx="{shown / 2:g}"' in picture.svg
    assert 'r="13"' in picture.svg
    assert picture.height == pytest.approx(shown * 0.7)


def test_a_mark_outside_the_photograph_is_refused():
    with pytest.raises(ValueError, match="Mark 3 lies outside"):
        PhotoMark(3, 1.2, 0.5, 0.5, 0.5)
