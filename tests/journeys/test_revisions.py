"""A plan of two people: one drafts and proposes, the owner sends it back and says yes; what was hung stands."""

import subprocess
import sys

import pytest
from playwright.sync_api import expect

from tests.endurance.server import ROOT, environment_of
from tests.journeys.visitor import tab_to

pytestmark = pytest.mark.journeys

_SECOND_BUILDER = """
import django
django.setup()
from datetime import UTC, datetime
from django.conf import settings
from django.test import Client
from buildlog.models import Account, Build, Membership, Person

build, now = Build.objects.get(), datetime.now(UTC)
account = Account.objects.create_account("bench nine", "garboard and keel")
Membership.objects.create(build=build, account=account, role="builder", since=now)
Person.objects.create(build=build, account=account, display_name="Hesper")
browser = Client()
browser.force_login(account)
print(browser.cookies[settings.SESSION_COOKIE_NAME].value)
"""
_HANG = """
import django
django.setup()
from datetime import UTC, datetime
from buildlog.actions.planks import hang_strake
from buildlog.models import Build, PlanStrake

build = Build.objects.get()
plan = PlanStrake.objects.get(revision__state="in_force", opening__side="port", label="9")
hang_strake(plan.strake, person=build.people.first(), now=datetime.now(UTC))
"""


def told_by(server, script) -> str:
    """Run a script on the data that is served, as another process would, and return what it says."""
    told = subprocess.run(
        [sys.executable, "-c", script], env=environment_of(server.data), cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=60,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    return told.stdout.strip()


@pytest.fixture
def log(serve):
    """A log of its own: a plan that one test puts in force is not the plan that the next one begins with."""
    return serve(sample=True)


@pytest.fixture
def owner(log, visit):
    return visit(log, "desk", signed_in=True)


@pytest.fixture
def builder(log, visit, laid_down):
    hesper = visit(log, "desk")
    value = told_by(log, _SECOND_BUILDER)
    hesper.context.add_cookies([laid_down.cookie | {"value": value, "url": hesper.address}])
    return hesper


@pytest.fixture
def plan(laid_down):
    return laid_down.pages["plan"]


def start_draft(one, plan):
    """Begin a draft and make port 9 narrower at M, and 8 wider by as much, so that the station closes."""
    one.page.goto(plan)
    one.button("Start a draft").click()
    for label, figure in (("9", "3.80"), ("8", "3.872916")):
        cell = one.page.get_by_label(f"Strake {label} at M", exact=True)
        with one.page.expect_response(lambda answer: "/widths/" in answer.url):
            cell.fill(figure)
            cell.press("Enter")
    return one.page.url


def propose(one, why):
    one.page.get_by_label("Why the plan changes").fill(why)
    one.button("Propose it").click()
    expect(one.page.get_by_text("It waits for the owner's yes.")).to_be_visible()


def to_what_differs(one):
    one.link("What it changes, and propose it").click()
    expect(one.page.get_by_role("heading", name="What differs")).to_be_visible()


def open_the_proposal(one, plan):
    one.page.goto(plan)
    one.link("Hesper proposes another plan").click()


def words_for_who_proposed(one):
    return one.page.locator("textarea[name=words]")


def test_two_people_propose_send_back_propose_again_and_put_in_force(owner, builder, plan):
    edit = start_draft(builder, plan)
    to_what_differs(builder)
    differs = builder.page.get_by_role("region", name="Widths that differ")
    expect(differs).to_contain_text("was 3.84")
    propose(builder, "Nine looked heavy beside ten.")

    open_the_proposal(owner, plan)
    expect(owner.page.get_by_text("Nine looked heavy beside ten.")).to_be_visible()
    words_for_who_proposed(owner).fill("Show it me on the hull first.")
    owner.button("Send it back").click()

    builder.page.reload()
    expect(builder.page.get_by_text("Show it me on the hull first.")).to_be_visible()
    propose(builder, "Seen with a batten from the bow: nine looked heavy.")
    assert builder.page.get_by_role("button", name="Yes, put in force").count() == 0

    open_the_proposal(owner, plan)
    owner.button("Yes, put in force").click()
    expect(owner.page.get_by_role("heading", level=1)).to_contain_text("in force")
    # What was a draft is the plan: its table is typed in no more, and the plan says what it says.
    builder.page.goto(edit)
    expect(builder.page.locator(".message")).to_contain_text("no draft any more")
    assert builder.page.locator("[data-cells]").count() == 0
    row = builder.page.get_by_role("row").filter(has=builder.link("9"))
    expect(row).to_contain_text("3.80")
    expect(row).to_contain_text("was 3.84")


def test_the_loser_of_a_race_sees_both(owner, builder, plan):
    """While the owner writes why it goes back, its author takes it back: the words of the owner are not lost."""
    start_draft(builder, plan)
    to_what_differs(builder)
    propose(builder, "Nine looked heavy beside ten.")
    open_the_proposal(owner, plan)
    words_for_who_proposed(owner).fill("Not at M, there it is narrow.")
    builder.button("Take it back").click()
    expect(builder.button("Propose it")).to_be_visible()

    owner.button("Send it back").click()

    said = owner.page.get_by_role("alert")
    expect(said).to_contain_text("Somebody changed this while you looked.")
    expect(said).to_contain_text("Not at M, there it is narrow.")
    expect(owner.page.get_by_role("heading", level=1)).to_contain_text("Draft of Hesper")
    assert owner.forgive("409") == 1


def test_a_strake_hung_meanwhile_is_named_and_the_rest_goes_on(log, owner, builder, plan):
    start_draft(builder, plan)
    to_what_differs(builder)
    propose(builder, "Nine looked heavy beside ten.")
    told_by(log, _HANG)
    open_the_proposal(owner, plan)

    owner.button("Yes, put in force").click()

    expect(owner.page.get_by_text("Port 9 is cut or hung, and this plan changes it at M.").first).to_be_visible()
    assert owner.forgive("409") == 1
    owner.button("Bring it up to date").click()
    differs = owner.page.get_by_role("region", name="Widths that differ")
    expect(differs.get_by_role("rowheader")).to_have_text(["8"])
    # The table of the draft names it as locked, and nothing can be typed there.
    owner.page.goto(plan)
    owner.link("Hesper drafts another plan").click()
    owner.link("Edit its widths").click()
    expect(owner.page.locator("[data-cells] tr").filter(has_text="hung, locked").first).to_be_visible()
    assert owner.page.get_by_label("Strake 9 at M", exact=True).count() == 0
    assert owner.page.get_by_label("Strake 8 at M", exact=True).count() == 1


def test_keyboard_alone_drafts_proposes_and_puts_in_force(owner, builder, plan):
    keys = builder.page.keyboard
    builder.page.goto(plan)
    tab_to(builder.page, "form[action$='/revisions/new/'] button")
    keys.press("Enter")
    builder.page.wait_for_url("**/edit/**")
    tab_to(builder.page, "[data-cells] input:not([type=hidden])")
    with builder.page.expect_response(lambda answer: "/widths/" in answer.url):
        keys.press("Control+a")
        keys.type("4.70")
        keys.press("Enter")
    keys.press("Control+Home")
    builder.page.reload()
    detail = builder.link("What it changes, and propose it").get_attribute("href")
    tab_to(builder.page, f"a[href='{detail}']")
    keys.press("Enter")
    builder.page.wait_for_url(f"**{detail}")
    tab_to(builder.page, "textarea[name=reason]")
    keys.type("Five was wide at the stern.")
    tab_to(builder.page, "form[action$='/propose/'] button.go")
    keys.press("Enter")
    expect(builder.page.get_by_text("It waits for the owner's yes.")).to_be_visible()

    owner.page.goto(detail)
    tab_to(owner.page, "form[action$='/put-in-force/'] button")
    owner.page.keyboard.press("Enter")

    expect(owner.page.get_by_role("heading", level=1)).to_contain_text("in force")
