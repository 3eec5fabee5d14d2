"""The marks every page writes alike."""

import re
from fractions import Fraction

import pytest
from django.template import Context, Template

from planking.lengths import Scale, show_full_size


def shown(source: str, **context) -> str:
    return Template("{% load marks %}" + source).render(Context(context))


def words(html: str) -> str:
    """What a screen reader hears: without what is hidden from it, without tags."""
    heard = re.sub(
        r'<span[^>]*aria-hidden="true"[^>]*>(?:[^<]|<(?:sup|sub|i)>[^<]*</(?:sup|sub|i)>)*</span>', "", html
    )
    return " ".join(re.sub(r"<[^>]+>", "", heard).split())


@pytest.mark.parametrize(
    ("value_nm", "text"),
    [
        pytest.param(4_410_000, "4.41", id="a width"),
        pytest.param(0, "0.00", id="nothing"),
        pytest.param(-330_000, "−0.33", id="a true minus, not a hyphen"),
        pytest.param(None, "–", id="never read"),
    ],
)
def test_mm_of_nanometres(value_nm, text):
    assert shown("{{ value|mm }}", value=value_nm) == text


def test_mm_with_three_places():
    assert shown("{{ value|mm:3 }}", value=4_762_500) == "4.762"


def test_full_size_is_built_for_the_eye_and_spoken_for_the_ear():
    # 4.40 mm at 1:48 is 211.2 mm, 8.315 in, nearest sixteenth 8 5/16 (1 in = 25.4 mm, agreement of 1959).
    html = shown("{% full_size value scale %}", value=4_400_000, scale=Scale(1, 48))

    assert "8<sup>5</sup><i>⁄</i><sub>16</sub>″" in html
    assert words(html) == "8 and 5 sixteenths inches"


def test_full_size_without_a_scale_is_a_dash():
    assert shown("{% full_size value scale %}", value=4_400_000, scale=None) == "–"


def test_fraction_of_feet_and_inches():
    # 9 ft 4 1/2 in is 112.5 in, 2857.5 mm.
    text = show_full_size(Fraction("2857.5"), Scale(1, 1), feet=True)

    html = shown("{{ text|fraction }}", text=text)

    assert "9′ 4<sup>1</sup><i>⁄</i><sub>2</sub>″" in html
    assert words(html) == "9 feet 4 and 1 half inches"


@pytest.mark.parametrize(
    ("source", "sign", "heard"),
    [
        ('{% side "port" 9 %}', "■", "Port 9"),
        ('{% side "starboard" %}', "●", "Starboard"),
        ('{% side "both" %}', "◆", "Both sides"),
    ],
)
def test_side_is_a_sign_and_a_word(source, sign, heard):
    html = shown(source)

    assert sign in html
    assert words(html) == heard


@pytest.mark.parametrize(
    ("value_nm", "kind", "sign", "heard"),
    [
        pytest.param(60_000, "off-wide", "▲", "wide 0.06", id="wide"),
        pytest.param(-60_000, "off-narrow", "▼", "narrow 0.06", id="narrow"),
        pytest.param(29_999, "off-within", "", "within 0.03", id="just inside the noise"),
        pytest.param(30_000, "off-wide", "▲", "wide 0.03", id="just out of it"),
        pytest.param(-2_000, "off-within", "", "within 0.01", id="nothing is within nothing"),
    ],
)
def test_off_is_said_by_shape_word_and_colour(value_nm, kind, sign, heard):
    html = shown("{% off value %}", value=value_nm)

    assert kind in html
    assert sign in html
    assert words(html) == heard


def test_off_without_its_word_still_speaks_and_hides_noise():
    assert words(shown("{% off value word=False %}", value=-60_000)) == "narrow 0.06"
    assert shown("{% off value word=False %}", value=20_000) == ""


def test_dead_flat_is_spoken_by_name():
    assert words(shown('{{ "⊗"|at }}')) == "dead flat"
    assert shown('{{ "M"|at }}') == "M"


def test_station_names_are_escaped():
    assert shown("{{ name|at }}", name="<b>M</b>") == "&lt;b&gt;M&lt;/b&gt;"


@pytest.mark.parametrize(
    ("done", "total", "filled", "all_cells"),
    [(0, 20, 0, 20), (7, 20, 7, 20), (20, 20, 20, 20), (300, 600, 30, 60), (0, 0, 0, 1)],
)
def test_cells_are_as_many_as_the_things(done, total, filled, all_cells):
    html = shown("{% cells done total %}", done=done, total=total)

    assert html.count('class="done"') == filled
    assert len(re.findall(r'class="(?:done|open)"', html)) == all_cells


@pytest.mark.parametrize("verdict", ["carry_on", "spread_it", "change_plan", "measure_gap"])
def test_every_verdict_has_a_shape_and_says_its_word_in_a_row(verdict):
    html = shown("{% shape verdict in_row=True %}", verdict=verdict)
    word = shown("{{ verdict|verdict_word }}", verdict=verdict)

    assert f'aria-label="{word}"' in html
    assert "<path" in html


def test_term_opens_the_line_of_its_word():
    html = shown('{% term "stealer" "stealers" %}')

    assert "<summary>stealers</summary>" in html
    assert "A short plank let in" in html


def test_term_unknown_is_left_as_it_stands():
    assert shown('{% term "mizzen" %}') == "mizzen"


def test_trade_terms_open_each_its_line():
    from django.template import Context, Template

    shown = Template('{% include "parts/_words.html" with words="seam,closing strake" %}').render(Context())

    assert shown.count("<details") == 2
    assert "The line between two strakes" in shown


def test_a_word_that_is_no_trade_word_is_a_slip_of_the_template():
    from django.template import Context, Template

    with pytest.raises(KeyError):
        Template('{% load marks %}{% trade_terms "no such word" %}').render(Context())
