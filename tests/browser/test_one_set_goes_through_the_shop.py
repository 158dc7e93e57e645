"""The main job by clicking and typing: from the counter through bench, consent and proof into the customer's hands."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from playwright.sync_api import Page

from billing.models import Invoice
from inventory.models import Balance, Kind
from jobs.models import Job
from jobs.queries.sheet import sheet_of
from shop.models import Role
from shop.money import show
from tests import builders as make
from tests.browser.driver import DEVICES
from tests.browser.hand import Hand
from tests.conftest import StillClock
from tests.pictures import a_picture

TABLE = """position\trole\tcalled for
C1\tline to chassis\t.0047 250 V
C2\tcoupling\t.01 400 V
C3\treservoir\t47 µF 160 V
C4\tcathode bypass\t0.5 mF
R1\tplate load\t220K 1/2W
V1\tvalve\t12SK7
"""
FAULT = "It hums, then fades, & the dial lamp is out."


@dataclass
class Tour:
    """The three people, each at a device of their own, and what they learn on the way."""

    counter: Hand
    bench: Hand
    clock: StillClock
    guest: Callable[[], Hand]
    job: Job = field(default_factory=Job)
    address: str = ""
    with_scripts: bool = True


def furnish() -> None:
    """What stands in the shop before the customer comes in: terms, people, a bench, a task, and parts in drawers."""
    make.a_profile(parts_tax_bp=2000, labour_tax_bp=2000, address="3 Ferrule Lane", phone="020 7946 0000")
    for name, role in (("cosima", Role.COUNTER), ("benno", Role.BENCH)):
        make.a_staff(name, role, name.title())
    make.a_bench("Window bench")
    make.a_flat_task("Align the IF strip", 1_500)
    stock = (
        ("0.0047 µF 250 V Y2", Kind.CAPACITOR, "ceramic"),
        ("0.0047 µF 1000 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 630 V", Kind.CAPACITOR, "film"),
        ("0.012 µF 630 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 100 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 400 V", Kind.CAPACITOR, "paper"),
        ("47 µF 450 V", Kind.CAPACITOR, "electrolytic"),
        ("220 kΩ 1 W", Kind.RESISTOR, "carbon_film"),
    )
    for tray, (marking, kind, made_of) in enumerate(stock, 1):
        part = make.a_part(marking, kind, made_of, polarised=made_of == "electrolytic")
        make.a_lot(part, count=5, drawer=make.a_drawer("A", str(tray)), unit_cost_milli=40_000)


@pytest.fixture(params=["phone", "desktop", "phone without scripts"])
def tour(request: pytest.FixtureRequest, open_device: Callable[..., Page], still_clock: StillClock, live_server: Any) -> Tour:
    furnish()
    device, _, scripts = request.param.partition(" ")

    def hand() -> Hand:
        return Hand(open_device(DEVICES[device], java_script_enabled=not scripts))

    return Tour(hand(), hand(), still_clock, hand, with_scripts=not scripts)


def test_one_set_goes_through_the_shop(tour: Tour) -> None:
    take_it_in(tour)
    carry_the_called_for_list(tour)
    inspect(tour)
    estimate_and_agree(tour)
    repair(tour)
    reach_the_ceiling_and_revise(tour)
    prove(tour)
    bill_and_hand_over(tour)
    nothing_is_left(tour)


# At the counter


def take_it_in(tour: Tour) -> None:
    counter = tour.counter
    counter.sign_in("cosima", make.BENCH_PASSWORD)
    counter.follow("Take a set in")
    counter.fill("Known already?", "Iwona Brzask")
    if not tour.with_scripts:
        counter.press("Look up")
    counter.reads("Nobody answers to this yet.")
    counter.fill("Known already?", "")
    counter.fill("Name", "Iwona Brzask")
    counter.type(Telephone="020 7946 0777", Address="12 Tallow Row\nHythe")
    counter.fill("E-mail", "iwona@example.org")
    counter.type(Maker="Merrowby", Model="Kestrel 5")
    counter.fill("Serial number", "4711")
    counter.fill("Year made", "1938")
    counter.choose("Supply", "Transformerless (AC/DC)")
    if not tour.with_scripts:
        counter.press("Known here?")
    counter.reads("Caution: ")
    counter.fill("Valve or transistor line-up", "12SA7, 12SK7, 12SQ7, 50L6, 35Z5")
    counter.fill("The fault, in the customer's own words", FAULT)
    counter.tick("Sympathetic restoration")
    counter.fill("Knobs", "4")
    counter.fill("What else, line 1", "cardboard back, torn")
    for permission in ("rewire", "add a fuse", "Old parts wanted back"):
        counter.tick(permission)
    counter.fill("Deposit", "20")
    counter.choose("Paid by", "Cash")
    photo: Any = {"name": "front.png", "mimeType": "image/png", "buffer": a_picture()}
    counter.page.get_by_label("Photos").set_input_files(photo)
    counter.fits_the_screen()
    counter.press("Take the set in")
    counter.reads("The set is taken in.")
    tour.job, tour.address = Job.objects.get(), counter.page.url
    the_intake_is_on_paper(tour)


def the_intake_is_on_paper(tour: Tour) -> None:
    counter = tour.counter
    claim = counter.paper("Claim check")
    assert all(text in claim for text in (tour.job.number, "Iwona Brzask", "Merrowby", "4711", "It hums, then fades", "£20.00"))
    assert tour.job.number in counter.paper("Tag")
    counter.reads(FAULT)
    counter.reads("4 × knobs")
    counter.follow("Photos")
    assert counter.page.locator("main img").first.evaluate("image => image.naturalWidth") == 80
    counter.go(tour.address)


def carry_the_called_for_list(tour: Tour) -> None:
    counter = tour.counter
    counter.follow("Open the change log")
    counter.reads("No positions yet")
    counter.follow("The model's called-for list")
    counter.follow("Read a table in")
    counter.fill("Paste the table", TABLE)
    counter.press("Read it")
    counter.reads("'0.5 mF' can be read in 2 ways")
    counter.tick("read it as 0.5 µF")
    counter.press("Read it again with these answers")
    counter.reads_not("can be read in 2 ways")
    counter.fits_the_screen()
    counter.press("Keep the good lines")
    counter.press("Take over the new positions")
    counter.go(tour.address)
    counter.follow("Open the change log")
    counter.reads("C4")


# At the bench


def position(hand: Hand, tour: Tour, name: str) -> None:
    """To the page of a position, by the sheet."""
    hand.go(tour.address + "log/")
    hand.follow(name)
    assert hand.heading() == name


def write(hand: Hand, part: str, act: str, **fields: str) -> None:
    with hand.within(f"#{part}"):
        for label, text in fields.items():
            hand.fill(label.replace("_", " "), text)
        hand.press(act)


def decide(hand: Hand, decision: str, why: str = "") -> None:
    with hand.within("#decide"):
        hand.choose("Decision", decision)
        hand.fill("Why", why)
        hand.press("Write the decision")


def inspect(tour: Tour) -> None:
    bench = tour.bench
    bench.sign_in("benno", make.BENCH_PASSWORD)
    bench.follow("Benches")
    bench.follow(tour.job.number)
    bench.press("Start inspection")
    bench.choose("Bench", "Window bench")
    bench.press("Put it there")
    enter_a_row(tour) if tour.with_scripts else enter_on_the_page(tour)
    position(bench, tour, "R1")
    write(bench, "measured", "Write the reading", Measured="260K")
    bench.reads("Within tolerance")
    decide(bench, "leave in")
    plan_what_goes_in(tour)
    wiring(tour)


def enter_a_row(tour: Tour) -> None:
    """Found, measured and decision in one go, in the row of the sheet."""
    bench = tour.bench
    bench.go(tour.address + "log/")
    bench.follow("Enter on C4")
    with bench.within("form", "Write on C4"):
        bench.type(Found="0.5 mF")
        bench.press("Write on C4")
    with bench.within("form", "Write on C4"):
        bench.reads("Which did you mean?")
        bench.press("0.5 µF")
    bench.reads("C4 is written.")
    bench.follow("Enter on C4")
    with bench.within("form", "Write on C4"):
        bench.type(Measured="0.48 µF")
        bench.choose("Decision", "leave in")
        bench.press("Write on C4")
    bench.reads("C4 is written.")


def enter_on_the_page(tour: Tour) -> None:
    """Without scripts the same link opens the position's own page, with the same entries one by one."""
    bench = tour.bench
    bench.go(tour.address + "log/")
    bench.follow("Enter on C4")
    write(bench, "found", "Write what was found", Found="0.5 mF")
    with bench.within("#found"):
        bench.press("0.5 µF")
    write(bench, "measured", "Write the reading", Measured="0.48 µF")
    decide(bench, "leave in")


def plan_what_goes_in(tour: Tour) -> None:
    bench = tour.bench
    position(bench, tour, "C2")
    write(bench, "found", "Write what was found", Found=".01 400 V paper, cracked")
    write(bench, "measured", "Write the reading", Measured="2 MΩ")
    bench.reads("Leaky")
    shown = {name: bench.page.locator(f".offer-{name}").count() for name in ("yes", "warn", "no")}
    assert all(shown.values()), shown
    bench.fits_the_screen()
    plan(bench, "0.01 µF 630 V")
    bench.reads("held for this place")
    position(bench, tour, "C1")
    bench.reads("Caution: connected to the line")
    plan(bench, "0.0047 µF 250 V Y2")
    position(bench, tour, "C3")
    plan(bench, "47 µF 450 V")


def offer(hand: Hand, part: str, act: str) -> None:
    with hand.within("li.offer", part):
        hand.press(act)


def plan(hand: Hand, part: str) -> None:
    offer(hand, part, "Plan this one")


def wiring(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.address)
    with bench.within("#note"):
        bench.choose("What it is", "Wiring finding")
        bench.fill("Text", "the tone switch is bridged by a wire")
        bench.press("Write it into the log")
    bench.reads("the tone switch is bridged by a wire")


# The estimate, and the customer at home


def estimate_and_agree(tour: Tour) -> None:
    counter = tour.counter
    counter.go(tour.address)
    counter.follow("Make the estimate")
    counter.press("Draft the estimate")
    counter.open("Add time")
    with counter.within("details", "Time, from"):
        counter.fill("Time, from", "1:00")
        counter.fill("Time, up to", "1:30")
        counter.press("Add time")
    counter.reads("£40.00 to £60.00")
    counter.open("Add a fee")
    with counter.within("details", "What for"):
        counter.choose("Kind", "Fee")
        counter.fill("What for", "Inspection")
        counter.fill("Sum, from", "15.00")
        counter.press("Add a fee, or a part that is not in stock")
    counter.fits_the_screen()
    counter.press("Freeze it for the customer")
    counter.reads("With the customer")
    counter.press("Make a private link")
    answer_at_home(tour, counter.page.get_by_role("textbox", name="The link").input_value())
    counter.go(tour.address)
    counter.reads("Agreed")


def answer_at_home(tour: Tour, link: str) -> None:
    """In a browser that knows nothing of the shop: no sign-in, no cookie."""
    customer = tour.guest()
    customer.go(link)
    customer.reads("Inspection")
    customer.fits_the_screen()
    with customer.within("section.leaf", "Agree to this estimate"):
        customer.press("Agree to this estimate")
    customer.reads("Please tick the box to show that you agree.")
    with customer.within("section.leaf", "Agree to this estimate"):
        customer.fill("Your name", "Iwona Brzask")
        customer.tick("I agree to this estimate")
        customer.press("Agree to this estimate")
    customer.reads_not("Decline it")
    customer.reads("Iwona Brzask")


# The repair


def repair(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.address)
    bench.press("Start work on the bench")
    position(bench, tour, "C2")
    offer(bench, "0.01 µF 630 V", "Fit this one")
    bench.reads("Take out: 0.01 µF 630 V")
    with bench.within("section", "Take out:"):
        bench.fill("Why it comes out", "a lead broke off")
        bench.press("Take it out")
    offer(bench, "0.012 µF 630 V", "Fit this one")
    bench.reads("Take out: 0.012 µF 630 V")
    position(bench, tour, "C1")
    refused_by_the_safety_class(bench)
    offer(bench, "0.0047 µF 250 V Y2", "Fit this one")
    position(bench, tour, "C3")
    offer(bench, "47 µF 450 V", "Fit this one")
    on_hand = {one.lot.part.marking: one.on_hand for one in Balance.objects.select_related("lot__part")}
    assert on_hand["0.01 µF 630 V"] == 5
    assert on_hand["0.012 µF 630 V"] == on_hand["0.0047 µF 250 V Y2"] == on_hand["47 µF 450 V"] == 4
    work(tour)


def refused_by_the_safety_class(bench: Hand) -> None:
    bench.open("won’t do, and why")
    offer(bench, "0.0047 µF 1000 V", "Fit it all the same")
    bench.reads("will not do at C1")


def work(tour: Tour) -> None:
    """Forty minutes by the clock, then a quarter of an hour typed."""
    bench = tour.bench
    bench.go(tour.address)
    bench.follow("Labour")
    bench.press("Start the clock")
    tour.clock.forward(minutes=40)
    bench.go(tour.address)
    bench.reads("40 min so far")
    bench.follow("Stop it")
    with bench.within("#clock"):
        bench.fill("What was done", "capacitors")
        bench.press("Stop the clock and log it")
    with bench.within("#time"):
        bench.fill("Time", "15")
        bench.fill("What was done", "switch unbridged")
        bench.press("Log this time")
    bench.reads("Together, 55 min")


def reach_the_ceiling_and_revise(tour: Tour) -> None:
    bench, counter = tour.bench, tour.counter
    with bench.within("#time"):
        bench.fill("Time", "3:00")
        bench.press("Log this time")
    bench.reads("is agreed (with the shop's allowance)")
    with bench.within("#time"):
        assert bench.field("Time").input_value() == "3:00"
        bench.follow("Revise the estimate")
    assert bench.heading() == "Estimate"
    counter.go(tour.address + "estimate/")
    counter.press("Draft a new version")
    with counter.within("tr", "Repair, wiring and alignment"):
        counter.follow("Change")
    counter.fill("Time, up to", "5:00")
    counter.press("Change the line")
    counter.press("Freeze it for the customer")
    counter.follow("Write the answer down")
    spoken_consent(counter)
    bench.go(tour.address + "labour/")
    with bench.within("#time"):
        bench.fill("Time", "3:00")
        bench.press("Log this time")
    with bench.within("#task"):
        bench.choose("Flat task", "Align the IF strip")
        bench.press("Log this task")
    bench.reads("Together, 3 h 55 min")


def spoken_consent(counter: Hand) -> None:
    counter.tick("Agreed")
    counter.tick("By telephone")
    counter.press("Write it down")
    counter.reads("Write the telephone number that was called")
    counter.fill("Number called", "020 7946 0777")
    counter.press("Write it down")
    counter.reads("by telephone, number 020 7946 0777")


# The proof


def prove(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.address)
    bench.press("Fitting is done: second look")
    bench.follow("Second look")
    bench.reads("nobody has confirmed its polarity since")
    bench.follow("C3")
    bench.open("Confirm the polarity")
    with bench.within("#polarity"):
        bench.press("Confirm the polarity")
    bench.go(tour.address + "second-look/")
    for box in bench.page.locator("input[name=accepted]").all():
        box.check()
    bench.press("Sign the second look")
    bench.reads("The second look at job")
    measure_safety(tour, worst="1.2")
    bench.reads("NOT passed")
    tour.clock.forward(minutes=10)
    measure_safety(tour, worst="0.08")
    bench.reads("The safety check is recorded: passed.")
    assert "Kestrel 5" in bench.paper("Safety sheet")
    soak(tour)


def measure_safety(tour: Tour, worst: str) -> None:
    bench = tour.bench
    bench.go(tour.address + "safety/")
    for number, reading in enumerate(bench.page.locator("fieldset", has_text="across 1.5 kΩ").first.locator("input").all()):
        reading.fill(worst if number == 0 else "0.06")
    bench.page.locator("fieldset", has_text="Resistance from both plug blades").locator("input").first.fill("OL")
    bench.tick("no, straight on the line")
    bench.fits_the_screen()
    bench.press("Record this check")


def soak(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.address + "soak/")
    bench.press("Start the soak")
    tour.clock.forward(hours=4)
    bench.go(tour.address + "soak/")
    bench.tick("without a fault")
    bench.press("End the soak")
    bench.go(tour.address)
    bench.press("Ready to collect")
    bench.reads("Ready to collect")


# The bill and the hand-over


def bill_and_hand_over(tour: Tour) -> None:
    counter = tour.counter
    counter.follow("Today")
    counter.reads(tour.job.number)
    counter.go(tour.address)
    counter.follow("Invoice and payment")
    counter.follow("Issue the invoice")
    counter.reads("Can’t be undone")
    counter.press("Issue the invoice")
    counter.reads("is issued.")
    with counter.within("section.leaf", "What keeps the set here"):
        counter.reads("needed")
    counter.follow("Book a payment")
    counter.choose("By", "Card")
    counter.press("Book it")
    counter.reads("Free to go")
    the_bill_is_the_log(tour)
    counter.go(tour.address)
    counter.follow("Hand the set over")
    counter.fill("Received and signed by", "Iwona Brzask")
    counter.press("Hand it over")
    counter.reads("Received by Iwona Brzask")


def the_bill_is_the_log(tour: Tour) -> None:
    """The parts of the invoice page, of its paper, of the job summary and of the log come to one sum."""
    counter, invoice = tour.counter, Invoice.objects.get()
    parts = show(sheet_of(tour.job).parts_minor, "GBP")
    assert sum(line.amount_minor for line in invoice.lines.filter(kind="part")) == sheet_of(tour.job).parts_minor
    counter.go(tour.address.replace("/jobs/", "/money/jobs/"))
    counter.follow(invoice.number)
    rows = counter.page.locator("tr", has=counter.page.locator(".position")).all_inner_texts()
    shown = [re.findall(r"£(\d+\.\d\d)", row)[-1] for row in rows]
    assert f"£{sum(map(float, shown)):.2f}" == parts
    paper = counter.paper("Paper")
    summary = counter.paper_at(tour.address + "summary/")
    assert all(text in paper for text in (invoice.number, "C1", "C2", "C3", "µF", show(invoice.gross_minor, "GBP")))
    assert parts in paper
    assert parts in summary
    assert all(text in summary for text in ("tone switch is bridged", "kΩ", "C2", "0.012 µF"))


def nothing_is_left(tour: Tour) -> None:
    counter = tour.counter
    counter.go(tour.address)
    counter.follow("Warranty")
    counter.reads("lines are still covered")
    assert "0.012 µF" in counter.paper("Warranty record")
    counter.follow("Benches")
    counter.reads("No set is here")
    counter.follow("Today")
    counter.reads("Nothing stands in the workshop")
