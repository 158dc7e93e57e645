"""What happens out of the ordinary on some of the forty jobs: at inspection, at fitting, with labour."""

from collections.abc import Callable

from inventory.models import Balance
from jobs.models import Decision, LabourEntry, Position, Step
from jobs.queries.sheet import position_state
from jobs.services import log, reforming
from jobs.services.labour import Work, log_work, start_clock, stop_clock
from shop.demo.hand import Hand

OVERRIDE_REASON = "used behind the owner's isolating transformer only, labelled so; no Y class part has this value; R8 kept"


def wrong_value(hand: Hand) -> None:
    """An earlier repairer fitted a tenth of the value."""
    position = hand.position("C5")
    log.record_found(position, ".001 400 V", hand.author())
    hand.plan(position)


def correction(hand: Hand) -> None:
    """A slip of the pen, put right by an entry of its own."""
    position = hand.position("C6")
    slip = log.record_found(position, "0.01 µF 350 V", hand.author())
    log.record_found(position, position.called, hand.author(), corrects=slip)


def wiring(hand: Hand) -> None:
    log.record_wiring(hand.job, "one side of the dial lamp is taken from the wrong heater tag; put back as drawn", hand.author())


def override(hand: Hand) -> None:
    """A part that the rules refuse, with a reason and a second person."""
    position = hand.position("C2")
    stock = Balance.objects.select_related("lot", "drawer").filter(lot__part__marking="0.1 µF 275 V X2", on_hand__gt=0)
    balance = stock.order_by("pk")[0]
    fitting = log.Fit(balance.lot, balance.drawer, override_reason=OVERRIDE_REASON, override_by=hand.second)
    log.fit(position, fitting, hand.author())


def take_out_back(hand: Hand) -> None:
    _take_out(hand, "lead too short for this place; back in its drawer", scrap=False)


def take_out_scrap(hand: Hand) -> None:
    _take_out(hand, "wire broke off at the body while it was bent", scrap=True)


def _take_out(hand: Hand, reason: str, *, scrap: bool) -> None:
    """Fit C5, take it out again, and fit another one."""
    position = _to_fit(hand, "C5")
    entry = hand.fit(position_state(position))
    log.take_out(entry, reason, hand.author(), scrap=scrap)
    hand.fit(position_state(position))


def _to_fit(hand: Hand, designator: str) -> Position:
    position = hand.position(designator)
    if position_state(position).decision != Decision.REPLACE:
        hand.plan(position)
    return position


def not_charged(hand: Hand) -> None:
    position = _to_fit(hand, "R3")
    hand.fit(position_state(position), not_charged="broken by us when it was lifted")


# Volts across the capacitor, milliamps through it, and the minutes until the next step.
REFORMED = (
    ("45 V", "4.1", 10),
    ("45 V", "0.9", 4),
    ("110 V", "3.6", 12),
    ("110 V", "0.7", 4),
    ("200 V", "3.1", 15),
    ("200 V", "0.5", 4),
    ("290 V", "2.2", 20),
    ("290 V", "0.6", 4),
    ("345 V", "1.4", 20),
    ("345 V", "0.41", 5),
)


def reform(hand: Hand) -> None:
    """The smoothing capacitor has its value and long stood idle: brought up in steps until it leaks no more than it may."""
    position = hand.position("C4")
    run = reforming.start(
        position, reforming.Setup(position.called, series="68k"), person=hand.person, at=hand.clock.later(minutes=3)
    )
    for volts, leak, minutes in REFORMED:
        reforming.add_reading(run, reforming.Typed(volts, leak), person=hand.person, at=hand.clock.later(minutes=minutes))
    reforming.end(run, "sound", person=hand.person, at=hand.clock.later(minutes=5))
    log.decide(position, Decision.KEEP, hand.author(), why="reformed, leaks little")


AT_INSPECTION: dict[str, Callable[[Hand], None]] = {"wrong_value": wrong_value, "correction": correction, "reform": reform}
AT_FITTING: dict[str, Callable[[Hand], None]] = {
    "override": override,
    "wiring": wiring,
    "take_out_back": take_out_back,
    "take_out_scrap": take_out_scrap,
    "not_charged": not_charged,
}


def work(hand: Hand, minutes: int, text: str = "", step: str = Step.REPAIR) -> LabourEntry:
    """Log time typed in after it was worked."""
    at = hand.clock.later(minutes=5)
    return log_work(hand.job, Work(hand.person, step, at.date(), minutes, text), person=hand.person, at=at)


def work_by_clock(hand: Hand, minutes: int) -> LabourEntry:
    timer = start_clock(hand.job, Step.REPAIR, person=hand.person, at=hand.clock.at)
    hand.clock.at = timer.started_at
    return stop_clock(timer, person=hand.person, at=hand.clock.later(minutes=minutes), text="by the running clock")


def work_with_slip(hand: Hand, minutes: int) -> LabourEntry:
    """A quarter too much typed at first, corrected by an entry that names it."""
    slip = work(hand, minutes + 15, "typed a quarter too much")
    at = hand.clock.later(minutes=2)
    right = Work(hand.person, Step.REPAIR, at.date(), minutes, "as worked")
    return log_work(hand.job, right, person=hand.person, at=at, corrects=slip)
