"""Openings no bench should hold, put to every task that reads one: a sentence or a sound answer, nothing else."""

import copy
import json
import math
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planking.__main__ import main
from planking.tasks import task_named

TASKS = ("drift", "closing-strake", "recut", "sides")
BASE: dict[str, Any] = dict(task_named("drift").EXAMPLE)
Facts = dict[str, Any]
EXACT = {
    "seam_standard_uncertainty_mm": 0,
    "seam_scatter_mm": 0,
    "cutting_scatter_mm": 0,
    "instruments": [
        {"epoch": "A", "instrument": "a", "standard_uncertainty_mm": 0, "zero_standard_uncertainty_mm": 0}
    ],
}


def changed(facts: Facts, key: str, **change: object) -> Facts:
    """Every row of one kind with something changed."""
    return facts | {key: [row | change for row in facts[key]]}


def bare(facts: Facts) -> Facts:
    return facts | {"widths": [], "gaps": [], "girths": [], "instruments": []}


def exact(facts: Facts) -> Facts:
    found = facts | EXACT
    return changed(changed(found, "gaps", standard_uncertainty_mm=0), "girths", standard_uncertainty_mm=0)


def hung(facts: Facts) -> Facts:
    every = [one | {"state": "hung", "hung_order": at} for at, one in enumerate(facts["strakes"], start=1)]
    return facts | {"strakes": every, "gaps": []}


def one_station(facts: Facts) -> Facts:
    here = {key: [row for row in facts[key] if row["station"] == "M"] for key in ("widths", "gaps", "girths")}
    strakes = [one | {"planned_mm": {"M": 5}} for one in facts["strakes"]]
    return facts | here | {"stations": [{"name": "M"}], "strakes": strakes, "girths_planned_mm": {"M": 25.12}}


def without_girths(facts: Facts) -> Facts:
    return {key: value for key, value in bare(facts).items() if key != "girths_planned_mm"}


SOUND: dict[str, Callable[[Facts], Facts]] = {
    "nothing measured": bare,
    "nothing measured, no girth planned": without_girths,
    "one strake": lambda facts: bare(facts) | {"strakes": [facts["strakes"][2]]},
    "one strake, its gap read": lambda facts: bare(facts)
    | {"strakes": [facts["strakes"][2]], "gaps": [{"station": "M", "gap_mm": 5.2, "hung": []}]},
    "one station": one_station,
    "every instrument in doubt": lambda facts: changed(facts, "instruments", in_doubt=True),
    "no uncertainty anywhere": exact,
    "no uncertainty, and readings that contradict": lambda facts: changed(exact(facts), "gaps", gap_mm=9.0),
    "two gaps that contradict": lambda facts: facts
    | {"gaps": [*facts["gaps"], *changed(facts, "gaps", gap_mm=9.0)["gaps"]]},
    "a gap wider than the girth": lambda facts: changed(facts, "gaps", gap_mm=500),
    "a gap of nought": lambda facts: changed(facts, "gaps", gap_mm=0),
    "a strake named twice in a gap": lambda facts: changed(facts, "gaps", hung=["1", "1", "5"]),
    "a gap that names strakes not yet hung": lambda facts: changed(facts, "gaps", hung=["2", "3", "4"]),
    "planned girth smaller than the strakes": lambda facts: facts
    | {"girths": [], "girths_planned_mm": {"M": 5, "D": 5}},
    "no strake is called the closing one": lambda facts: facts
    | {"strakes": [one | {"run": "wale"} for one in facts["strakes"]]},
    "an edge far outside": lambda facts: facts
    | {"edges": [{"from_line": "keel", "strake": "1", "station": "M", "distance_mm": 500}]},
    "a zero that is wild, and sure of it": lambda facts: facts
    | {"zero_checks": [{"epoch": "A", "offset_mm": 50, "standard_uncertainty_mm": 0}]},
    "planned widths of nought": lambda facts: changed(facts, "strakes", planned_mm={"M": 0, "D": 0}),
}

REFUSED: dict[str, tuple[Callable[[Facts], Facts], str]] = {
    "no stations": (lambda facts: bare(facts) | {"stations": [], "strakes": []}, "stations"),
    "a strake hung twice": (lambda facts: facts | {"strakes": [*facts["strakes"], facts["strakes"][0]]}, "strakes"),
    "two strakes hung at one place in the order": (
        lambda facts: facts
        | {"strakes": [one | ({"hung_order": 1} if "hung_order" in one else {}) for one in facts["strakes"]]},
        "hung_order",
    ),
    "a width read twice, unlike": (
        lambda facts: facts | {"widths": [*facts["widths"], facts["widths"][0] | {"width_mm": 9.0}]},
        "widths",
    ),
    "girth smaller than what is hung": (lambda facts: changed(facts, "girths", girth_mm=5), "girth_mm"),
    "a width that is not a number": (lambda facts: changed(facts, "widths", width_mm="NaN"), "width_mm"),
    "a gap without end": (lambda facts: changed(facts, "gaps", gap_mm=math.inf), "Infinity"),
    "a gap that is not a number": (lambda facts: changed(facts, "gaps", gap_mm=math.nan), "NaN"),
    "a gap out of reason": (lambda facts: changed(facts, "gaps", gap_mm=1e300), "out of reason"),
    "a gap longer than any ship": (lambda facts: changed(facts, "gaps", gap_mm=2e6), "gap_mm"),
    "a doubt out of reason": (
        lambda facts: changed(facts, "gaps", standard_uncertainty_mm=1e9),
        "standard_uncertainty_mm",
    ),
    "a doubt below nought": (
        lambda facts: changed(facts, "gaps", standard_uncertainty_mm=-0.1),
        "standard_uncertainty_mm",
    ),
    "limits that leave no width": (
        lambda facts: facts | {"limits": {"narrowest_share": 0, "widest_share": 0}},
        "share",
    ),
    "a reading at no station": (lambda facts: changed(facts, "gaps", station="X"), "station"),
    "a reading by no instrument": (lambda facts: changed(facts, "widths", epoch="B"), "epoch"),
}


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Callable[[str, Facts], tuple[int, str, str]]:
    def asked(task: str, facts: Facts) -> tuple[int, str, str]:
        given = facts
        if task == "sides":
            given = {"port": facts, "starboard": copy.deepcopy(BASE) | {"side": "starboard"}}
        file = tmp_path / "given.json"
        file.write_text(json.dumps(given), encoding="utf-8")
        # A warning of numpy on standard error is as bad as a traceback.
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            status = main([task, str(file)])
        out, err = capsys.readouterr()
        return status, out, err

    return asked


def no_number(sign: str) -> float:
    pytest.fail(f"The answer holds {sign}.")


@pytest.mark.parametrize("task", TASKS)
@pytest.mark.parametrize("case", SOUND)
def test_poor_facts_have_a_sound_answer(case: str, task: str, ask) -> None:
    status, out, err = ask(task, SOUND[case](copy.deepcopy(BASE)))

    assert err == ""
    assert status in ((0, 1) if task == "recut" else (0,))
    answer = json.loads(out, parse_constant=no_number)
    if task == "closing-strake":
        for one in (*answer["left_alone"]["stations"], *answer["recut"]["stations"]):
            assert one["low_mm"] <= one["expected_mm"] <= one["high_mm"]
            assert all(0 <= one[chance] <= 1 for chance in ("too_narrow", "touching", "too_wide"))
    if task == "drift":
        assert answer["sentence"].endswith(".")
        assert all(one["doubt_mm"] >= 0 for one in answer["stations"])


@pytest.mark.parametrize("task", TASKS)
@pytest.mark.parametrize("case", REFUSED)
def test_facts_that_cannot_be_are_one_sentence_with_the_field(case: str, task: str, ask) -> None:
    change, field = REFUSED[case]

    status, out, err = ask(task, change(copy.deepcopy(BASE)))

    assert (status, out) == (2, "")
    assert field in err
    assert (err.count("\n"), err[-2:]) == (1, ".\n")


@pytest.mark.parametrize("task", ["closing-strake", "recut"])
@pytest.mark.parametrize("strakes", ["none", "all hung"])
def test_nothing_left_is_said_in_one_sentence(strakes: str, task: str, ask) -> None:
    facts = hung(copy.deepcopy(BASE)) if strakes == "all hung" else bare(BASE) | {"strakes": []}

    status, out, err = ask(task, facts)

    assert (status, out) == (2, "")
    assert err.startswith("strakes: Nothing is left to ")


def test_drift_of_a_closed_opening_says_it_is_closed(ask) -> None:
    _, out, _ = ask("drift", hung(copy.deepcopy(BASE)))

    assert json.loads(out)["verdict"] == "carry_on"
    assert json.loads(out)["sentence"].startswith("Port: closed.")


def test_readings_that_contradict_each_other_are_told(ask) -> None:
    """5.7 mm between what was hung and two gaps read with the same strakes on: no doubt given explains it."""
    _, out, _ = ask("drift", changed(copy.deepcopy(BASE), "gaps", gap_mm=9.0))

    answer = json.loads(out)
    assert any(note["kind"] != "habit" for note in answer["notes"]), answer["notes"]


@pytest.mark.parametrize(
    ("task", "given", "field"),
    [
        ("habit", {"deviations_mm": [0.01, math.nan]}, "NaN"),
        ("habit", {"deviations_mm": [0.01], "scatter_mm": 0}, "scatter_mm"),
        ("habit", {"deviations_mm": [0.01], "scatter_mm": -0.06}, "scatter_mm"),
        ("pace", {"hours": [5, math.inf]}, "Infinity"),
        ("pace", {"hours": [0]}, "hours"),
        ("round", {"widths_mm": [math.nan], "step_mm": 1}, "NaN"),
        ("next-widths", {"stations": [{"name": "M", "gap_mm": math.nan}], "strakes_left": 2}, "NaN"),
        ("lengths", {"texts": ["NaN"]}, "texts[0]"),
    ],
)
def test_series_that_hold_no_number_are_refused(
    task: str, given: Facts, field: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "given.json"
    file.write_text(json.dumps(dict(task_named(task).EXAMPLE) | given), encoding="utf-8")

    status = main([task, str(file)])

    out, err = capsys.readouterr()
    assert (status, out) == (2, "")
    assert field in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("deviations", [[], [0.0], [0.0] * 30, [1e5, -1e5]])
def test_series_of_any_kind_have_a_habit_without_holes(
    deviations: list[float], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "given.json"
    file.write_text(json.dumps({"deviations_mm": deviations}), encoding="utf-8")

    assert main(["habit", str(file)]) == 0
    answer = json.loads(capsys.readouterr().out, parse_constant=no_number)
    assert len(answer["standardised"]) == len(deviations)
