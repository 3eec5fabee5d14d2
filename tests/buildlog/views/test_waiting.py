"""What a waiting list is answered: who is signed in, and its own id back in JSON, whatever the page would have been."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from buildlog.actions.planks import unhang_strake
from buildlog.models import Amendment, Build, EdgeDressed, Event, Plank, PlankStep, Reading, Session, TakenItem, Worry
from buildlog.site.taken_items import KEPT_FOR, forget_old_items
from buildlog.site.waiting import first_problem, sentence_of
from tests.factories import MM, ReadingFactory

ITEM = "7a0b3f1e-6a0f-4c57-9d7c-1f6f5a3c2b10"


@pytest.fixture
def phone(client_of, owner):
    """The owner's phone, signed in once, so that what is kept for its next page is shown there."""
    return client_of(owner)


@pytest.fixture
def send(hull, client_of, owner, phone):
    """Post as a phone's waiting list does; return the status and the JSON."""

    def post(name, data, *args, account=owner, waited="0", item=ITEM):
        answer = (phone if account == owner else client_of(account)).post(
            reverse(name, args=[hull.build.uuid, *args]), data,
            headers={"Accept": "application/json", "X-Waiting-Item": item, "X-Waited": waited},
        )  # fmt: skip
        return answer.status_code, answer.json()

    return post


def widths(**at):
    return {"damp": "dry", "stage": "cut"} | at


def test_widths_are_kept_once_and_say_the_items_id_back(send, hull):
    strake, name = hull.strakes["1"].uuid, str(uuid.uuid4())
    data = widths(at0="5.02", **{"at0-uuid": name})

    first = send("widths-record", data, strake)
    again = send("widths-record", data, strake)

    assert [status for status, _body in (first, again)] == [201, 200]
    assert {body["client_uuid"] for _status, body in (first, again)} == {ITEM}
    assert first[1]["next"] == reverse("widths-saved", args=[hull.build.uuid, strake])
    assert first[1]["in_place"] is True
    assert Reading.objects.filter(build=hull.build).count() == 1


def test_the_same_name_with_another_figure_is_a_conflict_with_the_sentence(send, hull):
    strake, name = hull.strakes["1"].uuid, str(uuid.uuid4())
    send("widths-record", widths(at0="5.02", **{"at0-uuid": name}), strake)

    status, body = send("widths-record", widths(at0="5.03", **{"at0-uuid": name}), strake, item=name)

    assert (status, body["client_uuid"]) == (409, name)
    assert body["sentence"] == "This reading was already sent with another figure."


def test_an_odd_figure_is_asked_about_and_the_others_are_kept(send, hull):
    status, body = send("widths-record", widths(at0="9.99", at1="5.00"), hull.strakes["1"].uuid)

    assert (status, body["client_uuid"]) == (422, ITEM)
    assert "9.99" in body["sentence"]
    assert [r.typed for r in Reading.objects.filter(build=hull.build)] == ["5.00"]


def test_a_redirect_becomes_json_that_says_where_it_led(send, hull):
    status, body = send("planks-hang", {}, hull.strakes["1"].uuid)

    assert (status, body) == (200, {"client_uuid": ITEM, "next": reverse("bench", args=[hull.build.uuid])})
    assert Plank.objects.get(strake=hull.strakes["1"]).state == "hung"


def test_a_form_that_comes_back_as_a_page_is_refused_with_what_the_page_says(send, hull):
    session = ReadingFactory(build=hull.build, opening=hull.opening, strake=hull.strakes["1"],
                             station=hull.stations[1], person=hull.person, value_nm=5 * MM)  # fmt: skip
    status, body = send("planks-take-off", {"reason": ""}, session.strake.uuid)

    assert (status, body["client_uuid"]) == (422, ITEM)
    assert body["sentence"]


def test_what_waited_is_kept_under_the_time_it_was_written_down(send, hull):
    send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, waited="7200")

    reading = Reading.objects.get(build=hull.build)

    assert reading.received_at - reading.known_at == timedelta(hours=2)
    assert reading.happened_at == reading.known_at


@pytest.mark.parametrize("waited", ["5", "-7200", "99999999999", "1e9", "", "999999999", "34000000", "5270400"])
def test_a_wait_that_cannot_be_is_taken_for_none(send, hull, waited):
    Build.objects.filter(pk=hull.build.pk).update(created_at=timezone.now() - timedelta(days=1000))
    send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, waited=waited)

    reading = Reading.objects.get(build=hull.build)

    assert reading.known_at == reading.received_at


def test_nothing_is_kept_from_before_its_build_was_made(send, hull):
    """A phone whose clock is put right between writing and sending claims a wait of its own."""
    Build.objects.filter(pk=hull.build.pk).update(created_at=timezone.now() - timedelta(days=3))
    send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, waited="270000")
    send("widths-record", widths(at1="5.01"), hull.strakes["1"].uuid, waited="250000", item=str(uuid.uuid4()))

    waits = [one.received_at - one.known_at for one in Reading.objects.order_by("pk")]

    assert waits == [timedelta(0), timedelta(seconds=250000)]
    assert all(one.happened_at == one.known_at for one in Reading.objects.all())


def test_an_address_without_its_last_slash_takes_nothing(hull, client_of, owner):
    where = reverse("widths-record", args=[hull.build.uuid, hull.strakes["1"].uuid])
    headers = {"Accept": "application/json", "X-Waiting-Item": ITEM}

    answer = client_of(owner).post(where.rstrip("/"), widths(at0="5.02"), headers=headers)

    assert (answer.status_code, answer.json()["client_uuid"]) == (404, ITEM)
    assert answer.json()["sentence"]
    assert not Reading.objects.exists()


def test_a_lapsed_sign_in_is_401_and_says_no_id_back(send, hull):
    status, body = send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, account=None)

    assert (status, "client_uuid" in body) == (401, False)
    assert not Reading.objects.exists()


@pytest.mark.parametrize(("who", "status"), [("reader", 403), ("stranger", 404)])
def test_who_may_not_write_is_told_so_and_nothing_is_kept(send, hull, who, status, request):
    met, _body = send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, account=request.getfixturevalue(who))

    assert met == status
    assert not Reading.objects.exists()


def test_without_an_item_a_form_is_answered_as_ever(hull, client_of, owner):
    answer = client_of(owner).post(reverse("planks-hang", args=[hull.build.uuid, hull.strakes["1"].uuid]))

    assert answer.status_code == 302


def test_an_item_that_is_no_uuid_is_no_item(send, hull, client_of, owner):
    url = reverse("planks-hang", args=[hull.build.uuid, hull.strakes["1"].uuid])

    assert client_of(owner).post(url, headers={"X-Waiting-Item": "<b>"}).status_code == 302


def test_first_problem_reads_the_first_thing_that_is_wrong():
    page = '<p>fine</p><div class="err" id="a"><p><b>At Q:</b> 9.99 <br>is odd.</p></div><p class="err">no</p>'

    assert first_problem(page) == "At Q: 9.99 is odd."
    assert first_problem("<p>nothing</p>") == ""


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"asks": {"at0": "Is it?"}, "refused": {"at1": ["No."]}}, "Is it?"),
        ({"refused": {"at1": ["No."]}}, "No."),
        ({"refused": [{"name": "a.pdf", "sentence": "is a PDF."}]}, "a.pdf is a PDF."),
        ({"message": "Gone."}, "Gone."),
        ({}, ""),
    ],
)
def test_sentence_of_an_answer(body, sentence):
    assert sentence_of(body) == sentence


def test_here_says_who_is_signed_in_with_a_token_and_is_never_stored(owner, client_of):
    answer = client_of(owner).get(reverse("here"))

    assert answer.json()["account"] == str(owner.uuid)
    assert len(answer.json()["token"]) >= 32
    assert answer["Cache-Control"] == "no-store"


def test_here_tells_a_stranger_401_and_leads_nowhere(db, client_of):
    answer = client_of(None).get(reverse("here"))

    assert (answer.status_code, answer.json()) == (401, {"status": 401})


def test_the_page_of_what_waits_has_its_three_deeds(owner, client_of):
    page = client_of(owner).get(reverse("waiting")).content.decode()

    for words in ("Send now", "Save waiting items to a file", "Take them back from a file"):
        assert words in page


def test_a_strake_hung_late_and_unhung_does_not_hang_again_when_it_is_sent_again(send, hull):
    strake = hull.strakes["1"]
    first = send("planks-hang", {"back": "strake"}, strake.uuid)
    unhang_strake(strake, person=hull.person, now=timezone.now(), reason="slip of the thumb")

    again = send("planks-hang", {"back": "strake"}, strake.uuid)

    where = reverse("strake-detail", args=[hull.build.uuid, strake.uuid])
    assert again == first == (200, {"client_uuid": ITEM, "next": where})
    assert Plank.objects.get(strake=strake).state != "hung"
    assert PlankStep.objects.filter(plank__strake=strake, state="hung").count() == 1


def test_the_same_item_with_other_content_is_409_and_does_nothing(send, hull):
    send("planks-cut", {}, hull.strakes["1"].uuid)

    status, body = send("planks-hang", {}, hull.strakes["1"].uuid)

    assert (status, body["client_uuid"]) == (409, ITEM)
    assert body["sentence"] == "The log has this item already, with other content."
    assert body["taken"] is True
    assert Plank.objects.get(strake=hull.strakes["1"]).state == "cut"


def test_an_item_of_another_account_is_409(send, hull, helper):
    send("planks-cut", {}, hull.strakes["1"].uuid)

    status, body = send("planks-cut", {}, hull.strakes["1"].uuid, account=helper)

    assert (status, "taken" in body) == (409, False)


def test_what_was_refused_may_be_sent_again_mended(send, hull):
    strake = hull.strakes["1"]
    send("planks-cut", {}, strake.uuid, item=str(uuid.uuid4()))

    assert send("planks-take-off", {"reason": ""}, strake.uuid)[0] == 422
    assert not TakenItem.objects.filter(client_uuid=ITEM).exists()
    assert send("planks-take-off", {"reason": "split at the garboard"}, strake.uuid)[0] == 200
    assert Plank.objects.get(strake=strake).state == "taken_off"


def test_a_deed_that_broke_halfway_leaves_nothing_and_may_be_sent_again(send, hull, monkeypatch, client_of, owner):
    from buildlog.views import planks

    client = client_of(owner)
    client.raise_request_exception = False
    where = reverse("planks-hang", args=[hull.build.uuid, hull.strakes["1"].uuid])
    headers = {"Accept": "application/json", "X-Waiting-Item": ITEM}
    with monkeypatch.context() as broken:
        broken.setattr(planks, "_back", lambda *_args: 1 / 0)
        assert client.post(where, headers=headers).status_code == 500
    assert not Plank.objects.filter(strake=hull.strakes["1"]).exists()

    assert client.post(where, headers=headers).json()["client_uuid"] == ITEM
    assert Plank.objects.get(strake=hull.strakes["1"]).state == "hung"


def test_a_stranger_and_a_reader_leave_no_line(send, hull, stranger, reader):
    for account in (stranger, reader):
        send("planks-hang", {}, hull.strakes["1"].uuid, account=account)

    assert not TakenItem.objects.exists()


def test_what_was_taken_is_forgotten_after_ninety_days(send, hull):
    send("planks-cut", {}, hull.strakes["1"].uuid)
    taken = TakenItem.objects.get().taken_at

    assert forget_old_items(now=taken + KEPT_FOR) == 0
    assert forget_old_items(now=taken + KEPT_FOR + timedelta(seconds=1)) == 1


def twice(send, *args, **more):
    """Send an item two times; both are answered alike, and the history grows by the first alone."""
    first = send(*args, **more)
    told = Event.objects.count()
    assert first[0] in (200, 201), first
    again = send(*args, **more)
    assert (again[0], again[1]["next"]) == (200, first[1]["next"])
    assert Event.objects.count() == told
    return first


@pytest.mark.parametrize(("deed", "state"), [("spoil", "spoiled"), ("take-off", "taken_off")])
def test_taking_out_is_done_once_at_its_own_time(send, hull, deed, state):
    send("planks-hang", {}, hull.strakes["1"].uuid, item=str(uuid.uuid4()))

    twice(send, f"planks-{deed}", {"reason": "split"}, hull.strakes["1"].uuid, waited="7200")

    step = PlankStep.objects.get(plank__strake=hull.strakes["1"], state=state)
    assert timedelta(hours=1, minutes=59) < step.received_at - step.happened_at < timedelta(hours=2, minutes=1)


def test_hung_by_mistake_is_told_once(send, hull):
    send("planks-hang", {}, hull.strakes["1"].uuid, item=str(uuid.uuid4()))

    twice(send, "planks-unhang", {"reason": "slip"}, hull.strakes["1"].uuid)

    assert Event.objects.filter(verb="hung by mistake").count() == 1


def test_an_edge_is_dressed_once(send, hull):
    first, last = hull.stations[0], hull.stations[-1]
    send("planks-hang", {}, hull.strakes["1"].uuid, item=str(uuid.uuid4()))

    twice(send, "edge-dressed", {"from_station": first.uuid, "to_station": last.uuid}, hull.strakes["1"].uuid)

    assert EdgeDressed.objects.count() == 1


def test_a_reading_is_mended_once(send, hull):
    reading = ReadingFactory(build=hull.build, opening=hull.opening, strake=hull.strakes["1"],
                             station=hull.stations[1], person=hull.person, value_nm=5 * MM)  # fmt: skip
    data = {"act": "replaces", "figure": "5.02", "reason": "misread", "client_uuid": str(uuid.uuid4())}

    twice(send, "reading-amend", data, reading.uuid)

    assert Amendment.objects.count() == 1
    assert Reading.objects.count() == 2


def test_words_are_written_once_though_they_were_closed_since(send, hull):
    data = {"kind": "worry", "text": "The keel side gapes at H.", "strake": "", "operation": ""}
    first = send("writing-new", data)
    worry = Worry.objects.get()
    closing = twice(send, "worry-close", {"reason": "it was glue"}, worry.uuid, item=str(uuid.uuid4()))

    assert send("writing-new", data) == first
    assert Worry.objects.count() == 1
    assert closing[1]["next"] == reverse("worry-list", args=[hull.build.uuid])


def test_a_clock_starts_and_stops_once_at_the_times_it_was_tapped(send, hull):
    twice(send, "clock-start", {}, waited="7200")
    session = Session.objects.get(clocked=True)

    twice(send, "clock-stop", {"at": "now"}, session.uuid, waited="3600", item=str(uuid.uuid4()))

    session.refresh_from_db()
    assert 59 <= session.minutes <= 61


def test_girths_are_kept_once(send, hull):
    name = str(uuid.uuid4())
    data = {"method": "paper_strip", "at0": "24.9", "at0-uuid": name}

    status, body = send("girths-record", data, hull.opening.uuid)

    assert (status, body["client_uuid"], body["in_place"]) == (201, ITEM, False), body
    assert send("girths-record", data, hull.opening.uuid)[0] == 200
    assert Reading.objects.filter(kind="girth").count() == 1


def test_what_widths_sent_late_came_to_stands_on_the_next_page(send, hull, phone):
    data = {"damp": "dry", "stage": "cut", "at0": "5.00"}
    send("widths-record", data, hull.strakes["1"].uuid, waited="900")

    page = phone.get(reverse("log", args=[hull.build.uuid]))

    assert "1 arrived: " in page.content.decode()


def test_what_was_sent_at_once_is_told_by_its_own_page_alone(send, hull, phone):
    send("widths-record", {"damp": "dry", "stage": "cut", "at0": "5.00"}, hull.strakes["1"].uuid)

    assert "arrived" not in phone.get(reverse("log", args=[hull.build.uuid])).content.decode()


def test_what_a_gap_sent_late_came_to_stands_on_the_next_page(send, hull, phone):
    assert send("gaps-record", {"method": "paper_strip", "at0": "24.6"}, hull.opening.uuid, waited="900")[0] == 201

    assert " arrived" in phone.get(reverse("log", args=[hull.build.uuid])).content.decode()
