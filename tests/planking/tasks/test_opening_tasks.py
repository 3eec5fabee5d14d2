"""The tasks that read an opening, and those of habit and pace, from the command line's side of the door."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from planking.__main__ import main
from planking.opening_asked import EXAMPLE

TASKS = ("drift", "closing-strake", "recut", "sides", "habit", "pace")
ROOT = Path(__file__).parents[3]


def asked(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, task: str, given: object
) -> tuple[int, str, str]:
    file = tmp_path / "given.json"
    file.write_text(json.dumps(given), encoding="utf-8")
    status = main([task, str(file)])
    out, err = capsys.readouterr()
    return status, out, err


def example(capsys: pytest.CaptureFixture[str], task: str) -> dict:
    assert main([task, "--example"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("task", TASKS)
def test_example_works_and_its_answer_is_json(
    task: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, out, err = asked(capsys, tmp_path, task, example(capsys, task))

    assert (status, err) == (0, "")
    assert isinstance(json.loads(out), dict)


@pytest.mark.parametrize("task", TASKS)
def test_schema_names_every_key_of_the_example(task: str, capsys: pytest.CaptureFixture[str]) -> None:
    given = example(capsys, task)
    assert main([task, "--schema"]) == 0
    schema = json.loads(capsys.readouterr().out)["input"]

    shape = schema if "properties" in schema else schema["$defs"][schema["$ref"].rsplit("/", 1)[-1]]
    assert set(given) <= set(shape["properties"])


def test_drift_says_what_to_do_with_its_sum(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    _, out, _ = asked(capsys, tmp_path, "drift", example(capsys, "drift"))

    answer = json.loads(out)
    assert answer["verdict"] == "spread_it"
    # 3 x 5.00 + 4 x 0.02 = 15.08 planned; read 14.72 and 14.70.
    assert [round(one["short_mm"], 2) for one in answer["stations"]] == [0.36, 0.38]
    assert answer["stations"][0]["sum"][0] == {
        "kind": "heading",
        "words": "Short",
        "value_mm": None,
        "shown": "",
    }


def test_closing_strake_answers_with_and_without_a_recut(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    _, out, _ = asked(capsys, tmp_path, "closing-strake", example(capsys, "closing-strake"))

    answer = json.loads(out)
    assert answer["left_alone"]["strake"] == answer["recut"]["strake"] == "3"
    assert answer["left_alone"]["stations"][0]["expected_mm"] < answer["recut"]["stations"][0]["expected_mm"]


def test_recut_that_cannot_be_done_ends_with_status_one_and_what_would_help(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    given = example(capsys, "recut") | {"limits": {"widest_share": 1.0, "narrowest_share": 0.99}}

    status, out, _ = asked(capsys, tmp_path, "recut", given)

    answer = json.loads(out)
    assert status == 1
    assert answer["misfits"][0]["station"] == "M"
    assert "more than the gap gives" in answer["why"] or "less than" in answer["why"]
    assert answer["would_help"]


@pytest.mark.parametrize(
    ("gap_mm", "told"),
    [
        (5.0, "A strake that ends short of D would do there (a drop strake)."),
        (40.0, "A stealer let in at D would do there."),
    ],
)
def test_recut_that_fails_at_one_station_alone_says_what_is_done_there(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, gap_mm: float, told: str
) -> None:
    """Three strakes of 5.00, 2.50 to 7.50 each: 14.90 at M does; 5.00 and 40.00 at D do not, nor another count."""
    read = {"hung": ["1", "5"], "standard_uncertainty_mm": 0.05}
    gaps = [{"station": "M", "gap_mm": 14.9} | read, {"station": "D", "gap_mm": gap_mm} | read]
    given = example(capsys, "recut") | {"gaps": gaps, "girths": []}
    del given["girths_planned_mm"]

    status, out, err = asked(capsys, tmp_path, "recut", given)

    answer = json.loads(out)
    assert (status, [one["station"] for one in answer["misfits"]]) == (1, ["D"]), err
    assert told in answer["would_help"]


REFUSED = {
    "unknown station": ("drift", {"gaps": [{"station": "X", "gap_mm": 1, "hung": []}]}, "station"),
    "unknown key": ("drift", {"gps": []}, "gps"),
    "width less than nought": ("drift", {"seam_mm": -1}, "seam_mm"),
    "NaN in words": ("drift", {"seam_mm": "NaN"}, "seam_mm"),
    "strake twice": (
        "recut",
        {"strakes": [{"label": "1", "run": "wale", "planned_mm": {"M": 5}}] * 2, "widths": [], "gaps": []},
        "strakes",
    ),
    "no such mode": ("recut", {"mode": "nicely"}, "mode"),
    "girth smaller than what is hung": (
        "closing-strake",
        {"girths": [{"station": "M", "girth_mm": 5}]},
        "girth_mm",
    ),
    "hours below nought": ("pace", {"hours": [-1]}, "hours"),
    "deviation that is none": ("habit", {"deviations_mm": ["wide"]}, "deviations_mm"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_is_one_sentence_with_its_field(
    case: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    task, change, field = REFUSED[case]

    status, out, err = asked(capsys, tmp_path, task, example(capsys, task) | change)

    assert (status, out) == (2, "")
    assert field in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_command_answers_from_standard_input() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "planking", "habit"],
        input=b'{"deviations_mm": [0.0, "0,06 mm"]}',
        capture_output=True,
        cwd=ROOT,
        check=False,
    )

    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["bias_mm"] == pytest.approx(0.03)


NOTHING: dict = {"widths": [], "gaps": [], "girths": [], "girths_planned_mm": None}


@pytest.mark.parametrize(
    ("task", "text"),
    [
        ("drift", json.dumps(EXAMPLE).replace("14.72", "NaN")),
        ("recut", json.dumps(EXAMPLE).replace("14.72", "Infinity")),
        ("closing-strake", json.dumps(EXAMPLE).replace("14.72", "NaN")),
        ("sides", json.dumps({"port": EXAMPLE, "starboard": EXAMPLE}).replace("14.72", "-Infinity")),
        ("habit", '{"deviations_mm": [NaN]}'),
        ("pace", '{"hours": [NaN], "left": []}'),
        ("round", '{"widths_mm": [NaN], "step_mm": 1}'),
        ("next-widths", '{"stations": [{"name": "M", "gap_mm": NaN, "strakes_left": 3}]}'),
        ("lengths", '{"texts": [NaN]}'),
    ],
)
def test_what_is_no_number_is_refused_by_every_task(
    task: str, text: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "given.json"
    file.write_text(text, encoding="utf-8")

    status = main([task, str(file)])
    out, err = capsys.readouterr()

    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "which is no number" in err


def test_nothing_measured_asks_for_the_gap_and_offers_no_new_widths(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    _, out, _ = asked(capsys, tmp_path, "drift", EXAMPLE | NOTHING)
    assert json.loads(out)["verdict"] == "measure_gap"

    _, out, _ = asked(capsys, tmp_path, "recut", EXAMPLE | NOTHING)
    assert json.loads(out)["offered"] is False


@pytest.mark.parametrize(
    ("task", "given", "field"),
    [
        ("habit", {"deviations_mm": [0, 0], "scatter_mm": 0}, "scatter_mm"),
        ("pace", {"hours": [0], "left": [{}]}, "hours"),
        ("round", {"widths_mm": [1], "step_mm": 0}, "step_mm"),
        ("next-widths", {"stations": []}, "stations"),
        ("next-widths", {"stations": [{"name": "M", "gap_mm": 0, "strakes_left": 3}]}, "gap at M"),
        ("lengths", {"texts": [""]}, "texts[0]"),
    ],
)
def test_nothing_where_something_is_needed_is_refused_by_name(
    task: str, given: dict, field: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, out, err = asked(capsys, tmp_path, task, given)

    assert (status, out, err.count("\n")) == (2, "", 1)
    assert field in err


@pytest.mark.parametrize(
    ("task", "given", "key", "value"),
    [
        ("habit", {"deviations_mm": []}, "bias_mm", 0.0),
        ("pace", {"hours": [], "left": [{}]}, "too_early", True),
        ("pace", {"hours": [], "left": []}, "middle_hours", 0.0),
        ("round", {"widths_mm": [], "step_mm": 0.1}, "marks", []),
        ("lengths", {"texts": []}, "lengths", []),
    ],
)
def test_nothing_given_is_answered_with_nothing(
    task: str, given: dict, key: str, value: object, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, out, _ = asked(capsys, tmp_path, task, given)

    assert (status, json.loads(out)[key]) == (0, value)
