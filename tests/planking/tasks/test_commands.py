"""`python -m planking`: exit codes, one sentence on standard error, schemas made from the dataclasses."""

import json
import subprocess
import sys
from dataclasses import dataclass
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking import __main__ as command
from planking.errors import PlankingError
from planking.json_given import parse_json, read_given
from planking.json_told import told
from planking.tasks import CannotBeDone, task_named, task_names

MINE = ["lengths", "next-widths", "round"]


def run(*words, given=b""):
    """The command as a person runs it: in its own process."""
    done = subprocess.run(
        [sys.executable, "-m", "planking", *words], input=given, capture_output=True, timeout=60
    )
    return done.returncode, done.stdout.decode(), done.stderr.decode()


@pytest.fixture
def ask(capfdbinary, monkeypatch):
    """The same in this process, for the many small cases."""

    def asked(*words, given=b""):
        monkeypatch.setattr(
            sys, "stdin", SimpleNamespace(buffer=SimpleNamespace(read=lambda size: given[:size]))
        )
        status = command.main(list(words))
        out, err = capfdbinary.readouterr()
        return status, out.decode(), err.decode()

    return asked


def test_example_piped_into_its_task_is_answered():
    status, example, _ = run("round", "--example")
    answered, out, err = run("round", given=example.encode())

    assert (status, answered, err) == (0, 0, "")
    assert json.loads(out)["marks"] == [77, 155, 232, 309]


def test_trouble_is_one_sentence_on_standard_error_and_status_two():
    status, out, err = run("lengths", given=b'{"texts": ["4.76", "nan"]}')

    assert (status, out) == (2, "")
    assert err == 'texts[1]: "nan" is not read; write one length, such as 4.76, 3 1/4 in or 9\' 4 1/2".\n'


def test_file_is_read_where_one_is_named(tmp_path):
    file = tmp_path / "gaps.json"
    file.write_text('{"stations": [{"name": "⊗", "gap_mm": 22.16}], "strakes_left": 5}', encoding="utf-8")

    status, out, _ = run("next-widths", str(file))

    assert status == 0
    assert json.loads(out)["stations"][0]["sum"] == "22.16 / 5 = 4.43, 0.01 over"
    assert "⊗" in out


def test_list_names_every_task(ask):
    status, out, _ = ask("--list")

    assert status == 0
    assert [line.split()[0] for line in out.splitlines()] == list(task_names())
    assert set(MINE) <= set(task_names())


@pytest.mark.parametrize("name", task_names())
def test_every_task_answers_its_own_example(ask, name):
    example = json.dumps(task_named(name).EXAMPLE).encode()

    status, out, err = ask(name, given=example)

    assert (status, err) == (0, "")
    assert json.loads(out)


@pytest.mark.parametrize("name", task_names())
def test_every_task_prints_a_schema_that_names_its_own_keys(ask, name):
    status, out, _ = ask(name, "--schema")

    schema = json.loads(out)
    answered = told(task_named(name).answer(read_given(task_named(name).Asked, task_named(name).EXAMPLE)))
    asked_keys = set(schema["input"]["$defs"]["Asked"]["properties"])
    definitions = schema["output"]["$defs"]
    assert status == 0
    assert set(task_named(name).EXAMPLE) <= asked_keys
    assert any(set(answered) == set(shape["properties"]) for shape in definitions.values())


@pytest.mark.parametrize(
    ("task", "given", "says"),
    [
        ("lengths", b"", "The input is not JSON"),
        ("lengths", b"{", "The input is not JSON"),
        ("lengths", b"\xff\xfe", "not text in UTF-8"),
        ("lengths", b"[]", "input must be an object in braces"),
        ("lengths", b"null", "must be an object in braces"),
        ("lengths", b"{}", "texts is missing"),
        ("lengths", b'{"texts": "4.76"}', "texts must be a list"),
        ("lengths", b'{"texts": [4.76]}', "texts[0] must be text in quotes"),
        ("lengths", b'{"texts": [null]}', "texts[0] must not be null"),
        ("lengths", b'{"texts": ["1,234"]}', 'texts[0]: "1,234" can be read two ways'),
        ("lengths", b'{"texts": ["9"], "size": "full"}', "texts[0] is at full size, so the scale"),
        ("lengths", b'{"texts": ["9"], "size": "half"}', "size must be one of model, full"),
        ("lengths", b'{"texts": ["9"], "scale": "1:0"}', "scale: both sides must be more than nothing"),
        ("lengths", b'{"texts": ["9"], "scale": [1, 48]}', "scale must be a number, or text"),
        ("lengths", b'{"texts": ["9"], "scal": "1:48"}', 'The key "scal" is not known'),
        ("lengths", b'{"texts": ["9"], "texts": []}', 'The key "texts" is given twice'),
        ("lengths", b'{"texts": ["\\ud800"]}', "texts[0] holds half a sign"),
        ("lengths", b'{"texts": ["9"], "step": 0}', "step must be more than nothing"),
        ("lengths", b'{"texts": ["9"], "step": "1/0"}', "step: "),
        ("round", b'{"widths_mm": [NaN], "step_mm": 1}', "The input holds NaN"),
        ("round", b'{"widths_mm": [Infinity], "step_mm": 1}', "The input holds Infinity"),
        ("round", b'{"widths_mm": [-Infinity], "step_mm": 1}', "The input holds -Infinity"),
        ("round", b'{"widths_mm": [1e999999999], "step_mm": 1}', "is out of reason"),
        ("round", b'{"widths_mm": [' + b"9" * 5000 + b'], "step_mm": 1}', "is out of reason"),
        ("round", b'{"widths_mm": ["nan"], "step_mm": 1}', "widths_mm[0]: "),
        ("round", b'{"widths_mm": [true], "step_mm": 1}', "widths_mm[0] must be a number"),
        ("round", b'{"widths_mm": [4], "step_mm": 0}', "step_mm must be more than nothing"),
        ("round", b'{"widths_mm": [4, -4], "step_mm": 1}', "widths_mm: number 2 is below zero"),
        ("round", b'{"widths_mm": [4], "step_in": 1}', 'step_in is at full size, so "scale" is needed'),
        ("round", b'{"widths_mm": [4], "step_mm": 1, "step_in": 1, "scale": 48}', "step_mm is given twice"),
        ("round", b'{"widths_mm": [1000001], "step_mm": 1}', "widths_mm[0] is longer than any ship"),
        ("next-widths", b'{"stations": []}', "stations: there must be at least one"),
        ("next-widths", b'{"stations": [{"name": "M", "gap_mm": 9}]}', "stations[0].strakes_left is missing"),
        (
            "next-widths",
            b'{"stations": [{"name": 4, "gap_mm": 9}]}',
            "stations[0].name must be text in quotes",
        ),
        ("next-widths", b'{"stations": [{"name": "M"}]}', "stations[0].gap_mm is missing"),
        (
            "next-widths",
            b'{"stations": [{"name": "M", "gap": 1}]}',
            'The key "gap" is not known in stations[0]',
        ),
        (
            "next-widths",
            b'{"stations": [{"name": "M", "gap_mm": 9, "gap": 1}]}',
            'The key "gap" is not known in stations[0]',
        ),
        ("next-widths", b'{"stations": [{"name": "M", "gap_mm": 0}], "strakes_left": 5}', "gap at M must be"),
        (
            "next-widths",
            b'{"stations": [{"name": "M", "gap_mm": 9}], "strakes_left": 2.5}',
            "strakes_left must be a whole",
        ),
        ("next-widths", b'{"stations": [], "both_edges_tight": 1}', "both_edges_tight must be true or false"),
    ],
)
def test_input_out_of_form_is_refused_in_one_sentence(ask, task, given, says):
    status, out, err = ask(task, given=given)

    assert (status, out) == (2, "")
    assert says in err
    assert err.count("\n") == 1
    assert err.endswith(".\n")


def test_input_over_ten_megabytes_is_refused(ask):
    status, _, err = ask("round", given=b" " * 10_000_001)

    assert status == 2
    assert "over 10 MB" in err


def test_input_nested_too_deeply_is_refused(ask):
    status, _, err = ask("round", given=b"[" * 200_000)

    assert status == 2
    assert err == "The input is nested too deeply.\n"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "A task must be named"),
        (["planks"], '"planks" is not a task; the tasks are'),
        (["__init__"], "is not a task"),
        (["round", "no such file.json"], "cannot be read"),
        (["round", "."], "cannot be read"),
        (["round", "a\x00b"], "cannot be read"),
        (["round", "--wat"], "The command is not understood"),
        (["round", "--schema", "--example"], "The command is not understood"),
    ],
)
def test_command_out_of_form_is_refused_in_one_sentence(ask, words, says):
    status, out, err = ask(*words)

    assert (status, out) == (2, "")
    assert says in err
    assert err.count("\n") == 1


@dataclass(frozen=True)
class NothingAsked:
    """Nothing."""


def task_that(answer):
    return SimpleNamespace(
        ASKED_FOR="a test", EXAMPLE={}, Asked=NothingAsked, Answered=NothingAsked, answer=answer
    )


def test_what_cannot_be_done_is_answered_with_status_one(ask, monkeypatch):
    cannot = CannotBeDone("5 strakes of 4.00 leave 2.00.", ("6 strakes",))
    monkeypatch.setattr(command, "task_named", lambda name: task_that(lambda asked: cannot))

    status, out, err = ask("line-off", given=b"{}")

    assert (status, err) == (1, "")
    assert json.loads(out) == {"why": "5 strakes of 4.00 leave 2.00.", "would_help": ["6 strakes"]}


def test_fault_of_the_program_is_a_sentence_and_no_traceback(ask, monkeypatch):
    monkeypatch.setattr(command, "task_named", lambda name: task_that(lambda asked: 1 / 0))

    status, out, err = ask("line-off", given=b"{}")

    assert (status, out) == (2, "")
    assert (
        err == "input: this could not be worked out (ZeroDivisionError), which is a fault of the program.\n"
    )


def test_reader_that_has_gone_is_no_trouble():
    words = [sys.executable, "-m", "planking", "round", "--schema"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as asked:
        asked.stdout.close()
        err = asked.stderr.read()

    assert (asked.returncode, err) == (0, b"")


keys = st.sampled_from(
    ["texts", "scale", "stations", "gap_mm", "gap_in", "widths_mm", "step_mm", "name", "x"]
)
leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
junk = st.recursive(
    leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4)
)


@given(name=st.sampled_from(MINE), value=junk)
def test_any_json_is_answered_or_refused(name, value):
    task = task_named(name)
    try:
        answer = task.answer(read_given(task.Asked, parse_json(json.dumps(value).encode())))
    except PlankingError as refused:
        answer = refused

    assert isinstance(answer, task.Answered | PlankingError)
