"""The lines of the Today page about jobs: what each says, and the ways to the acts that resolve it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import reduce
from operator import or_

from django.db.models import Q
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.timezone import localdate, localtime

from inventory.models import OrderLine
from inventory.queries.on_order import still_coming
from jobs.models import Estimate, Job, Stage, Timer
from jobs.models.estimate import EstimateState
from jobs.queries.benches import running_of
from jobs.queries.collection import Clock, clock_of
from shop.models import Profile, Role, Staff
from shop.money import show
from shop.place import rules_of
from shop.templatetags.shop_tags import hours
from shop.views.day_lists import soak_minutes
from shop.views.day_ways import Way, Ways, Wish

COUNTER, BENCH = (Role.COUNTER,), (Role.BENCH,)
Mark = tuple[str, str]


@dataclass(frozen=True)
class Desk:
    """Whose day it is, and when."""

    person: Staff
    at: datetime
    terms: Profile | None
    ways: Ways

    @property
    def today(self) -> date:
        return localdate(self.at)

    def money(self, minor: int, currency: str) -> str:
        return show(minor, currency, self.terms.locale) if self.terms else show(minor, currency)


@dataclass(frozen=True, slots=True)
class Line:
    """`tag` is a job's number, `head` any other name to click on; `marks` are (mark, word) of `{% state %}`."""

    text: str
    address: str = ""
    tag: str = ""
    head: str = ""
    marks: tuple[Mark, ...] = ()
    words: str = ""
    ways: tuple[Way, ...] = ()

    @property
    def name(self) -> str:
        """What the ways are about, for whoever can't see the line."""
        return self.tag or self.head or self.text


def day_words(on: date | datetime) -> str:
    return date_format(localdate(on) if isinstance(on, datetime) else on, "j M Y")


def days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def ago(on: date | datetime, today: date) -> str:
    """`2 Mar 2026, 5 days`"""
    past = (today - (localdate(on) if isinstance(on, datetime) else on)).days
    return f"{day_words(on)}, {days(past)}" if past > 0 else f"{day_words(on)}, today"


def job_line(job: Job, **more: object) -> Line:
    text = f"{job.radio.model}, {job.customer}"
    return Line(text, reverse("jobs:job", args=[job.pk]), job.number, **more)  # type: ignore[arg-type]


# What the bench does next with a set, by its stage.
NEXT: dict[str, tuple[str, str]] = {
    Stage.TAKEN_IN: ("Start the inspection", "jobs:job"),
    Stage.INSPECTING: ("Go on inspecting", "jobs:change_log"),
    Stage.AGREED: ("Start on the bench", "jobs:job"),
    Stage.REPAIRING: ("Open the change log", "jobs:change_log"),
    Stage.PROVING: ("Second look", "jobs:second_look"),
    Stage.SOAKING: ("Look at the soak", "jobs:soak"),
    Stage.DECLINED: ("Put it back", "jobs:declined"),
}


def promised_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    return [_promised(job, desk) for job in jobs]


def _promised(job: Job, desk: Desk) -> Line:
    assert job.promised_on is not None
    left = (job.promised_on - desk.today).days
    mark = ("no", f"Overdue {days(-left)}") if left < 0 else ("warn", "Today") if left == 0 else ("open", f"In {days(left)}")
    wishes = [Wish(*NEXT[job.stage], (job.pk,), BENCH)] if job.stage in NEXT else []
    if job.stage == Stage.AWAITING_CONSENT:
        wishes.append(Wish("Record the answer", "jobs:estimate", (job.pk,), COUNTER))
    wishes.append(Wish("Change the promise", "jobs:job_change", (job.pk,), place="#id_promised_on"))
    waits = f", waits for {job.get_waits_for_display()}" if job.waits_for else ""
    words = f"for {day_words(job.promised_on)}; {job.get_stage_display()}{waits}"
    return job_line(job, marks=(mark,), words=words, ways=desk.ways.of(wishes))


def _since(job: Job, desk: Desk) -> str:
    note = f"{job.waits_note}; " if job.waits_note else ""
    return f"{note}since {ago(job.waits_since_at, desk.today)}" if job.waits_since_at else note.rstrip("; ")


def approval_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    """With the version that is with the customer, and how long it stands."""
    sent = Estimate.objects.filter(job__in=[job.pk for job in jobs], state=EstimateState.SENT).order_by("number")
    with_them = {one.job_id: one for one in sent}
    return [_approval(job, with_them.get(job.pk), desk) for job in jobs]


def _approval(job: Job, sent: Estimate | None, desk: Desk) -> Line:
    marks: tuple[Mark, ...] = ()
    wishes = [Wish("Look at the estimate", "jobs:estimate", (job.pk,), COUNTER)]
    if sent is not None:
        marks, wishes = _standing(sent, desk), _answering(sent)
    return job_line(job, marks=marks, words=_since(job, desk), ways=desk.ways.of(wishes))


def _answering(sent: Estimate) -> list[Wish]:
    again = Wish("Send it again", "jobs:estimate", (sent.job_id,), COUNTER)
    return [Wish("Record the answer", "jobs:consent", (sent.pk,)), again]


def _standing(sent: Estimate, desk: Desk) -> tuple[Mark, ...]:
    if sent.stands_until_on is None:
        return ()
    left = (sent.stands_until_on - desk.today).days
    if left < 0:
        return (("no", f"Ran out {day_words(sent.stands_until_on)}"),)
    return (("warn" if left < 7 else "open", "Stands until today" if left == 0 else f"Stands {days(left)} more"),)


def estimate_lines(sent: Sequence[Estimate], desk: Desk) -> list[Line]:
    return [_estimate(one, desk) for one in sent]


def _estimate(sent: Estimate, desk: Desk) -> Line:
    upto = desk.money(sent.high_minor, sent.currency)
    went = f", sent {ago(sent.sent_at, desk.today)}" if sent.sent_at else ""
    words = f"version {sent.number}, up to {upto}{went}"
    return job_line(sent.job, marks=_standing(sent, desk), words=words, ways=desk.ways.of(_answering(sent)))


def part_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    """With the order on which a part for the job is to come, where one names it."""
    named = reduce(or_, (Q(for_what__contains=job.number) for job in jobs), Q(pk__in=[]))
    coming = list(still_coming().filter(named).select_related("order__supplier").order_by("expected_on", "pk"))
    return [_part(job, next((one for one in coming if job.number in one.for_what), None), desk) for job in jobs]


def _part(job: Job, coming: OrderLine | None, desk: Desk) -> Line:
    here = Wish("Say that it is here", "jobs:job", (job.pk,), (Role.BENCH, Role.COUNTER), "#wait")
    words = _since(job, desk)
    if coming is None:
        return job_line(job, words=words, ways=desk.ways.of([Wish("See what to buy", "shop:buy_list"), here]))
    order, due = coming.order, coming.expected_on
    words += f"; on order {order.number} from {order.supplier}" + (f", expected {day_words(due)}" if due else "")
    receive = Wish(f"Receive {order.number}", "inventory:order_receive", (order.pk,))
    return job_line(job, words=words, ways=desk.ways.of([receive, here]))


def payment_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    return [
        job_line(job, words=_since(job, desk), ways=desk.ways.of([Wish("Take the payment", "billing:job_money", (job.pk,))]))
        for job in jobs
    ]


def somebody_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    told = (Role.BENCH, Role.COUNTER)
    return [
        job_line(
            job,
            words=_since(job, desk),
            ways=desk.ways.of([Wish("Say what came of it", "jobs:job", (job.pk,), told, "#wait")]),
        )
        for job in jobs
    ]


def soak_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    wanted = (desk.terms.soak_hours if desk.terms else 0) * 60
    return [_soak(job, wanted, desk) for job in jobs]


def _soak(job: Job, wanted: int, desk: Desk) -> Line:
    began = job.soak_began_at  # type: ignore[attr-defined]
    if began is None:
        ways = desk.ways.of([Wish("Go on with the soak", "jobs:soak", (job.pk,), BENCH)])
        return job_line(job, marks=(("warn", "No run is under way"),), words=_since(job, desk), ways=ways)
    ran = soak_minutes(began, desk.at)
    is_over = ran >= wanted
    mark = ("warn", "Its hours are over") if is_over else ("wait", f"{hours(wanted - ran)} to go")
    words = f"runs {hours(ran)} of {hours(wanted)}, since {date_format(localtime(began), 'j M, H:i')}"
    ways = desk.ways.of([Wish("End the soak" if is_over else "Look at the soak", "jobs:soak", (job.pk,), BENCH)])
    return job_line(job, marks=(mark,), words=words, ways=ways)


def clock_lines(running: Sequence[Timer], desk: Desk) -> list[Line]:
    return [_clock(one, desk) for one in running]


def _clock(clock: Timer, desk: Desk) -> Line:
    """One's own is stopped in a click; one that ran over night, or somebody else's, asks what was really worked."""
    running, is_own = running_of(clock, desk.at), clock.person_id == desk.person.pk
    plain = Wish("Stop it", "jobs:labour", (clock.job_id,), BENCH, "#clock")
    end = Wish("Stop it, and say what was worked", "jobs:clock_end", (clock.pk,), None if is_own else (Role.OWNER,))
    mark = ("warn", "Ran over night") if running.over_night else ("done", "Runs")
    whose = "your clock" if is_own else str(clock.person)
    where = f" at {clock.job.bench}" if clock.job.bench else ""
    words = f"{whose}, {clock.get_step_display().lower()}{where}, {hours(running.minutes)} so far"
    ways = desk.ways.of([plain if is_own and not running.over_night else end])
    return Line(str(clock.job.radio.model), reverse("jobs:job", args=[clock.job_id]), clock.job.number, "", (mark,), words, ways)


def ready_lines(jobs: Sequence[Job], desk: Desk) -> list[Line]:
    """With the clock of uncollected sets under the rules of the place; the bench sees what is ready and since when."""
    rule = rules_of(desk.terms).uncollected
    return [_ready(job, clock_of(job, rule, desk.today), desk) for job in jobs]


def _ready(job: Job, clock: Clock, desk: Desk) -> Line:
    wishes = [
        Wish("Hand it over", "billing:hand_over", (job.pk,)),
        Wish("Write a notice down", "billing:notice_new", (job.pk,)),
        Wish("Proof, disputes, sale", "billing:collecting", (job.pk,)),
    ]
    ways = desk.ways.of(wishes)
    words = f"since {ago(clock.ready_on, desk.today)}"
    if job.customer.phone:
        words += f"; {job.customer.phone}"
    if not ways:
        return job_line(job, words=words)
    return job_line(job, marks=(clock.standing,), words=f"{words}. {clock.next_step}{_may_go(clock)}", ways=ways)


def _may_go(clock: Clock) -> str:
    """The earliest day on which the rules would let a set be sold, while no notice names one."""
    if clock.days_left is not None or clock.is_stopped:
        return ""
    return f" By these rules it may be sold on {day_words(clock.may_go_on)} at the earliest."
