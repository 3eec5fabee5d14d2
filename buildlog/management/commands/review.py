import json
import uuid
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from buildlog.measuring.reviews import review_of, trouble_of
from buildlog.models import Build
from buildlog.queries.plans import openings_of

VERDICTS = {
    "carry_on": "carry on", "spread_it": "spread it", "change_plan": "change the plan",
    "measure_gap": "measure the gap",
}  # fmt: skip


class Command(BaseCommand):
    help = "Tell where the planks of a build are heading: verdict, sentence and station table for each opening."

    def add_arguments(self, parser):
        parser.add_argument("build", metavar="BUILD", help="the build's name, or the code in its address")
        parser.add_argument("--opening", metavar="SIDE", help="one opening only: port or starboard")
        parser.add_argument("--as-of", metavar="DATE", help="as it was known at the end of a day: 2026-02-14")
        parser.add_argument("--json", action="store_true", help="the whole review as JSON")

    def handle(self, *args, **options):
        if Build._meta.db_table not in connection.introspection.table_names():
            raise CommandError("This log has no records yet: start it once, with python3 manage.py serve")
        _refuse_older_tables()
        build = _build(options["build"])
        as_of = _end_of_day(options["as_of"], build)
        told = [(opening, _review(opening, as_of)) for opening in _openings(build, options["opening"])]
        if options["json"]:
            reviews = [one.as_json() for _opening, one in told if one]
            self.stdout.write(json.dumps(reviews, ensure_ascii=False, indent=1))
            return
        for opening, review in told:
            self.stdout.write("\n".join(_lines(opening, review)))


def _refuse_older_tables():
    """A log of an older version has not all the columns that a review reads."""
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise CommandError(
            "The tables of this log are those of an older version: start it once, with python3 manage.py serve, "
            "which keeps a backup and brings them up to date.",
            returncode=2,
        )


def _build(text) -> Build:
    """Return the build of a name or of the code in its address."""
    try:
        found = list(Build.objects.filter(uuid=uuid.UUID(text)))
    except ValueError:
        found = list(Build.objects.filter(name__iexact=text)) if text.isprintable() else []
    if not found:
        raise CommandError(f"There is no build named {text!r}.", returncode=2)
    if len(found) > 1:
        codes = ", ".join(str(one.uuid) for one in found)
        raise CommandError(f"{len(found)} builds are named {text!r}; give the code of one: {codes}", returncode=2)
    return found[0]


def _openings(build, side) -> list:
    every = openings_of(build)
    found = [one for one in every if side is None or side.lower() in (one.side, str(one.uuid))]
    if not found:
        sides = ", ".join(one.side for one in every) or "none yet"
        raise CommandError(f"--opening {side!r} is not one of this build's: {sides}.", returncode=2)
    return found


def _end_of_day(text, build):
    if text is None:
        return None
    try:
        day = date.fromisoformat(text)
        return datetime.combine(day + timedelta(days=1), time(), ZoneInfo(build.time_zone or "UTC"))
    except (ValueError, OverflowError):
        raise CommandError(f"--as-of: {text!r} is not a day written like 2026-02-14.", returncode=2) from None


def _review(opening, as_of):
    if trouble := trouble_of(opening, as_of):
        raise CommandError(f"{opening.get_side_display()}: {trouble}")
    return review_of(opening, as_of)


def _lines(opening, review):
    side = opening.get_side_display()
    if review is None:
        yield f"{side}: no plan was in force, so there is nothing to judge by."
        return
    yield f"{side}: {VERDICTS[review.verdict]}"
    yield review.sentence
    yield from (note.sentence for note in review.notes)
    if review.gap_check_sentence:
        yield review.gap_check_sentence
    yield f"{'at':>4} {'gap':>7} {'short':>7} {'doubt':>7} {'left alone':>11}  what to do"
    for at in review.stations:
        figures = f"{_mm(at.gap_mm):>7} {_mm(at.short_mm):>7} {at.doubt_mm:7.2f} {_mm(at.left_alone_mm):>11}"
        yield f"{at.station:>4} {figures}  {VERDICTS[at.verdict]}"
    yield ""


def _mm(value) -> str:
    return "–" if value is None else f"{value:.2f}"
