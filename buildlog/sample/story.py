"""The sample hull's history, told through the actions that the pages use, each with the clock of its day."""

import uuid
from datetime import UTC, date, datetime, time, timedelta

from django.db import transaction

from buildlog.actions import planks, readings, sessions
from buildlog.actions.cards import print_card, throw_away_card
from buildlog.models import Build, CardPrint, Mishap, Plank, Reading, TestJoint, Tip, Worry
from buildlog.queries.cut_cards import cut_card_of

from . import shelf
from .album import hang_picture, pictures_of
from .beginning import Bench, lay_down, lay_down_revision
from .hull import THICKNESS_IN
from .recut import lay_down_recut

# The demo opens here: the gap was read, revision 2 is in force, and the recut is the visitor's to make.
BEFORE_THE_RECUT = datetime(2026, 2, 14, 12, 0, tzinfo=UTC)
THE_END = datetime(2026, 12, 31, tzinfo=UTC)
_NAMES = uuid.UUID("6f1d0f0a-52a7-4c0e-9d0a-0c4a1b6a9f11")

# Which strakes were hung in which session, in order.
_HUNG = {
    3: ["18"], 4: ["18"], 5: ["17", "16"], 6: ["17", "16"], 7: ["15"], 8: ["14", "13"], 9: ["14", "13"],
    10: ["12"], 11: ["12"], 13: ["11"], 14: ["11", "10"], 15: ["10"], 16: ["1", "2"], 17: ["1", "2"], 19: ["3"],
    20: ["4", "3a"], 21: ["3", "4", "3a"], 26: ["9"], 27: ["9"], 28: ["5"], 29: ["5"], 30: ["8"], 31: ["8"],
    32: ["6"], 33: ["6"], 34: ["7"], 35: ["7"],
}  # fmt: skip
_NEXT_NOTES = {
    7: "Side belt next. Port 14 first.",
    22: "Next is strake 9, port.",
    24: "Throw the old cards away. Then a gap check before any cutting.",
}


def tell_story(account, *, until=BEFORE_THE_RECUT, name="Orlawen", pictures=False) -> Build:
    """Load the sample hull for ``account`` as it stood at ``until`` and return the build.

    With ``pictures`` its photographs are received too; whoever asks runs the jobs that make them ready.
    """
    with transaction.atomic():
        bench = lay_down(account, name=name)
        for session in shelf.sessions():
            if _begins(session.date) > until:
                break
            _Day(bench, session, until, pictures).tell()
    return bench.build


def _begins(day: date) -> datetime:
    return datetime.combine(day, time(9, 0), tzinfo=UTC)


class _Day:
    """One session of the story; ``clock`` goes on as things are done."""

    def __init__(self, bench: Bench, told: shelf.SampleSession, until: datetime, pictures: bool):
        self.bench, self.told, self.until, self.pictures = bench, told, until, pictures
        self.clock = _begins(told.date)
        self.person = bench.marit if told.side == "starboard" else bench.tobin
        self.sides = ["port", "starboard"] if told.side == "both" else [told.side]

    def tell(self):
        self.session = sessions.start_session(
            self.bench.build, person=self.person, now=self.clock, local_date=self.told.date, side=self.told.side,
            minutes=self.told.minutes, humidity_percent=self.told.humidity_percent, note=self.told.note,
            next_note=_NEXT_NOTES.get(self.told.number, ""), shared=self.told.number not in (18, 23),
        )  # fmt: skip
        before = getattr(self, f"session_{self.told.number}", None)
        if before:
            before()
        for side in self.sides:
            for label in _HUNG.get(self.told.number, []):
                self.hang(side, label)
        for picture in pictures_of(self.told.number) if self.pictures else []:
            hang_picture(
                self.bench, self.session, picture, person=self.person, now=self.later(2), names=_NAMES
            )
        after = getattr(self, f"after_{self.told.number}", None)
        if after and self.clock <= self.until:
            after()

    def later(self, minutes: float) -> datetime:
        self.clock += timedelta(minutes=minutes)
        return self.clock

    # --- what is done again and again ----------------------------------------------------------------------

    def hang(self, side, label):
        """Cut, measure and hang one strake; the stealer is hung without being measured."""
        strake = self.bench.strakes[side, label]
        person = self.bench.marit if side == "starboard" else self.bench.tobin
        lot = self.bench.lots["A" if label in THICKNESS_IN else "B"]
        if label == "3a":
            measured = Plank.Measured.NOT_MEASURED
            planks.hang_strake(
                strake, person=person, now=self.later(20), session=self.session, measured=measured, lot=lot
            )
            return
        planks.move_strake(
            strake, Plank.State.CUT, person=person, now=self.later(40), session=self.session, lot=lot
        )
        for station, read in shelf.widths()[side, label].items():
            self.read_width(side, label, station, read)
        planks.hang_strake(strake, person=person, now=self.later(30), session=self.session)

    def read_width(self, side, label, station, read, **fields):
        caliper = self.bench.calipers[side]
        person = self.bench.marit if side == "starboard" else self.bench.tobin
        return self.record(
            "width", station, read, method=Reading.Method.JAWS, stage=fields.pop("stage", Reading.Stage.CUT),
            strake=self.bench.strakes[side, label], opening=self.bench.openings[side], instrument=caliper,
            person=person, said=f"{side} {label}", **fields,
        )  # fmt: skip

    def read_strip(self, kind, side, station, read, *, take=1, u_nm=50_000, **fields):
        return self.record(
            kind, station, read, method=Reading.Method.PAPER_STRIP, opening=self.bench.openings[side],
            instrument=self.bench.strip, u_nm=u_nm, said=f"{side} take {take}", **fields,
        )  # fmt: skip

    def record(self, kind, station, read, *, said, person=None, **fields):
        now = self.later(0.3)
        value_nm = fields.pop("value_nm", None) or shelf.nm_of(read)
        name = f"{kind} {said} {station} {self.told.number} {now.isoformat()}"
        return readings.record_reading(
            self.bench.build, client_uuid=uuid.uuid5(_NAMES, f"{self.bench.build.uuid} {name}"), now=now, kind=kind,
            station=self.bench.stations[station], value_nm=value_nm, typed=read, unit="mm", session=self.session,
            person=person or self.person, **fields,
        )[0]  # fmt: skip

    def write(self, kind, text, **fields):
        return kind.objects.create(
            session=self.session, person=self.person, text=text, written_at=self.later(1), **fields
        )

    # --- the days that hold more than hanging ---------------------------------------------------------------

    def session_1(self):
        """Girths by paper strip, two takes at every station, which agree."""
        for side in ("port", "starboard"):
            for station, girth_nm in self.bench.drawing_girths.items():
                built_nm = girth_nm + shelf.nm_of(shelf.girth_differences()[side][station])
                for take in (1, 2):
                    self.read_strip(
                        "girth", side, station, f"{built_nm / 1e6:.2f}", value_nm=built_nm, take=take, u_nm=70_000
                    )
        self.write(Worry, "Starboard 12 is 0.20 short. The frame, not the strip: both takes agree.")

    def session_2(self):
        first = lay_down_revision(
            self.bench, 1, reason="first lining off: six strakes in the bilge", now=self.later(90)
        )
        # The card that lies in the drawer when the plan has long changed.
        strake = self.bench.strakes["port", "9"]
        card = cut_card_of(self.bench.build, strake, first)
        print_card(card.plan, words=card.words, widths_nm=card.widths_nm, person=self.person, now=self.later(10))

    def session_8(self):
        self.write(
            Tip, "I leave the line because the knife wanders.", operation="cutting", shared=True,
            strake=self.bench.strakes["port", "14"],
        )  # fmt: skip

    def session_12(self):
        reason = "the bilge takes five strakes instead of six: 7 1/16 in looked mean beside 9 in"
        lay_down_revision(self.bench, 2, reason=reason, now=self.later(40))

    def session_13(self):
        self.read_width("port", "11", "⊗", "4.87", damp=Reading.Damp.DAMP)
        self.write(
            Tip, "Iron at the second setting, ten seconds a frame. It took the curve without lifting.",
            operation="heat", shared=True, strake=self.bench.strakes["port", "11"],
        )  # fmt: skip

    def session_18(self):
        from buildlog.actions.instruments import tell_zero_may_have_moved

        note = "battery changed, zeroed without wiping the jaws"
        tell_zero_may_have_moved(self.bench.calipers["port"], person=self.person, now=self.later(10), note=note)

    def session_23(self):
        from buildlog.actions.instruments import check_zero, correct_zero

        caliper = self.bench.calipers["port"]
        check = check_zero(
            caliper, offset_nm=80_000, u_nm=5_000, person=self.person, now=self.later(15), note="jaws wiped, shut"
        )
        reason = "read 0.08 with the jaws shut, a crumb of glue on one jaw since 21 June"
        correct_zero(
            check.epoch, offset_nm=80_000, u_nm=5_000, reason=reason, person=self.person, now=self.later(10)
        )
        # Wiped, set to nought and read again: what is read from here on needs no correction.
        check_zero(
            caliper, offset_nm=0, u_nm=5_000, person=self.person, now=self.later(5), note="wiped, set to nought"
        )
        self.write(Worry, "Which printed cards are still in the drawer?")

    def session_24(self):
        """Strake 9 cut to a card of revision 1, and spoiled."""
        strake = self.bench.strakes["port", "9"]
        planks.move_strake(
            strake, Plank.State.CUT, person=self.person, now=self.later(50), session=self.session,
            lot=self.bench.lots["B"],
        )  # fmt: skip
        Plank.objects.filter(strake=strake).update(revision=self.bench.revisions[1])
        self.read_width("port", "9", "⊗", "3.75")
        reason = "cut to a card of revision 1, 3.75 for 4.50"
        spoiled = planks.take_out_strake(
            strake, Plank.State.SPOILED, person=self.person, now=self.later(30), reason=reason, session=self.session
        )
        self.write(
            Mishap, "Cut from the card in the drawer: 3.75 for 4.50. Not glued.", plank=spoiled[0], strake=strake,
            shared=True,
        )  # fmt: skip

    def session_25(self):
        """Old cards out of the drawer, the test joints, then the gap at every station of both sides."""
        for card in CardPrint.objects.filter(plan_strake__revision=self.bench.revisions[1]):
            throw_away_card(card, person=self.person, now=self.later(1))
        now = self.later(5)
        TestJoint.objects.create(
            build=self.bench.build, person=self.person, seam_nm=14_000, u_nm=3_000, strips=5,
            note="three joints of five strips", happened_at=now, known_at=now, received_at=now,
        )  # fmt: skip
        for side in ("port", "starboard"):
            for station, gap in shelf.gaps()[side].items():
                self.read_strip("gap", side, station, gap, u_nm=50_000)

    def after_25(self):
        self.clock = datetime.combine(self.told.date, time(13, 0), tzinfo=UTC)
        if self.clock <= self.until:
            lay_down_recut(self.bench, now=self.clock)

    def after_32(self):
        self.read_closing_gap("port")

    def session_34(self):
        self.read_closing_gap("port")

    def session_35(self):
        self.read_closing_gap("starboard")

    def read_closing_gap(self, side):
        """The gap the closing strake is made to: what it measured in the end, and the seam on either edge."""
        seam_nm = {"port": 14_000, "starboard": 10_000}[side]
        for station, read in shelf.widths()[side, "7"].items():
            gap_nm = shelf.nm_of(read) + 2 * seam_nm
            self.read_strip("gap", side, station, f"{gap_nm / 1e6:.3f}", value_nm=gap_nm, u_nm=50_000)

    def session_37(self):
        """Thickness after scraping at five stations, recorded as sanded; widths stand as they were read."""
        before_nm, taken_off_nm = 1_323_000, [120_000, 150_000, 180_000, 160_000, 130_000]
        for station, off_nm in zip(self.bench.five, taken_off_nm, strict=True):
            self.record(
                "thickness", station, f"{(before_nm - off_nm) / 1e6:.2f}", method=Reading.Method.JAWS,
                stage=Reading.Stage.SANDED, strake=self.bench.strakes["port", "9"],
                opening=self.bench.openings["port"], instrument=self.bench.calipers["port"], said="port 9 scraped",
            )  # fmt: skip
