"""A table taken in whole, twice, and back again: into the build it came from, and into an empty twin."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlog.actions import tables
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.planks import hang_strake
from buildlog.actions.plans import put_in_force
from buildlog.actions.readings import amend_reading, record_reading
from buildlog.archive.tables import table_bytes
from buildlog.forms.sheets import read_sheet, text_of
from buildlog.forms.table_plans import dry_run_plan
from buildlog.forms.table_rows import dry_run
from buildlog.forms.tables import propose
from buildlog.models import Opening, Person, Plank, PlanRevision, PlanStrake, PlanWidth, Reading, Strake, TableImport
from buildlog.queries.planks import states_of_strakes
from buildlog.queries.readings import counting_gaps, counting_widths
from buildlog.queries.table_imports import known_for
from buildlog.queries.tables import table_rows
from tests.factories import BuildFactory, OpeningFactory, StationFactory
from tests.hulls import lay_down_hull

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
WIDTHS = "strake,station,mm,date,stage\n1,F,5.02,2026-03-10,hung\n1,M,5.04,2026-03-10,hung\n2,M,4.98,2026-03-11,cut\n"


@pytest.fixture
def bring(hull, owner):
    """Return a function that sends a table in and takes it in, as the pages do."""

    def run(text, kind, *, build=hull.build, person=hull.person, now=NOW, standing="as_read", **said):
        known, sheet = known_for(build, kind), read_sheet(text)
        openings = list(build.openings.all())
        usual = {"happened_on": now.date().isoformat(), "opening": str(openings[0].pk), "importer": person.pk}
        matches = usual | propose(sheet, known, kind=kind) | said
        table = tables.keep_table(build, kind=kind, name="t.csv", text=text, matches=matches, person=person,
                                  account=owner, now=now)  # fmt: skip
        who = {"person": person, "account": owner, "now": now, "left_out": 0}
        if kind == "plan":
            return tables.take_in_plan(table, dry_run_plan(sheet, known, matches).plan, **who)
        found = dry_run(sheet, known, matches, now=now)
        return tables.take_in_readings(table, found.to_take(matches["odd"]), standing=standing, **who)

    return run


def undo(table, hull, owner, now=NOW + timedelta(hours=1)):
    return tables.undo_table(table, person=hull.person, account=owner, now=now)


def test_readings_come_in_known_from_now_on_and_the_strakes_are_in_hand(bring, hull, owner):
    before = hull.opening.serial
    table = bring(WIDTHS, "widths")

    hull.opening.refresh_from_db()
    counting = counting_widths(hull.opening)
    assert [row.value_nm for row in counting.values()] == [5_020_000, 5_040_000, 4_980_000]
    one = Reading.objects.order_by("pk").first()
    assert (one.known_at, one.received_at, one.entered_by, one.person) == (NOW, NOW, owner, hull.person)
    assert (one.happened_at, one.session, one.plank.strake) == (
        datetime(2026, 3, 10, 12, tzinfo=UTC), None, hull.strakes["1"],
    )  # fmt: skip
    states = states_of_strakes([hull.strakes[label].pk for label in "123"])
    assert [states[hull.strakes[label].pk].state for label in "12"] == ["hung", "cut"]
    assert hull.opening.serial > before
    assert (table.state, table.text, len(table.result["readings"])) == ("taken", "", 3)


def test_second_import_of_one_file_adds_nothing(bring):
    bring(WIDTHS, "widths")

    with pytest.raises(NotPossible, match="nothing new"):
        bring(WIDTHS, "widths", now=NOW + timedelta(days=3))
    assert Reading.objects.count() == 3


def test_second_import_on_another_day_of_a_file_without_dates_adds_nothing(bring):
    bring("station,gap\nM,12.5\nF,13.5\n", "gaps")

    with pytest.raises(NotPossible):
        bring("station,gap\nM,12.5\nF,13.5\n", "gaps", now=NOW + timedelta(days=9))
    assert Reading.objects.count() == 2


def test_undo_takes_the_whole_table_back_and_leaves_its_record(bring, hull, owner):
    table = bring(WIDTHS, "widths")
    undone = undo(table, hull, owner)

    assert counting_widths(hull.opening) == {}
    assert Reading.objects.count() == 3
    assert {r.amendment.reason for r in Reading.objects.all()} == {"import undone"}
    states = states_of_strakes([strake.pk for strake in hull.strakes.values()])
    assert states == {}
    assert (undone.state, undone.result["kept"]) == ("undone", 0)
    # What was known in between is still seen as of then.
    assert len(counting_widths(hull.opening, as_of=NOW + timedelta(minutes=5))) == 3


def test_table_undone_twice_is_a_conflict(bring, hull, owner):
    table = bring(WIDTHS, "widths")
    undo(table, hull, owner)

    with pytest.raises(Conflict):
        undo(table, hull, owner)


def test_table_that_was_undone_can_come_in_again(bring, hull, owner):
    undo(bring(WIDTHS, "widths"), hull, owner)
    again = bring(WIDTHS, "widths", now=NOW + timedelta(hours=2))

    assert len(again.result["readings"]) == 3
    assert len(counting_widths(hull.opening)) == 3
    with pytest.raises(NotPossible):
        bring(WIDTHS, "widths", now=NOW + timedelta(hours=3))


def test_undo_leaves_what_somebody_went_on_with(bring, hull, owner):
    table = bring(WIDTHS, "widths")
    first = Reading.objects.order_by("pk").first()
    amend_reading(first, act="doubts", reason="caliper fell", person=hull.person, now=NOW)
    hang_strake(hull.strakes["2"], person=hull.person, now=NOW)

    assert undo(table, hull, owner).result["kept"] == 2
    states = states_of_strakes([hull.strakes["2"].pk])
    assert states[hull.strakes["2"].pk].state == "hung"


@pytest.mark.parametrize(
    ("standing", "state", "measured"),
    [("hung", "hung", "measured"), ("before_log", "hung", "before_log"), ("none", None, None)],
)
def test_builder_says_what_planks_the_log_does_not_have_are(standing, state, measured, bring, hull):
    bring("strake,station,mm\n1,M,5.0\n", "widths", standing=standing)

    plank = Plank.objects.first()
    assert (plank.state, plank.measured) == (state, measured) if plank else state is None
    assert len(counting_widths(hull.opening)) == 1


def test_table_in_two_hands_is_taken_in_once(bring, hull, owner):
    table = bring(WIDTHS, "widths")

    with pytest.raises(Conflict):
        tables.take_in_readings(table, [object()], left_out=0, standing="as_read", person=hull.person, account=owner,
                                now=NOW)  # fmt: skip


def test_drafts_are_forgotten_after_a_week_and_what_was_taken_in_is_not(bring, hull, owner):
    taken = bring(WIDTHS, "widths")
    tables.keep_table(hull.build, kind="gaps", name="", text="a,b\n1,2\n", matches={}, person=hull.person,
                      account=owner, now=NOW)  # fmt: skip

    assert tables.forget_old_tables(now=NOW + timedelta(days=6)) == 0
    assert tables.forget_old_tables(now=NOW + timedelta(days=8)) == 1
    assert list(TableImport.objects.all()) == [taken]


# --- the plan ------------------------------------------------------------------------------------------------


def planned(revision) -> dict:
    rows = PlanWidth.objects.filter(plan_strake__revision=revision)
    return {(w.plan_strake.label, w.station.name): w.width_nm for w in rows.select_related("plan_strake", "station")}


def test_plan_comes_in_as_a_draft_and_the_plan_in_force_stays(bring, hull):
    table = bring("strake;F;M;A\n2;5,10;;\n4;4,90;5;5,05\n", "plan")

    draft = table.revision
    assert draft.state == PlanRevision.State.DRAFT
    assert planned(draft) == planned(hull.revision) | {
        ("2", "F"): 5_100_000, ("4", "F"): 4_900_000, ("4", "A"): 5_050_000,
    }  # fmt: skip
    hull.revision.refresh_from_db()
    assert hull.revision.state == PlanRevision.State.IN_FORCE


def test_new_strake_finds_its_place_and_the_others_make_room(bring, hull):
    table = bring("strake,from the keel,run,kind,spans,M\n2a,3,keel,stealer,0 to 1,3.2\n", "plan")

    order = list(table.revision.strakes.order_by("position").values_list("label", "position", "kind"))
    assert [row[0] for row in order] == ["1", "2", "2a", "3", "4", "5"]
    assert [row[1] for row in order] == [1, 2, 3, 4, 5, 6]
    assert table.revision.strakes.get(label="2a").spans == [[0, 1]]


def test_undo_of_a_plan_throws_its_draft_and_its_new_strakes_away(bring, hull, owner):
    table = bring("strake,from the keel,run,M\n2a,3,keel,3.2\n", "plan")
    undo(table, hull, owner)

    assert PlanRevision.objects.count() == 1
    assert Strake.objects.count() == 5


def test_plan_that_is_in_force_by_now_is_not_undone(bring, hull, owner):
    table = bring("strake,M\n2,5.1\n", "plan")
    put_in_force(table.revision, person=hull.person, now=NOW)

    with pytest.raises(NotPossible, match="in force by now"):
        undo(table, hull, owner)


def test_widths_of_a_strake_that_hangs_stay_as_planned(bring, hull):
    hang_strake(hull.strakes["2"], person=hull.person, now=NOW)

    with pytest.raises(NotPossible, match="nothing to change"):
        bring("strake,M\n2,5.1\n", "plan")


# --- out and in ----------------------------------------------------------------------------------------------


def exported(build, kind) -> str:
    revision = build.revisions.filter(state="in_force").first()
    return text_of(table_bytes(table_rows(build, kind, revision)))


def values_of(build) -> list:
    """Return what a build's standing readings say, without the names that differ from build to build."""
    rows = Reading.objects.filter(build=build, value_nm__isnull=False, amendment=None)
    labels = dict(PlanStrake.objects.filter(revision__build=build).values_list("strake_id", "label"))
    return sorted(
        (r.kind, r.opening.side, labels.get(r.strake_id, ""), r.station.name, r.value_nm, r.happened_at.isoformat(),
         r.method, r.damp, r.stage, r.kept_reason)
        for r in rows.select_related("opening", "station")
    )  # fmt: skip


READINGS = st.lists(
    st.tuples(
        st.sampled_from(["width", "gap", "girth"]), st.sampled_from("12345"), st.integers(0, 2),
        st.integers(4_810_000, 5_190_000), st.integers(0, 60 * 24 * 10), st.sampled_from(["dry", "damp"]),
        st.sampled_from(["", "=1+1", "-5", "it's 'odd'", "a;b,c\td", "Ø ⊗"]),
    ),
    max_size=12,
)  # fmt: skip


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(READINGS)
def test_out_and_in_again_is_nothing_new_and_into_a_twin_is_the_same(owner, bring, told):
    hull = lay_down_hull(owner, name=f"Out {uuid.uuid4()}")
    twin = lay_down_hull(owner, name=f"Twin {uuid.uuid4()}")
    for kind, label, at, nm, minutes, damp, remark in told:
        record_reading(
            hull.build, client_uuid=uuid.uuid4(), now=NOW, happened_at=NOW - timedelta(minutes=minutes), kind=kind,
            opening=hull.opening, strake=hull.strakes[label] if kind == "width" else None, station=hull.stations[at],
            value_nm=nm * (5 if kind == "girth" else 1), damp=damp, kept_reason=remark, person=hull.person,
            method="jaws" if kind == "width" else "paper_strip", stage="cut" if kind == "width" else "",
        )  # fmt: skip

    for kind, of_kind in (("widths", "width"), ("gaps", "gap"), ("girths", "girth")):
        if not any(one[0] == of_kind for one in told):
            continue
        text = exported(hull.build, kind)
        with pytest.raises(NotPossible):
            bring(text, kind, build=hull.build, person=hull.person)
        bring(text, kind, build=twin.build, person=twin.person, odd="take", standing="none")
        with pytest.raises(NotPossible):
            bring(text, kind, build=twin.build, person=twin.person, odd="take")

    assert values_of(twin.build) == values_of(hull.build)


def test_sample_goes_into_an_empty_twin_whole(owner, bring):
    from buildlog.sample.story import THE_END, tell_story

    sample = tell_story(owner, until=THE_END)
    twin = BuildFactory(name="Twin", time_zone=sample.time_zone)
    person = Person.objects.create(build=twin, account=owner, display_name="Importer")
    for opening in sample.openings.all():
        OpeningFactory(build=twin, side=opening.side)
    frames = {f.number: twin.frames.create(number=f.number, x_nm=f.x_nm, name=f.name) for f in sample.frames.all()}
    for s in sample.stations.all():
        StationFactory(build=twin, name=s.name, position=s.position, x_nm=s.x_nm, is_dead_flat=s.is_dead_flat,
                       frame=frames.get(s.frame.number) if s.frame else None)  # fmt: skip

    plan = bring(exported(sample, "plan"), "plan", build=twin, person=person)
    put_in_force(plan.revision, person=person, now=NOW)
    for kind in ("girths", "widths", "gaps"):
        bring(exported(sample, kind), kind, build=twin, person=person, odd="take", now=datetime(2027, 1, 1, tzinfo=UTC))

    def plan_of(build):
        rows = PlanWidth.objects.filter(plan_strake__revision__build=build, plan_strake__revision__state="in_force")
        return {
            (w.plan_strake.opening.side, w.plan_strake.label, w.plan_strake.position, w.plan_strake.run, w.station.name,
             str(w.plan_strake.belt), str(w.plan_strake.spans)): w.width_nm
            for w in rows.select_related("plan_strake__opening", "plan_strake__belt", "station")
        }  # fmt: skip

    assert plan_of(twin) == plan_of(sample)
    for mine, theirs in zip(Opening.objects.filter(build=sample), Opening.objects.filter(build=twin), strict=True):
        assert counted(theirs) == counted(mine)
        assert len(counted(mine)) > 200


def counted(opening) -> dict:
    """Return what counts in an opening: widths by strake and station, gaps by station, by their names."""
    plans = PlanStrake.objects.filter(opening=opening, revision__state="in_force")
    labels = dict(plans.values_list("strake_id", "label"))
    widths = {
        (labels[row.reading.strake_id], row.reading.station.name): row.value_nm
        for row in counting_widths(opening).values()
    }
    gaps = {
        rows[0].reading.station.name: sorted(row.value_nm for row in rows)
        for rows in counting_gaps(opening).values()
    }
    return widths | gaps
