"""The pages that are photographed, by name: every page that a person meets."""

from django.urls import reverse

from buildlog.actions.links import make_link, token_of
from buildlog.actions.revisions import begin_draft
from buildlog.models import Build, PlanStrake


def pages_of(build: Build, now) -> dict[str, str]:
    """Return the address of each page of the sample; public ones begin with ``public-``."""

    def at(name, *more):
        return reverse(name, args=[build.uuid, *more])

    port = build.openings.get(side="port")
    plans = PlanStrake.objects.filter(opening=port, revision__state="in_force").select_related("strake")
    strake = {plan.label: plan.strake.uuid for plan in plans}
    person = build.people.first()
    link = build.links.first() or make_link(build, name="The club", person=person, now=now)
    caliper = build.instruments.get(name="Caliper A")
    session = build.sessions.first()
    reading = build.readings.filter(kind="width").first()
    draft = begin_draft(build, person=person, now=now)
    bilge = draft.belts.filter(opening=port).first()
    photo = build.photos.filter(taken_out_at=None).order_by("pk").first()
    photographs = {
        "photo": at("photo-detail", photo.uuid), "photo-cut": at("photo-crop", photo.uuid),
        "photo-marks": at("photo-marks", photo.uuid), "photo-slate": at("photo-slate", photo.uuid),
    } if photo else {}  # fmt: skip
    return photographs | {
        "photos": at("photo-list"), "photo-clock": at("photo-clock"), "series": at("photo-series-list"),
        "series-new": at("photo-series-new"),
        "bench": at("bench"), "widths": at("widths-record", strake["9"]), "card": at("card-detail", strake["9"]),
        "sheets": at("sheet-list", strake["9"]), "card-one": at("card-detail", strake["9"]) + "?show=one",
        "gaps": at("gaps-record", port.uuid), "photo-note": at("photo-note"), "hull": at("hull"),
        "sums": at("opening-sums", port.uuid), "strake": at("strake-detail", strake["11"]), "plan": at("plan"),
        "revisions": at("revision-list"), "revision": at("revision-detail", build.revisions.get(number=2).uuid),
        "draft": at("revision-detail", draft.uuid), "draft-widths": at("revision-edit", draft.uuid),
        "draft-thickness": at("revision-edit", draft.uuid) + "?what=thickness",
        "draft-full-size": at("revision-edit", draft.uuid) + "?size=full",
        "draft-share": at("plan-width-share", draft.uuid, port.uuid),
        "draft-limits": at("plan-limits", draft.uuid, port.uuid),
        "draft-belt-new": at("plan-belt-add", draft.uuid, port.uuid),
        "draft-belt": at("plan-belt-change", draft.uuid, bilge.uuid),
        "draft-strake": at("plan-strake-change", draft.uuid, strake["9"]),
        "draft-strake-new": at("plan-strake-add", draft.uuid, port.uuid),
        "write-down": at("writing-new"), "worries": at("worry-list"), "left-off": at("where-i-left-off"),
        "hand-over": at("hand-over"), "hours": at("hours"),
        "timers": at("timer-list"), "waiting": reverse("waiting"), "offline": reverse("offline"),
        "printers": at("printer-list"), "printer-bars": at("printer-bars"),
        "shop": at("shop"), "lot-new": at("lot-new"), "purchase-new": at("purchase-new"), "joint-new": at("joint-new"),
        "strip-new": at("strip-new"), "supply-new": at("supply-new"), "cautions": reverse("caution-list"),
        "edge-dressed": at("edge-dressed", strake["4"]),
        "girths": at("girth-list"), "girths-entry": at("girths-record", port.uuid), "hull-sides": at("sides"),
        "girth-drawing": at("girth-drawing", port.uuid), "gap-check": at("gap-check", port.uuid),
        "faces": at("faces", port.uuid),
        "drift": at("drift-list"), "widths-saved": at("widths-saved", reading.strake.uuid),
        "gaps-saved": at("gaps-saved", port.uuid),
        "new-widths": at("new-widths", port.uuid), "log": at("log"), "session": at("session-edit", session.uuid),
        "amend": at("reading-amend", reading.uuid), "shed": at("shed"), "instruments": at("instrument-list"),
        "instrument": at("instrument-detail", caliper.uuid), "people": at("person-list"),
        "person": at("person-detail", person.uuid), "invite": at("invitation-new"), "links": at("link-list"),
        "link": at("link-detail", link.uuid), "link-new": at("link-new"), "shares": at("share-list"),
        "backups": at("backup-list"), "tables": at("table-list"),
        "build-files": at("build-file-list"), "take-in": reverse("build-file-take"),
        "name": at("build-name"), "scale": at("build-scale"), "sides": at("build-sides"),
        "station-count": at("station-count"), "station-names": at("station-names"),
        "builds": reverse("build-list"), "build-new": reverse("build-new"), "account": reverse("account-detail"),
        "password": reverse("account-password"), "phones": reverse("phone-list"), "words": reverse("word-list"),
        "public-club": reverse("club", args=[token_of(link)]), "public-sign-in": reverse("sign-in"),
        "public-missing": "/no-such-page/",
    }  # fmt: skip
