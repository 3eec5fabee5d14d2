"""The Shed: people, instruments, phones, backups."""

import pytest
from django.urls import reverse

from buildlog.actions.accounts import remember_phone
from buildlog.models import Job, Membership, OneTimeLink, Person, SignedInPhone, ZeroCorrection
from buildlog.sample.story import tell_story


@pytest.fixture
def browser(owner, client_of):
    return client_of(owner)


def at(name, hull, *more):
    return reverse(name, args=[hull.build.uuid, *more])


def test_shed_shows_a_reader_no_people_and_no_links(hull, reader, client_of):
    body = client_of(reader).get(at("shed", hull)).content.decode()

    assert "Caliper" in body
    for private in ("Share links", "Backups", at("person-list", hull)):
        assert private not in body


def test_an_invitation_joins_with_its_role(hull, browser, stranger, client_of):
    body = browser.post(at("invitation-new", hull), {"for_name": "Marit", "role": "helper"}).content.decode()
    token = body.split("/once/")[1].split("/")[0]

    client_of(stranger).post(reverse("one-time-link", args=[token]))

    assert Membership.objects.get(build=hull.build, account=stranger).role == "helper"
    assert Person.objects.filter(build=hull.build, account=stranger).exists()


def test_a_withdrawn_invitation_opens_nothing(hull, browser, stranger, client_of):
    body = browser.post(at("invitation-new", hull), {"for_name": "Marit", "role": "helper"}).content.decode()
    token = body.split("/once/")[1].split("/")[0]
    browser.post(at("invitation-withdraw", hull, OneTimeLink.objects.get().uuid))

    answer = client_of(stranger).post(reverse("one-time-link", args=[token]))

    assert answer.status_code == 404
    assert not Membership.objects.filter(account=stranger).exists()


def test_a_role_change_takes_effect_on_the_next_request(hull, browser, helper, client_of):
    person = Person.objects.get(account=helper)
    theirs = client_of(helper)
    url = at("instrument-new", hull)
    assert theirs.get(url).status_code == 200

    browser.post(at("person-role", hull, person.uuid), {"role": "reader"})

    assert theirs.get(url).status_code == 403


def test_the_last_owner_stays(hull, browser):
    browser.post(at("person-role", hull, hull.person.uuid), {"role": "reader"})
    browser.post(at("person-let-go", hull, hull.person.uuid))

    assert Membership.objects.get(account=hull.person.account).role == "owner"


def test_let_go_ends_the_membership_and_keeps_the_name(hull, browser, helper):
    person = Person.objects.get(account=helper)

    browser.post(at("person-let-go", hull, person.uuid))

    assert not Membership.objects.filter(account=helper).exists()
    assert Person.objects.filter(pk=person.pk).exists()


def test_a_name_without_an_account_can_be_added(hull, browser):
    browser.post(at("person-new", hull), {"display_name": "Marit", "pen_name": "M."})

    assert Person.objects.get(display_name="Marit").account is None


def test_an_instrument_of_a_name_taken_is_refused_beside_the_name(hull, browser):
    typed = {"name": "Caliper", "kind": "caliper", "reading_unit": "mm"}

    body = browser.post(at("instrument-new", hull), typed).content.decode()

    assert "already in the register" in body
    assert 'value="Caliper"' in body


def test_a_zero_check_that_is_off_offers_a_correction_that_can_be_withdrawn(hull, browser):
    detail = at("instrument-detail", hull, hull.caliper.uuid)
    browser.post(at("zero-moved", hull, hull.caliper.uuid), {"note": "dropped"})
    assert "its zero may have moved" in browser.get(detail).content.decode()

    browser.post(at("zero-check", hull, hull.caliper.uuid), {"offset": "0,08", "sign": "over"})
    assert "it reads 0.08 shut" in browser.get(detail).content.decode()
    browser.post(at("zero-correct", hull, hull.caliper.uuid), {"reason": "crumb on the jaw"})
    assert "corrected by 0.08" in browser.get(detail).content.decode()

    correction = ZeroCorrection.objects.get()
    browser.post(at("zero-correction-withdraw", hull, correction.uuid))
    correction.refresh_from_db()
    assert correction.withdrawn_at is not None
    assert correction.offset_nm == 80_000


@pytest.mark.parametrize("kind", ["strip", "tape", "dividers", "rule"])
def test_what_has_no_jaws_is_not_asked_to_shut_them(hull, browser, kind):
    hull.strip.kind = kind
    hull.strip.save()

    pages = {name: browser.get(at(name, hull)).content.decode() for name in ("shed", "instrument-list")}
    page = browser.get(at("instrument-detail", hull, hull.strip.uuid)).content.decode()

    assert all(body.count("zero not checked yet") == 1 for body in pages.values())
    assert "no zero to check" in page
    assert "Wipe the jaws" not in page
    assert "Zero may have moved" not in page
    assert "Wipe the jaws" in browser.get(at("instrument-detail", hull, hull.caliper.uuid)).content.decode()


@pytest.mark.parametrize("typed", ["", "abc", "-1", "NaN", "9", "1e3", "٣"])
def test_a_zero_check_told_wrongly_names_the_field_and_keeps_it(hull, browser, typed):
    body = browser.post(at("zero-check", hull, hull.caliper.uuid), {"offset": typed, "sign": "over"}).content.decode()

    assert "eading, jaws shut" in body
    assert f'value="{typed}"' in body or not typed
    assert hull.caliper.events.filter(kind="zero_check").count() == 0


def test_a_phone_is_signed_out_from_the_list(owner, client_of, clock):
    here, lost = client_of(owner), client_of(owner)
    lost.get("/phones/")
    remember_phone(owner, lost.session.session_key, "Android, Chrome", now=clock())
    phone = SignedInPhone.objects.get()

    here.post(reverse("phone-sign-out", args=[phone.uuid]))

    assert lost.get("/phones/").status_code == 302
    assert here.get("/phones/").status_code == 200


def test_a_phone_of_somebody_else_is_not_found(owner, stranger, client_of, clock):
    browser = client_of(stranger)
    browser.get("/phones/")
    phone = remember_phone(stranger, browser.session.session_key, "Tablet", now=clock())

    answer = client_of(owner).post(reverse("phone-sign-out", args=[phone.uuid]))

    assert answer.status_code == 404
    assert SignedInPhone.objects.filter(pk=phone.pk).exists()


def test_a_backup_is_asked_for_once(hull, browser):
    browser.post(at("backup-start", hull))
    browser.post(at("backup-start", hull))

    assert Job.objects.filter(kind="backup").count() == 1


def test_a_backup_holds_every_build_so_it_is_for_whoever_owns_them_all(hull, browser, stranger):
    from tests.hulls import lay_down_hull

    assert browser.get(at("backup-list", hull)).status_code == 200

    lay_down_hull(stranger, name="Another hull")

    assert browser.get(at("backup-list", hull)).status_code == 404


def test_a_caliper_set_to_nought_after_a_correction_is_sound_again(hull, browser):
    from buildlog.models import Epoch
    from buildlog.queries.instruments import state_of

    for offset in ("0.08", "0.08"):
        browser.post(at("zero-check", hull, hull.caliper.uuid), {"offset": offset, "sign": "over"})
    browser.post(at("zero-correct", hull, hull.caliper.uuid), {"reason": "crumb on the jaw"})
    browser.post(at("zero-check", hull, hull.caliper.uuid), {"offset": "0.08", "sign": "over"})
    assert Epoch.objects.filter(instrument=hull.caliper).count() == 1

    browser.post(at("zero-check", hull, hull.caliper.uuid), {"offset": "0", "sign": "over"})

    assert Epoch.objects.filter(instrument=hull.caliper).count() == 2
    assert state_of(hull.caliper).state == "sound"


def test_a_build_of_photographs_has_no_tools_in_its_shed(hull, browser):
    hull.build.photographs_only = True
    hull.build.save()

    body = browser.get(at("shed", hull)).content.decode()

    assert "Caliper" not in body
    assert "Stations" not in body


def test_a_backup_under_way_is_looked_at_again_by_itself(hull, browser):
    assert "every 2s" not in browser.get(at("backup-list", hull)).content.decode()
    browser.post(at("backup-start", hull))

    assert "every 2s" in browser.get(at("backup-list", hull)).content.decode()


def test_instrument_page_draws_its_zero_over_time(client_of, owner):
    """The sample's caliper may have moved on 21 June 2025 and was found 0.08 off on 31 January 2026."""
    build = tell_story(owner)
    caliper = build.instruments.get(name="Caliper A")

    page = client_of(owner).get(reverse("instrument-detail", args=[build.uuid, caliper.uuid])).content.decode()

    assert "Caliper A: 2 zero checks; in doubt from 21 June 2025 to 31 January 2026." in page
    assert page.count(">+0.08<") == 3
