"""Tables in and out: the pages, by role, and what a builder meets on the way."""

import csv
import io
import re
import time
import tracemalloc

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog.models import PlanRevision, Reading, TableImport
from tests.hulls import lay_down_hull

MESSY = (
    "Widths, port side;;;\n;;;\nstrake;F mm;M mm;A mm;read on\n1;5,02;5,00;;3.3.2026\n2;4,98;0,197;5,01;3.3.2026\n"
    "9;5,0;5,0;5,0;\n=2+2;5;5;5;\n3;n/a;=5+0;5,03;4.3.2026\n5;5;5;5;never\n4;5,1;;4,97;4.3.2026\n"
)


@pytest.fixture
def at(hull):
    def address(name, *more):
        return reverse(name, args=[hull.build.uuid, *more])

    return address


@pytest.mark.parametrize("kind", ["plan", "girths", "widths", "gaps"])
def test_reader_takes_every_table_away(kind, at, reader, client_of):
    answer = client_of(reader).get(at("table-file", kind))

    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    name = {"plan": "plan-revision-1"}.get(kind, kind)
    assert answer["Content-Disposition"] == f'attachment; filename="test-hull-{name}.csv"'
    assert answer.content.startswith(b"\xef\xbb\xbf")
    assert len(list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))) >= 1


def test_file_comes_without_its_mark_where_that_is_asked(at, owner, client_of):
    assert client_of(owner).get(at("table-file", "plan") + "?mark=no").content.startswith(b"opening,")


@pytest.mark.parametrize("ask", ["stealers", "plan.csv"])
def test_table_that_there_is_not_is_not_found(ask, at, owner, client_of):
    assert client_of(owner).get(at("table-list") + ask + ".csv").status_code == 404


@pytest.mark.parametrize("number", ["2", "0", "one", "-1"])
def test_revision_that_there_is_not_is_not_found(number, at, owner, client_of):
    assert client_of(owner).get(at("table-file", "plan") + f"?revision={number}").status_code == 404


def test_stranger_finds_no_table(at, stranger, client_of):
    assert client_of(stranger).get(at("table-list")).status_code == 404
    assert client_of(stranger).get(at("table-file", "widths")).status_code == 404


def test_shed_leads_to_the_tables(at, reader, client_of):
    assert at("table-list") in client_of(reader).get(at("shed")).content.decode()


def send(client, at, data, name="widths.csv"):
    data = data.encode() if isinstance(data, str) else data
    return client.post(at("table-send"), {"file": SimpleUploadedFile(name, data)})


def choices(page, **changed) -> dict:
    """Return what the form of a preview would post, with some of it changed."""
    form = page.context["form"]
    return {name: form[name].value() or "" for name in form.fields} | changed


def test_messy_sheet_goes_in_with_its_doubts_and_comes_back_with_one_undo(at, hull, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, MESSY)
    page = client.get(sent.url)

    text = page.content.decode()
    assert page.context["coming"] == 7
    for said in ("no such strake", "a formula, not a figure", "0.197 in", "no date"):
        assert said in text
    assert Reading.objects.count() == 0
    table = TableImport.objects.get()
    taken = client.post(at("table-take", table.uuid), follow=True)
    assert "7 readings came in." in taken.content.decode()
    assert Reading.objects.filter(amendment=None).count() == 7
    undone = client.post(at("table-undo", table.uuid), follow=True)
    assert "The table is undone." in undone.content.decode()
    assert Reading.objects.filter(amendment=None).count() == 0


def test_what_is_chosen_of_the_columns_is_kept_and_changes_the_list(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "plank mark,where,how wide\n1,M,0.197\n2,M,0.2\n")
    page = client.get(sent.url)
    assert page.context["coming"] == 0

    posted = choices(page, kind="widths", column0="strake", column1="station", column2="figure", unit="in model")
    again = client.post(sent.url, posted, follow=True)

    assert again.context["coming"] == 2
    assert TableImport.objects.get().matches["columns"] == ["strake", "station", "figure"]


def test_day_taken_away_leaves_out_what_names_none(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm,date\n1,M,5.0,\n2,M,5.0,2026-03-01\n")
    page = client.get(sent.url)
    assert page.context["coming"] == 2

    again = client.post(sent.url, choices(page, happened_on=""), follow=True)

    assert again.context["coming"] == 1
    assert "no date is named" in again.content.decode()


def take_in_one(client, at):
    sent = send(client, at, "strake,station,mm,date\n1,M,5.0,2026-03-01\n")
    client.post(sent.url.rstrip("/") + "/take-in/")
    assert Reading.objects.count() == 1


def _labels(fields) -> list[str]:
    return [one["field"].label if isinstance(one, dict) else one.name for one in fields]


def test_columns_found_by_their_names_are_folded_and_only_doubtful_ones_stand_open(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm,how it felt,full size in,date\n1,M,5.0,tight,9.4,2026-03-01\n")

    page = client.get(sent.url)

    shown = page.context["choices"]
    assert _labels(shown.columns) == ["how it felt"]
    assert _labels(shown.found) == ["strake", "station", "mm", "date"]
    assert _labels(shown.spare) == ["full size in"]
    assert "4 columns found by their names" in page.content.decode()
    assert "1 column not needed" in page.content.decode()
    assert _labels(shown.answered) == ["happened_on", "dates"]
    every = {name for name in page.context["form"].fields}
    drawn = set(re.findall(r'<(?:select|input)[^>]* name="(\w+)"', page.content.decode()))
    assert every <= drawn, "what is folded away is sent all the same"


def test_tables_that_this_log_wrote_leave_no_column_in_doubt(at, owner, client_of):
    client = client_of(owner)
    take_in_one(client, at)
    for kind in ("plan", "widths"):
        body = client.get(at("table-file", kind)).content.decode("utf-8-sig")

        page = client.get(send(client, at, body).url)

        assert _labels(page.context["choices"].columns) == []
        assert page.context["choices"].found


def test_what_the_builder_chose_himself_stays_open(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm,how wide\n1,M,5.0,5.1\n")

    page = client.post(sent.url, choices(client.get(sent.url), column2="", column3="figure"), follow=True)

    assert _labels(page.context["choices"].columns) == ["mm", "how wide"]


def test_date_that_some_row_lacks_is_asked_for_openly(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm,date\n1,M,5.0,\n2,M,5.0,3/4/2026\n")

    shown = client.get(sent.url).context["choices"]

    assert {"happened_on", "dates"} <= set(_labels(shown.asked))


def test_readings_that_the_log_has_are_folded_under_their_number(at, owner, client_of):
    client = client_of(owner)
    take_in_one(client, at)
    body = client.get(at("table-file", "widths")).content.decode("utf-8-sig")

    page = client.get(send(client, at, body).url)

    assert page.context["doubts"] == []
    assert re.search(r"<details><summary>1 reading is in the log already</summary>", page.content.decode())
    assert "the log has this reading" in page.content.decode()


def test_column_taken_twice_is_said_and_nothing_chosen_is_lost(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm\n1,M,5.0\n")
    page = client.post(sent.url, choices(client.get(sent.url), column2="station", unit="in model"))

    assert page.status_code == 200
    assert "Two columns are taken for “station”" in page.content.decode()
    assert _labels(page.context["choices"].columns) == ["station", "mm"]
    assert page.context["form"]["unit"].value() == "in model"


def test_odd_figures_come_in_only_when_that_is_chosen(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm\n1,M,6.5\n2,M,5.0\n")
    page = client.get(sent.url)
    assert page.context["coming"] == 1

    assert client.post(sent.url, choices(page, odd="take"), follow=True).context["coming"] == 2


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"", "is empty"), (b"PK\x03\x04rest", "not a CSV"), (b"one\ntwo\n", "only one column"),
     (b'a,b\n"1,2\n', "quotation mark"), (b"a,b\n1,\x00\n", "signs that no table has")],
)  # fmt: skip
def test_file_that_is_no_table_is_told_so_beside_its_field(data, said, at, owner, client_of):
    page = send(client_of(owner), at, data)

    assert page.status_code == 200
    assert said in page.content.decode()
    assert TableImport.objects.count() == 0


def test_file_over_five_megabytes_is_told_so(at, owner, client_of, settings):
    settings.BODY_BYTES = 30_000_000
    page = send(client_of(owner), at, b"a,b\n" + b"1,2\n" * 1_400_000)

    assert "larger than 5 MB" in page.content.decode()


def test_pasted_text_that_is_no_table_stays_in_its_field(at, owner, client_of):
    page = client_of(owner).post(at("table-send"), {"pasted": "just a line of words"})

    assert "only one column" in page.content.decode()
    assert "just a line of words" in page.content.decode()


def test_pasted_cells_of_a_spreadsheet_are_read(at, owner, client_of):
    client = client_of(owner)
    sent = client.post(at("table-send"), {"pasted": "strake\tM\n1\t5.0\n"})

    assert client.get(sent.url).context["coming"] == 1


def test_nothing_sent_is_told_so(at, owner, client_of):
    assert "choose one, or paste" in client_of(owner).post(at("table-send"), {}).content.decode()


def test_helper_brings_readings_and_no_plan(at, hull, helper, client_of):
    client = client_of(helper)
    sent = send(client, at, "line,strake,from the keel,run,M\nstrake,2,2,keel,5.1\n", name="plan.csv")
    page = client.get(sent.url)

    assert "plan" not in dict(page.context["form"].fields["kind"].choices)
    table = TableImport.objects.get()
    TableImport.objects.update(kind="plan", matches=table.matches | {"kind": "plan"})
    assert client.post(at("table-take", table.uuid)).status_code == 403
    assert PlanRevision.objects.count() == 1


def test_builder_makes_a_draft_of_a_table(at, builder, client_of):
    client = client_of(builder)
    sent = send(client, at, "strake,F mm,M mm,A mm\n2,5.1,5.1,\n", name="plan.csv")
    page = client.get(sent.url)
    assert page.context["table"].kind == "plan"
    taken = client.post(at("table-take", page.context["table"].uuid), follow=True)

    draft = PlanRevision.objects.get(state="draft")
    assert at("revision-edit", draft.uuid) in taken.content.decode()


def test_table_of_another_build_is_not_found(at, hull, owner, client_of):
    other = lay_down_hull(owner, name="Other")
    send(client_of(owner), at, "strake,M\n1,5.0\n")
    table = TableImport.objects.get()

    for name in ("table-detail", "table-take", "table-undo", "table-throw-away"):
        url = reverse(name, args=[other.build.uuid, table.uuid])
        answer = client_of(owner).get(url) if name == "table-detail" else client_of(owner).post(url)
        assert answer.status_code == 404


def test_table_is_thrown_away(at, owner, client_of):
    client = client_of(owner)
    send(client, at, "strake,M\n1,5.0\n")
    client.post(at("table-throw-away", TableImport.objects.get().uuid))

    assert TableImport.objects.count() == 0


def test_text_of_a_table_is_shown_and_never_run(at, owner, client_of):
    client = client_of(owner)
    sent = send(client, at, "strake,station,mm\n<script>alert(1)</script>,M,5.0\n", name="<b>x</b>.csv")

    text = client.get(sent.url).content.decode()
    assert "<script>alert" not in text
    assert "<b>x</b>" not in text
    assert "&lt;script&gt;" in text


def test_ten_thousand_rows_are_answered_in_seconds_with_little_memory(at, hull, owner, client_of):
    """Times are of the processor; the limits lie far above them (tests/benchmarks/RESULTS.md)."""
    days = [f"2026-02-{n // 15 % 28 + 1:02d} 10:{n % 60:02d}" for n in range(10_000)]
    rows = [f"{n % 5 + 1},{'FMA'[n % 3]},{5 + n % 19 / 100:.2f},{days[n]}" for n in range(10_000)]
    client = client_of(owner)
    tracemalloc.start()
    sent = send(client, at, "strake,station,mm,date\n" + "\n".join(rows))
    began = time.process_time()
    page = client.get(sent.url)
    previewed = time.process_time() - began
    coming = page.context["coming"]
    client.post(at("table-take", page.context["table"].uuid))
    took = time.process_time() - began - previewed
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert coming + page.context["run"].there == 10_000
    assert Reading.objects.count() == coming
    assert coming > 4_000
    assert (previewed < 20, took < 40, peak < 120_000_000) == (True, True, True), (previewed, took, peak)
    print(f"10,000 rows: preview {previewed:.2f} s, taken in {took:.2f} s, {peak / 1e6:.0f} MB")
