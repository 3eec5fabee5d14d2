"""What a waiting list is answered: who is signed in, and its own id back in JSON, whatever the page would have been."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from buildlog.models import Plank, Reading
from buildlog.site.waiting import first_problem, sentence_of
from tests.factories import MM, ReadingFactory

ITEM = "7a0b3f1e-6a0f-4c57-9d7c-1f6f5a3c2b10"


@pytest.fixture
def send(hull, client_of, owner):
    """Post as a phone's waiting list does; return the status and the JSON."""

    def post(name, data, *args, account=owner, waited="0", item=ITEM):
        answer = client_of(account).post(
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
    assert Reading.objects.filter(build=hull.build).count() == 1


def test_the_same_name_with_another_figure_is_a_conflict_with_the_sentence(send, hull):
    strake, name = hull.strakes["1"].uuid, str(uuid.uuid4())
    send("widths-record", widths(at0="5.02", **{"at0-uuid": name}), strake)

    status, body = send("widths-record", widths(at0="5.03", **{"at0-uuid": name}), strake)

    assert (status, body["client_uuid"]) == (409, ITEM)
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


@pytest.mark.parametrize("waited", ["5", "-7200", "99999999999", "1e9", "", "999999999"])
def test_a_wait_that_cannot_be_is_taken_for_none(send, hull, waited):
    send("widths-record", widths(at0="5.02"), hull.strakes["1"].uuid, waited=waited)

    reading = Reading.objects.get(build=hull.build)

    assert reading.known_at == reading.received_at


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
