"""What the counter does on the way of one set: intake, list, estimate, consent, and the customer's own page."""

from typing import Any

from playwright.sync_api import expect

from jobs.models import Job
from tests import builders as make
from tests.browser.hand import Hand
from tests.browser.tour import Tour
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


def take_it_in(tour: Tour) -> None:
    counter = tour.counter
    counter.sign_in("cosima", make.BENCH_PASSWORD)
    counter.follow("Take in a set")
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
    counter.field("Photos").set_input_files(photo)
    counter.fits_the_screen()
    counter.press("Take the set in")
    counter.reads("The set is taken in.")
    tour.job = Job.objects.get()
    the_intake_is_on_paper(tour)


def the_intake_is_on_paper(tour: Tour) -> None:
    counter = tour.counter
    claim = counter.paper("Claim check")
    assert all(text in claim for text in (tour.job.number, "Iwona Brzask", "Merrowby", "4711", "It hums, then fades", "£20.00"))
    assert tour.job.number in counter.paper("Tag")
    counter.reads(FAULT)
    counter.reads("4 × knobs")
    counter.follow("Photos")
    expect(counter.page.locator("main img").first).to_have_js_property("naturalWidth", 80)
    counter.go(tour.at("jobs:job"))


def carry_the_called_for_list(tour: Tour) -> None:
    counter = tour.counter
    counter.follow("Open the change log")
    counter.reads("No positions yet")
    counter.follow("The model's called-for list")
    counter.follow("Read a table in")
    counter.fill("Paste the table", TABLE)
    counter.press("Read it")
    counter.reads("'0.5 mF' can be read in 2 ways")
    counter.tick("read it as 500 nF")
    counter.press("Read it again with these answers")
    counter.reads_not("can be read in 2 ways")
    counter.fits_the_screen()
    counter.press("Keep the good lines")
    counter.press("Take over the new positions")
    counter.go(tour.at("jobs:job"))
    counter.follow("Open the change log")
    counter.reads("C4")


def estimate_and_agree(tour: Tour) -> None:
    counter = tour.counter
    counter.go(tour.at("jobs:job"))
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
    counter.go(tour.at("jobs:job"))
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


def revise_by_telephone(tour: Tour) -> None:
    counter = tour.counter
    counter.go(tour.at("jobs:estimate"))
    counter.press("Draft a new version")
    with counter.within("tr", "Repair, wiring and alignment"):
        counter.follow("Change")
    counter.fill("Time, up to", "5:00")
    counter.press("Change the line")
    counter.press("Freeze it for the customer")
    counter.follow("Write the answer down")
    spoken_consent(counter)


def spoken_consent(counter: Hand) -> None:
    counter.tick("Agreed")
    counter.tick("By telephone")
    counter.press("Write it down")
    counter.reads("Write the telephone number that was called")
    counter.fill("Number called", "020 7946 0777")
    counter.press("Write it down")
    counter.reads("Agreed at a distance, so the customer may cancel within 14 days")
    counter.tick("They were told of the right to cancel")
    counter.press("Write it down")
    counter.reads("by telephone, number 020 7946 0777")
