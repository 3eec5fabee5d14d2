"""Who may do what with each URL, written by hand. The test beside this compares it with the resolver."""

import uuid
from dataclasses import dataclass

from tests import factories

NOBODY = uuid.UUID(int=0)


@dataclass(frozen=True)
class Page:
    """``reads``: the least role that may GET it (None: no GET). ``writes``: the least that may POST (None: no POST).

    ``answers``: what somebody who may gets from an empty request.
    """

    reads: str | None = "reader"
    writes: str | None = None
    answers: frozenset = frozenset({200, 302})


# Pages under /builds/<uuid>/.
BUILD_PAGES = {
    "build-open": Page(),
    "build-name": Page(reads="builder", writes="builder"),
    "build-scale": Page(reads="builder", writes="builder"),
    "build-sides": Page(reads="builder", writes="builder"),
    "station-count": Page(reads="builder", writes="builder"),
    "station-names": Page(reads="builder", writes="builder"),
    "first-run-back": Page(reads=None, writes="builder"),
    "first-plan": Page(reads="builder"),
    "first-plan-planking": Page(reads="builder", writes="builder"),
    "first-plan-gaps": Page(reads="builder", writes="builder"),
    "first-plan-skip": Page(reads=None, writes="builder"),
    "first-plan-leave": Page(reads=None, writes="builder"),
    "first-plan-put": Page(reads=None, writes="builder"),
    "first-plan-go": Page(reads=None, writes="builder"),
    "plan": Page(),
    "next-widths": Page(reads="builder"),
    "new-widths": Page(reads="builder"),
    "new-widths-put": Page(reads=None, writes="builder"),
    "revision-list": Page(),
    "revision-new": Page(reads=None, writes="builder"),
    "revision-detail": Page(reads="builder"),
    "revision-propose": Page(reads=None, writes="builder"),
    # Its author may too; the draft here is the owner's.
    "revision-send-back": Page(reads=None, writes="owner"),
    "revision-throw-away": Page(reads=None, writes="owner"),
    "revision-put": Page(reads=None, writes="owner"),
    "revision-renew": Page(reads=None, writes="owner"),
    "revision-edit": Page(reads="builder"),
    "plan-width-row": Page(reads=None, writes="builder"),
    "plan-width-cell": Page(reads=None, writes="builder"),
    "plan-width-share": Page(reads="builder", writes="builder"),
    "plan-limits": Page(reads="builder", writes="builder"),
    "plan-belt-add": Page(reads="builder", writes="builder"),
    "plan-belt-change": Page(reads="builder", writes="builder"),
    "plan-belt-remove": Page(reads=None, writes="builder", answers=frozenset({302, 404})),
    "plan-strake-add": Page(reads="builder", writes="builder"),
    "plan-strake-change": Page(reads="builder", writes="builder"),
    "plan-strake-leave-out": Page(reads=None, writes="builder"),
    "plan-strake-close": Page(reads=None, writes="builder"),
    "bench": Page(),
    "packet": Page(reads="helper"),
    "undo": Page(reads=None, writes="helper"),
    "warning-hide": Page(reads=None, writes="helper", answers=frozenset({400})),
    "photo-note": Page(reads="helper", writes="helper"),
    "session-edit": Page(reads="helper", writes="helper"),
    "widths-record": Page(reads="helper", writes="helper"),
    "widths-redraw": Page(reads=None, writes="helper"),
    "widths-saved": Page(),
    "sheet-list": Page(reads="helper"),
    "card-detail": Page(),
    "card-print": Page(reads=None, writes="helper"),
    "card-throw-away": Page(reads=None, writes="helper"),
    "planks-begin": Page(reads=None, writes="helper", answers=frozenset({302, 409})),
    "planks-cut": Page(reads=None, writes="helper"),
    "planks-dry-fit": Page(reads=None, writes="helper"),
    "planks-hang": Page(reads=None, writes="helper"),
    "planks-hang-unmeasured": Page(reads=None, writes="helper"),
    "clock-start": Page(reads=None, writes="helper"),
    "clock-stop": Page(reads=None, writes="helper"),
    "writing-new": Page(reads="helper", writes="helper"),
    "worry-list": Page(),
    "worry-close": Page(reads="helper", writes="helper"),
    "where-i-left-off": Page(),
    "hand-over": Page(),
    "hours": Page(),
    "timer-list": Page(),
    "printer-list": Page(reads="helper", writes="helper"),
    "printer-bars": Page(reads="helper"),
    "shop": Page(reads="helper"),
    "lot-new": Page(reads="builder", writes="builder"),
    "lot-edit": Page(reads="builder", writes="builder"),
    "purchase-new": Page(reads="builder", writes="builder"),
    "purchase-edit": Page(reads="builder", writes="builder"),
    "supply-new": Page(reads="helper", writes="helper"),
    "supply-edit": Page(reads="helper", writes="helper"),
    "strip-new": Page(reads="helper", writes="helper"),
    "strip-withdraw": Page(reads=None, writes="helper"),
    "joint-new": Page(reads="helper", writes="helper"),
    "joint-withdraw": Page(reads=None, writes="helper"),
    "strake-wood": Page(reads=None, writes="helper"),
    "planks-hang-before-log": Page(reads=None, writes="helper"),
    "edge-dressed": Page(reads="helper", writes="helper"),
    "dressing-withdraw": Page(reads=None, writes="helper"),
    "planks-spoil": Page(reads="helper", writes="helper"),
    "planks-take-off": Page(reads="helper", writes="helper"),
    "planks-unhang": Page(reads="helper", writes="helper"),
    "gaps-record": Page(reads="helper", writes="helper"),
    "gaps-redraw": Page(reads=None, writes="helper"),
    "gaps-saved": Page(),
    "sides": Page(),
    "gap-check": Page(),
    "faces": Page(reads="builder", writes="builder"),
    "girth-list": Page(),
    "girths-record": Page(reads="helper", writes="helper"),
    "girths-redraw": Page(reads=None, writes="helper"),
    "girth-drawing": Page(reads="builder", writes="builder"),
    "reading-amend": Page(reads="helper", writes="helper"),
    "hull": Page(),
    "opening-sums": Page(),
    "strake-detail": Page(),
    "drift-list": Page(),
    "log": Page(),
    "shed": Page(),
    "photo-serve": Page(answers=frozenset({404})),
    "photo-list": Page(),
    "photo-label": Page(reads=None, writes="helper"),
    "photo-clock": Page(reads="helper", writes="helper"),
    "photo-change-undo": Page(reads=None, writes="helper"),
    "photo-series-list": Page(),
    "photo-series-new": Page(reads="helper", writes="helper"),
    "photo-series-detail": Page(),
    "photo-series-name": Page(reads="helper", writes="helper"),
    "photo-series-next": Page(reads="helper"),
    "photo-series-add": Page(reads=None, writes="helper"),
    "photo-detail": Page(writes="helper"),
    "photo-take-out": Page(reads=None, writes="builder"),
    "photo-put-back": Page(reads=None, writes="builder"),
    "photo-share": Page(reads=None, writes="owner"),
    "photo-turn": Page(reads=None, writes="helper"),
    "photo-crop": Page(reads="helper", writes="helper"),
    "photo-as-sent": Page(reads=None, writes="helper"),
    "photo-marks": Page(reads="helper", writes="helper"),
    "photo-slate": Page(reads="helper", writes="helper"),
    "link-list": Page(reads="owner"),
    "link-new": Page(reads="owner", writes="owner"),
    "link-detail": Page(reads="owner"),
    "link-pause": Page(reads=None, writes="owner"),
    "link-open": Page(reads=None, writes="owner"),
    "link-renew": Page(reads=None, writes="owner"),
    "link-revoke": Page(reads=None, writes="owner"),
    "share-list": Page(reads="owner", writes="owner"),
    "person-list": Page(reads="owner"),
    "person-new": Page(reads="owner", writes="owner"),
    "person-detail": Page(reads="owner", writes="owner"),
    "person-role": Page(reads=None, writes="owner"),
    "person-let-go": Page(reads=None, writes="owner", answers=frozenset({404})),
    "invitation-new": Page(reads="owner", writes="owner"),
    "invitation-withdraw": Page(reads=None, writes="owner"),
    "instrument-list": Page(),
    "instrument-new": Page(reads="helper", writes="helper"),
    "instrument-detail": Page(),
    "zero-check": Page(reads=None, writes="helper"),
    "zero-moved": Page(reads=None, writes="helper"),
    "zero-correct": Page(reads=None, writes="builder"),
    "zero-correction-withdraw": Page(reads=None, writes="builder"),
    "table-list": Page(),
    "table-file": Page(),
    "table-send": Page(reads=None, writes="helper"),
    "table-detail": Page(reads="helper", writes="helper"),
    "table-take": Page(reads=None, writes="helper", answers=frozenset({302, 409})),
    "table-undo": Page(reads=None, writes="helper", answers=frozenset({302, 409})),
    "table-throw-away": Page(reads=None, writes="helper", answers=frozenset({302, 404})),
    "backup-list": Page(reads="owner"),
    "backup-start": Page(reads=None, writes="owner"),
    "backup-file": Page(reads="owner", answers=frozenset({404})),
    "build-file-list": Page(reads="owner"),
    "build-file-save": Page(reads=None, writes="owner"),
    "build-file": Page(reads="owner", answers=frozenset({404})),
}

# Pages that anybody may open, and how they answer without a valid token.
OPEN_PAGES = {
    "sign-in": {200},
    "one-time-link": {404},
    "card-scan": {404},
    "healthz": {200},
    "here": {200, 401},
    "offline": {200},
    "worker": {200},
    "manifest": {200},
    "club": {404},
    "club-photo": {404},
    "club-file": {404},
    "club-feed": {404},
}

# Pages of whoever is signed in, of no build.
OWN_PAGES = {
    "home": Page(reads="reader"),
    "build-list": Page(reads="reader"),
    "build-new": Page(reads="reader", writes="reader"),
    "build-file-take": Page(reads="reader", writes="reader"),
    "build-file-taken": Page(reads="reader", answers=frozenset({404})),
    "account-detail": Page(reads="reader"),
    "account-rename": Page(reads=None, writes="reader"),
    "account-theme": Page(reads=None, writes="reader"),
    "account-password": Page(reads="reader", writes="reader"),
    "sign-out": Page(reads=None, writes="reader"),
    "word-list": Page(reads="reader"),
    "waiting": Page(reads="reader"),
    "caution-list": Page(reads="reader"),
    "caution-seen": Page(reads=None, writes="reader"),
    "phone-list": Page(reads="reader"),
    "phone-sign-out": Page(reads=None, writes="reader", answers=frozenset({404})),
    "phone-sign-out-others": Page(reads=None, writes="reader"),
}

# Arguments of the pages that belong to no build.
LOOSE_ARGUMENTS = {
    "one-time-link": ["no-such-token"],
    "card-scan": ["nosuchcode"],
    "build-file-taken": [NOBODY],
    "club": ["no-such-token"],
    "club-photo": ["no-such-token", NOBODY, "small"],
    "club-file": ["no-such-token"],
    "club-feed": ["no-such-token"],
    "phone-sign-out": [NOBODY],
    "caution-seen": ["dust"],
}


# Names of pages whose one argument is a strake.
OF_A_STRAKE = ("sheet-", "widths-", "card-detail", "card-print", "planks-", "edge-dressed", "strake-wood")

# Names of pages whose one argument is an opening.
OF_AN_OPENING = (
    "gaps-record", "gaps-redraw", "gaps-saved", "girths-record", "girths-redraw", "girth-drawing", "gap-check", "faces",
)  # fmt: skip


def link_of(hull):
    from buildlog.actions.links import make_link

    return make_link(hull.build, name="The club", person=hull.person, now=factories.NOON)


def invitation_of(hull):
    from buildlog.actions.people import invite

    told = {"account": hull.person.account, "person": hull.person}
    return invite(hull.build, role="helper", for_name="Somebody", now=factories.NOON, **told)[0]


def correction_of(hull):
    from buildlog.actions.instruments import correct_zero

    epoch = hull.caliper.epochs.get()
    return correct_zero(
        epoch, offset_nm=50_000, u_nm=5_000, reason="crumb", person=hull.person, now=factories.NOON
    )


def table_of(hull):
    return factories.TableImportFactory(build=hull.build, by=hull.person)


def width_of(hull):
    return factories.ReadingFactory(
        build=hull.build, opening=hull.opening, strake=hull.strakes["1"], station=hull.stations[1],
        person=hull.person,
    )  # fmt: skip


def dressing_of(hull):
    from buildlog.actions.dressings import dress_edge

    first, *_rest, last = hull.stations
    told = {"note": "", "person": hull.person, "now": factories.NOON}
    return dress_edge(hull.strakes["1"], from_station=first, to_station=last, **told)


def draft_of(hull):
    from buildlog.actions.plans import copy_revision

    return copy_revision(hull.revision, reason="a draft", person=hull.person, now=factories.NOON)


SHOP_ROWS = {
    "lot-edit": lambda hull: factories.LotFactory(build=hull.build).uuid,
    "purchase-edit": lambda hull: factories.PurchaseFactory(build=hull.build).uuid,
    "supply-edit": lambda hull: factories.SupplyFactory(build=hull.build).uuid,
    "strip-withdraw": lambda hull: factories.TestStripFactory(build=hull.build).uuid,
    "joint-withdraw": lambda hull: factories.TestJointFactory(build=hull.build).uuid,
}


def belt_of(hull) -> list:
    from buildlog.actions.plans import plan_belt

    draft = draft_of(hull)
    return [draft.uuid, plan_belt(draft, hull.opening, name="Bilge", position=1).uuid]


def arguments_of(name, hull) -> list:
    """Return the arguments of a URL for the small hull; rows that a page needs are made here."""
    build = hull.build.uuid
    one = {
        "opening-sums": lambda: [hull.opening.uuid],
        **{name: lambda: [hull.opening.uuid] for name in OF_AN_OPENING},
        **{name: lambda: [hull.strakes["1"].uuid] for name in BUILD_PAGES if name.startswith(OF_A_STRAKE)},
        "revision-edit": lambda: [draft_of(hull).uuid],
        **{f"revision-{deed}": lambda: [draft_of(hull).uuid] for deed in
           ("detail", "propose", "send-back", "throw-away", "put", "renew")},
        **{name: lambda: [draft_of(hull).uuid, hull.strakes["1"].uuid] for name in
           ("plan-width-row", "plan-strake-change", "plan-strake-leave-out", "plan-strake-close")},
        "plan-width-cell": lambda: [draft_of(hull).uuid, hull.strakes["1"].uuid, hull.stations[0].uuid],
        **{name: lambda: [draft_of(hull).uuid, hull.opening.uuid] for name in
           ("plan-width-share", "plan-strake-add", "plan-belt-add", "plan-limits")},
        **{name: lambda: belt_of(hull) for name in ("plan-belt-change", "plan-belt-remove")},
        "card-throw-away": lambda: [factories.CardPrintFactory(plan_strake=hull.strakes["1"].plans.get()).uuid],
        "clock-stop": lambda: [factories.SessionFactory(build=hull.build, clocked=True, opened_at=factories.NOON).uuid],
        "worry-close": lambda: [factories.WorryFactory(session__build=hull.build).uuid],
        "session-edit": lambda: [factories.SessionFactory(build=hull.build).uuid],
        **{name: lambda row=row: [row(hull)] for name, row in SHOP_ROWS.items()},
        "dressing-withdraw": lambda: [dressing_of(hull).uuid],
        "reading-amend": lambda: [width_of(hull).uuid],
        "strake-detail": lambda: [hull.strakes["1"].uuid],
        "photo-serve": lambda: [factories.PhotoFactory(build=hull.build).uuid, "small"],
        **{f"photo-{deed}": lambda: [factories.PhotoFactory(build=hull.build).uuid] for deed in
           ("detail", "take-out", "put-back", "share", "turn", "crop", "as-sent", "marks", "slate")},
        "photo-change-undo": lambda: [factories.PhotoChangeFactory(build=hull.build).uuid],
        **{f"photo-series-{deed}": lambda: [factories.PhotoSeriesFactory(build=hull.build).uuid] for deed in
           ("detail", "name", "next", "add")},
        **{f"link-{deed}": lambda: [link_of(hull).uuid] for deed in ("detail", "pause", "open", "renew", "revoke")},
        "person-detail": lambda: [hull.person.uuid],
        "person-role": lambda: [hull.person.uuid],
        "person-let-go": lambda: [factories.PersonFactory(build=hull.build).uuid],
        "invitation-withdraw": lambda: [invitation_of(hull).uuid],
        **{name: lambda: [hull.caliper.uuid] for name in
           ("instrument-detail", "zero-check", "zero-moved", "zero-correct")},
        "zero-correction-withdraw": lambda: [correction_of(hull).uuid],
        "table-file": lambda: ["plan"],
        **{f"table-{deed}": lambda: [table_of(hull).uuid] for deed in ("detail", "take", "undo", "throw-away")},
        "backup-file": lambda: [NOBODY],
        "build-file": lambda: [NOBODY],
        "first-run-back": lambda: ["build-scale", "-"],
        **{name: lambda: ["port"] for name in ("first-plan-gaps", "first-plan-skip")},
        **{name: lambda: [hull.opening.uuid] for name in ("new-widths", "new-widths-put")},
    }.get(name, list)
    return [build, *one()]
