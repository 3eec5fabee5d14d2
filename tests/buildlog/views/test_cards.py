"""Cut cards: the same on screen and paper, their words, a scanned code that says current or OLD."""

import re

import pytest
from django.urls import reverse

from buildlog.actions import plans
from buildlog.actions.planks import hang_strake, move_strake
from buildlog.measuring import cut_cards
from buildlog.models import CardPrint
from buildlog.sample.story import tell_story
from tests.factories import MM, LotFactory
from tests.hulls import LAID_DOWN


@pytest.fixture
def url(hull):
    return reverse("card-detail", args=[hull.build.uuid, hull.strakes["1"].uuid])


@pytest.fixture
def printed(hull, client_of, owner):
    client_of(owner).post(reverse("card-print", args=[hull.build.uuid, hull.strakes["1"].uuid]))
    return CardPrint.objects.get()


def recut(hull, now, *, label="1", width_mm=4.4):
    """Put a revision in force that narrows one strake at every station."""
    revision = plans.copy_revision(hull.revision, reason="the gap is short", person=hull.person, now=now)
    plan = revision.strakes.get(label=label)
    plan.widths.update(width_nm=round(width_mm * MM))
    return plans.put_in_force(revision, person=hull.person, now=now)


def _scan(card):
    return reverse("card-scan", args=[card.code])


def test_card_tells_widths_forward_first_with_side_face_edge_and_words(hull, client_of, owner, url):
    page = client_of(owner).get(url).content.decode()

    assert re.findall(r'class="card-set fig">([\d.]+)<', page) == ["5.00", "5.00", "5.00"]
    assert re.findall(r'class="card-at">(\w+)<', page) == ["F", "M", "A"]
    assert "Outer face up" in page
    assert "BOW" in page
    assert "thick line: keel side" in page
    # 5 mm at 1:48 is 9.449 in (5 / 25.4 x 48): 9 7/16 to the sixteenth.
    assert '<span class="spoken">9 and 7 sixteenths inches</span>' in page
    assert re.search(r'<b class="card-words">\w+ \w+</b>', page)


@pytest.mark.parametrize(("label", "words"), [("1", "keel side"), ("5", "wale side"), ("3", "keel side")])
def test_widths_are_set_off_from_the_edge_fitted_first(hull, client_of, owner, label, words):
    page = client_of(owner).get(reverse("card-detail", args=[hull.build.uuid, hull.strakes[label].uuid]))

    assert f"thick line: {words}" in page.content.decode()


def test_bench_and_card_bear_the_same_words(hull, client_of, owner, url):
    browser = client_of(owner)
    card = browser.get(url).content.decode()
    bench = browser.get(reverse("bench", args=[hull.build.uuid]) + f"?strake={hull.strakes['1'].uuid}")

    words = re.search(r'<b class="card-words">(\w+ \w+)</b>', card)[1]

    assert f'<span class="button-note">{words}</span>' in bench.content.decode()


def test_print_keeps_the_card_once_and_shows_its_code(hull, client_of, owner, url):
    browser = client_of(owner)
    for _ in range(2):
        answer = browser.post(reverse("card-print", args=[hull.build.uuid, hull.strakes["1"].uuid]))

    card = CardPrint.objects.get()
    page = browser.get(answer.url).content.decode()
    assert answer.url == f"{url}?printed={card.code}"
    assert card.widths == {"F": 5 * MM, "M": 5 * MM, "A": 5 * MM}
    assert card.code in page
    assert 'class="p-qr-sheet"' in page


def test_card_printed_before_a_recut_is_old_and_tells_members_what_changed(
    hull, client_of, owner, printed, clock
):
    recut(hull, clock())

    page = client_of(owner).get(_scan(printed)).content.decode()

    assert "stamp-old" in page
    assert re.findall(r'<td class="num fig">(.*?)</td>', page) == ["5.00", "<b>4.40</b>"] * 3
    assert printed.words in page


def test_old_card_and_new_are_compared_by_their_big_figures(hull, client_of, owner, url, clock, monkeypatch):
    """Both cards take a habit of 0.01 off: the paper said 4.99 and the screen says 4.39, not 5.00 and 4.40."""
    monkeypatch.setattr(cut_cards, "habits_of", lambda opening: {"1": {"F": 0.01, "M": 0.01, "A": 0.01}})
    browser = client_of(owner)
    browser.post(reverse("card-print", args=[hull.build.uuid, hull.strakes["1"].uuid]))
    recut(hull, clock())

    page = browser.get(_scan(CardPrint.objects.get())).content.decode()

    assert re.findall(r'<td class="num fig">(.*?)</td>', page) == ["4.99", "<b>4.39</b>"] * 3
    assert re.findall(r'class="card-set fig">([\d.]+)<', browser.get(url).content.decode()) == ["4.39"] * 3


def test_card_of_a_strake_that_the_recut_left_alone_stays_current(hull, client_of, owner, printed, clock):
    recut(hull, clock(), label="2")

    page = client_of(owner).get(_scan(printed)).content.decode()

    assert "stamp-old" not in page
    assert "current" in page


@pytest.mark.parametrize("is_old", [True, False])
def test_scan_tells_a_stranger_and_anybody_only_current_or_old(
    hull, client_of, stranger, printed, clock, is_old
):
    if is_old:
        recut(hull, clock())
    pages = [client_of(account).get(_scan(printed)) for account in (None, stranger)]

    for page in pages:
        text = page.content.decode()
        assert page.status_code == 200
        assert ("stamp-old" in text) == is_old
        for secret in (hull.build.name, "4.40", "5.00", printed.words, "14 March", str(hull.build.uuid)):
            assert secret not in text
    assert "Sign in to see more" in pages[0].content.decode()


def test_scan_of_a_hung_strake_says_so_to_members(hull, client_of, owner, printed, clock):
    hang_strake(hull.strakes["1"], person=hull.person, now=clock())

    assert "hangs already" in client_of(owner).get(_scan(printed)).content.decode()


def test_wrong_codes_are_limited(client_of, clock):
    browser = client_of(None)

    statuses = [browser.get(reverse("card-scan", args=[f"WRONG{n:05d}"])).status_code for n in range(32)]

    assert statuses[:30] == [404] * 30
    assert statuses[30:] == [429] * 2


def test_old_card_thrown_away_is_no_longer_warned_of(hull, client_of, owner, printed, clock):
    recut(hull, clock())
    browser = client_of(owner)
    bench = reverse("bench", args=[hull.build.uuid]) + f"?strake={hull.strakes['1'].uuid}"
    before = browser.get(bench).content.decode()

    browser.post(reverse("card-throw-away", args=[hull.build.uuid, printed.uuid]))

    assert "Printed card 1 is" in before
    assert "Printed card 1 is" not in browser.get(bench).content.decode()


def test_card_of_another_build_is_not_found(hull, client_of, stranger, printed):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(stranger, name="Other")

    answer = client_of(stranger).post(reverse("card-throw-away", args=[other.build.uuid, printed.uuid]))

    assert answer.status_code == 404
    printed.refresh_from_db()
    assert printed.thrown_away_at is None


def test_strake_that_the_plan_leaves_out_has_no_card(hull, client_of, owner, url, clock):
    revision = plans.copy_revision(hull.revision, reason="one fewer", person=hull.person, now=clock())
    revision.strakes.get(label="1").delete()
    plans.put_in_force(revision, person=hull.person, now=clock())

    browser = client_of(owner)

    assert "The plan in force leaves this strake out" in browser.get(url).content.decode()
    assert browser.post(url + "print/").status_code == 404


def test_card_says_how_thick_and_where_the_butts_are_cut_along_the_frame(client_of, owner):
    build = tell_story(owner)
    strake = build.openings.get(side="port").strakes.get(plans__label="9", plans__revision__number=2)

    page = client_of(owner).get(reverse("card-detail", args=[build.uuid, strake.uuid])).content.decode()

    told = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    butts = "Butts midway between H and D, midway between 4 and 8"
    assert f"1.32 thick. {butts}, cut along the frame line, not square to the edge." in told


def test_card_names_the_wood_its_plank_was_cut_from(client_of, hull, owner):
    lot = LotFactory(build=hull.build, name="Lot C")
    move_strake(hull.strakes["2"], "cut", person=hull.person, now=LAID_DOWN, lot=lot)

    page = client_of(owner).get(reverse("card-detail", args=[hull.build.uuid, hull.strakes["2"].uuid])).content.decode()

    assert "Wood: Lot C." in " ".join(page.split())
