"""The shop: wood, purchases, supplies, trials; private, edited by version, trials taken back."""

from datetime import date

import pytest
from django.urls import reverse

from buildlog.measuring.shop import seam_of_shop
from buildlog.models import CautionSeen, Event, Lot, Purchase, Supply, TestJoint, TestStrip
from buildlog.templatetags.cautions import BY_KEY
from tests.factories import LotFactory, PurchaseFactory, SupplyFactory
from tests.hulls import LAID_DOWN, hang


@pytest.fixture
def at(hull):
    return lambda name, *args: reverse(name, args=[hull.build.uuid, *args])


def test_lot_names_the_strakes_cut_from_it(hull, owner, client_of, at):
    browser = client_of(owner)
    browser.post(at("lot-new"), {"name": "A", "species": "black cherry", "thickness": "1.6", "cut": "quarter"})
    lot = Lot.objects.get()
    hang(hull, "1", LAID_DOWN)

    browser.post(at("strake-wood", hull.strakes["1"].uuid), {"lot": lot.pk})

    page = browser.get(at("shop")).content.decode()
    assert lot.thickness_nm == 1_600_000
    assert "quarter sawn, 1.60 mm" in page
    assert at("strake-detail", hull.strakes["1"].uuid) in page


def test_wood_of_a_strake_not_cut_is_said_to_be_nowhere(hull, owner, client_of, at):
    lot = LotFactory(build=hull.build)

    page = client_of(owner).post(at("strake-wood", hull.strakes["1"].uuid), {"lot": lot.pk}, follow=True)

    assert "No plank of this strake is in place." in page.content.decode()


def test_second_lot_of_one_name_is_refused_by_its_field(hull, owner, client_of, at):
    LotFactory(build=hull.build, name="A")

    page = client_of(owner).post(at("lot-new"), {"name": "A", "species": "apple"}).content.decode()

    assert "There is one of this name already." in page
    assert 'value="apple"' in page
    assert Lot.objects.count() == 1


def test_total_agrees_with_the_receipts_in_each_currency(hull, owner, client_of, at):
    browser = client_of(owner)
    for price, currency in (("42.50", "eur"), ("7,05", "EUR"), ("", "EUR"), ("3", "GBP")):
        told = {"bought_on": "2026-02-14", "what": "boards", "price": price, "currency": currency}
        assert browser.post(at("purchase-new"), told).status_code == 302

    page = browser.get(at("shop")).content.decode()

    # By hand: 42.50 + 7.05 = 49.55.
    assert "49.55 EUR" in page
    assert "3.00 GBP" in page


@pytest.mark.parametrize("price", ["twelve", "1.234", "-3", "nan", "1e9", "12.5.0"])
def test_price_that_is_none_is_named_and_kept(hull, owner, client_of, at, price):
    told = {"bought_on": "2026-02-14", "what": "boards", "price": price}

    page = client_of(owner).post(at("purchase-new"), told).content.decode()

    assert "Price: write it as 12.50." in page
    assert f'value="{price}"' in page
    assert not Purchase.objects.exists()


def test_prices_are_for_owner_and_builder_only(hull, owner, helper, builder, reader, client_of, at):
    PurchaseFactory(build=hull.build, what="three boards", price_cents=4250)

    seen = {who: client_of(who).get(at("shop")) for who in (owner, builder, helper, reader)}

    assert "42.50" in seen[owner].content.decode()
    assert "42.50" in seen[builder].content.decode()
    assert "42.50" not in seen[helper].content.decode()
    assert seen[reader].status_code == 403


def test_supply_open_for_thirteen_months_says_so(hull, owner, client_of, at, clock):
    SupplyFactory(build=hull.build, name="white glue", opened_on=date(2025, 2, 10))
    assert (clock.moment.year, clock.moment.month) == (2026, 3)

    page = client_of(owner).get(at("shop")).content.decode()

    assert "opened 13 months ago" in page


def test_two_people_editing_one_supply_both_see_both(hull, owner, builder, client_of, at):
    row = SupplyFactory(build=hull.build, name="glue")
    where = at("supply-edit", row.uuid)
    client_of(builder).post(where, {"name": "glue", "note": "the new bottle", "version": 1})

    page = client_of(owner).post(where, {"name": "glue", "note": "nearly empty", "version": 1})

    assert page.status_code == 409
    assert "the new bottle" in page.content.decode()
    assert 'value="nearly empty"' in page.content.decode()
    assert Supply.objects.get().note == "the new bottle"
    client_of(owner).post(where, {"name": "glue", "note": "nearly empty", "version": 2})
    assert Supply.objects.get().note == "nearly empty"
    assert Event.objects.filter(verb="edited", noun="supply").count() == 2


def test_trial_joint_tells_the_seam_and_is_taken_back(hull, owner, client_of, at):
    browser = client_of(owner)
    told = {"strips": "5.00 5.00 5.00 5.00 5.00", "across": "25.06", "instrument": hull.caliper.pk}
    browser.post(at("joint-new"), told)

    page = browser.get(at("shop")).content.decode()
    # By hand: 0.06 / 4 seams; 0.02 x sqrt(6) / 4.
    assert "takes 0.015 mm, give or take 0.012" in page
    assert seam_of_shop(hull.build).seam_mm == pytest.approx(0.015)

    browser.post(at("joint-withdraw", TestJoint.objects.get().uuid))
    assert seam_of_shop(hull.build) is None


@pytest.mark.parametrize(("strips", "across", "says"), [
    ("5.00", "5.00", "between 2 and 20 widths"), ("5.00 five", "10", "Strip 2"),
    ("5.00 5.00", "9.00", "less than its strips together"), ("", "9", "nothing was typed"),
])  # fmt: skip
def test_joint_that_cannot_be_is_named_and_kept(hull, owner, client_of, at, strips, across, says):
    page = client_of(owner).post(at("joint-new"), {"strips": strips, "across": across}).content.decode()

    assert says in page
    assert f'value="{across}"' in page
    assert not TestJoint.objects.exists()


def test_strip_is_kept_with_its_radius(hull, owner, client_of, at):
    browser = client_of(owner)
    told = {"species": "pear", "width": "5", "thickness": "1.5", "radius": "60", "heat": "dry iron"}
    browser.post(at("strip-new"), told)

    assert TestStrip.objects.get().radius_nm == 60_000_000
    assert "took a radius of" in browser.get(at("shop")).content.decode()


def test_caution_is_met_once_and_never_in_the_way(hull, owner, client_of, at):
    browser = client_of(owner)
    first = browser.get(at("joint-new")).content.decode()
    back = browser.post(reverse("caution-seen", args=["glue"]), {"back": at("joint-new")})

    assert "Cyanoacrylate" in first
    assert back["Location"] == at("joint-new")
    assert "Cyanoacrylate" not in browser.get(at("joint-new")).content.decode()
    assert "Cyanoacrylate" in browser.get(reverse("caution-list")).content.decode()


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)", ""])
def test_caution_read_leads_nowhere_else(owner, client_of, back):
    answer = client_of(owner).post(reverse("caution-seen", args=["dust"]), {"back": back})

    assert answer["Location"] == reverse("caution-list")


def test_every_caution_has_its_words_and_its_source():
    assert tuple(BY_KEY) == CautionSeen.KEYS
    assert all(caution.line and caution.source for caution in BY_KEY.values())


def test_a_caution_of_no_name_is_not_found(owner, client_of):
    assert client_of(owner).post(reverse("caution-seen", args=["dragons"])).status_code == 404
