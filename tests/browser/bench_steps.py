"""What the bench does on the way of one set: inspection, fitting, labour, second look, safety check, soak."""

from inventory.models import Balance
from tests import builders as make
from tests.browser.hand import Hand
from tests.browser.tour import Tour


def position(hand: Hand, tour: Tour, name: str) -> None:
    """To the page of a position, by the sheet."""
    hand.go(tour.at("jobs:change_log"))
    with hand.within("[id^=p-]", name):  # the list of what to measure first leads elsewhere by the same names
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
    bench.go(tour.at("jobs:change_log"))
    bench.follow("Enter on C4")
    with bench.within("form", "Write on C4"):
        bench.type(Found="0.5 mF")
        bench.press("Write on C4")
    with bench.within("form", "Write on C4"):
        bench.reads("Which did you mean?")
        bench.press("500 nF")
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
    bench.go(tour.at("jobs:change_log"))
    bench.follow("Enter on C4")
    write(bench, "found", "Write what was found", Found="0.5 mF")
    with bench.within("#found"):
        bench.press("500 nF")
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
    bench.go(tour.at("jobs:job"))
    with bench.within("#note"):
        bench.choose("What it is", "Wiring finding")
        bench.fill("Text", "the tone switch is bridged by a wire")
        bench.press("Write it into the log")
    bench.reads("the tone switch is bridged by a wire")


def repair(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.at("jobs:job"))
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
    bench.go(tour.at("jobs:job"))
    bench.follow("Labour")
    bench.press("Start the clock")
    tour.clock.forward(minutes=40)
    bench.go(tour.at("jobs:job"))
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


def stop_at_the_ceiling(tour: Tour) -> None:
    """Three hours more than the customer agreed to: refused, with what was typed kept and one step to a revision."""
    bench = tour.bench
    with bench.within("#time"):
        bench.fill("Time", "3:00")
        bench.press("Log this time")
    bench.reads("is agreed (with the shop's allowance)")
    with bench.within("#time"):
        assert bench.field("Time").input_value() == "3:00"
        bench.follow("Revise the estimate")
    assert bench.heading() == "Estimate"


def finish_the_work(tour: Tour) -> None:
    """With the newer consent the same three hours are taken, and a flat task."""
    bench = tour.bench
    bench.go(tour.at("jobs:labour"))
    with bench.within("#time"):
        bench.fill("Time", "3:00")
        bench.press("Log this time")
    with bench.within("#task"):
        bench.choose("Flat task", "Align the IF strip, £15.00")
        bench.press("Log this task")
    bench.reads("Together, 3 h 55 min")


def prove(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.at("jobs:job"))
    bench.press("Fitting is done: second look")
    bench.follow("Second look")
    bench.reads("nobody has confirmed its polarity since")
    bench.follow("C3")
    bench.open("Confirm the polarity")
    with bench.within("#polarity"):
        bench.press("Confirm the polarity")
    bench.go(tour.at("jobs:second_look"))
    for box in bench.page.locator("input[name=accepted]").all():
        bench.check(box)
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
    bench.go(tour.at("jobs:safety"))
    for number, reading in enumerate(bench.page.locator("fieldset", has_text="across 1.5 kΩ").first.locator("input").all()):
        bench.write(reading, worst if number == 0 else "0.06")
    bench.write(bench.page.locator("fieldset", has_text="Resistance from both plug blades").locator("input").first, "OL")
    bench.tick("no, straight on the line")
    bench.fits_the_screen()
    bench.press("Record this check")


def soak(tour: Tour) -> None:
    bench = tour.bench
    bench.go(tour.at("jobs:soak"))
    bench.press("Start the soak")
    tour.clock.forward(hours=4)
    bench.go(tour.at("jobs:soak"))
    bench.tick("without a fault")
    bench.press("End the soak")
    bench.go(tour.at("jobs:job"))
    bench.press("Ready to collect")
    bench.reads("Ready to collect")
