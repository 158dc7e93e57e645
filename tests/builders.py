"""Small builders for tests: one call makes one thing through the services, with whatever it needs that wasn't given.

`at` is the time by which everything has happened (now by default, so it follows `still_clock`); earlier steps lie before it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from billing.models import Invoice, PaymentKind
from billing.queries import account_of
from billing.release import Signature, hand_over, return_unsafe
from billing.services import Money, issue_invoice, record_payment
from billing.services.uncollected import Sale, sell
from inventory import services as stock
from inventory.components.notation import read_notation
from inventory.models import Drawer, Kind, Lot, Part, Supplier
from jobs.bench.safety import required_readings
from jobs.models import (
    CollectionNotice,
    Decision,
    Estimate,
    FlatTask,
    Job,
    LabourEntry,
    LogEntry,
    Position,
    RadioModel,
    RadioSet,
    Stage,
    Step,
    Verdict,
)
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import position_state, sheet_of
from jobs.services import estimates, log, proving, stages
from jobs.services.called_for import CalledRow, save_called_for
from jobs.services.collection import Notice, record_notice, record_service
from jobs.services.consents import Answer, record_answer
from jobs.services.intake import Intake, JobFacts, SetFacts, model_named, take_in
from jobs.services.labour import Work, log_work
from shop.clock import now
from shop.customers import CustomerFacts, add_customer
from shop.models import Bench, Customer, Profile, Role, Staff
from shop.place import rules_of
from tests.kept_jobs import kept_or_built

BENCH_PASSWORD = "soldering-iron-17"
QUANTITIES = (Kind.RESISTOR, Kind.CAPACITOR, Kind.INDUCTOR)

CALLED = (
    CalledRow("C1", "line_to_chassis", ".0047 250 V"),
    CalledRow("C2", "coupling", ".01 400 V"),
    CalledRow("C3", "reservoir", "47 µF 160 V"),
    CalledRow("R1", "plate_load", "220K 1/2W"),
    CalledRow("V1", "valve", "12SK7"),
)


def a_profile(**terms: Any) -> Profile:
    """The one shop: pounds, 40.00 an hour in quarters, no tax, no allowance, 90 days of warranty. `terms` change that."""
    own = {"jurisdiction": "gb", "address": "3 Ferrule Lane, Quillham", "tax_id": "GB 000 0418 00"}
    values = {"name": "Quillfeather Wireless", **own, "hour_rate_minor": 4000, "inspection_fee_minor": 2500, **terms}
    return Profile.objects.update_or_create(pk=1, defaults=values)[0]


def a_staff(username: str = "bench", role: str = Role.BENCH, shown_name: str = "") -> Staff:
    """A member of staff, the same one for the same name; signs in with BENCH_PASSWORD."""
    found = Staff.objects.filter(username=username).first()
    return found or Staff.objects.create_user(username=username, password=BENCH_PASSWORD, role=role, shown_name=shown_name)


def a_bench(name: str = "Bench 1") -> Bench:
    return Bench.objects.get_or_create(name=name)[0]


def a_customer(name: str = "Iwona Brzask", at: datetime | None = None, **facts: str) -> Customer:
    return add_customer(CustomerFacts(name, **facts), at=at or now())


def a_supplier(name: str = "Ferrule & Daughters", return_days: int = 14) -> Supplier:
    return Supplier.objects.get_or_create(name=name, defaults={"return_days": return_days})[0]


def a_drawer(cabinet: str = "A", tray: str = "1", compartment: str = "") -> Drawer:
    return Drawer.objects.get_or_create(cabinet=cabinet, tray=tray, compartment=compartment)[0]


def a_part(marking: str = "0.01 µF 630 V", kind: str = Kind.CAPACITOR, technology: str = "", **more: Any) -> Part:
    """A kind of part, its value and ratings read from the marking. A capacitor is of film where nothing is said."""
    spec = read_notation(marking, kind) if kind in QUANTITIES else None
    read: dict[str, Any] = {}
    if spec is not None:
        low, high = spec.tolerance_percent or (None, None)
        read = {
            "value_si": float(spec.value),
            "volts": None if spec.volts is None else float(spec.volts),
            "watts": None if spec.watts is None else float(spec.watts),
            "tolerance_low": None if low is None else float(low),
            "tolerance_high": None if high is None else float(high),
            "safety_class": spec.safety_class or "",
        }
    made_of = technology or ("film" if kind == Kind.CAPACITOR else "")
    return Part.objects.create(marking=marking, kind=kind, technology=made_of, **{**read, **more})


def a_lot(
    part: Part | None = None,
    count: int = 10,
    drawer: Drawer | None = None,
    unit_cost_milli: int = 20_000,
    at: datetime | None = None,
    person: Staff | None = None,
    **more: Any,
) -> Lot:
    """Parts received into a drawer (A / 1 where none is given); 0.20 each, sold for 0.60 by the first ladder."""
    when = at or now()
    receipt = stock.Receipt(
        part or a_part(), drawer or a_drawer(), count, unit_cost_milli, **{"received_on": when.date(), "supplier": None, **more}
    )
    return stock.receive(receipt, person=person or a_staff(), at=when)


def drawer_of(lot: Lot) -> Drawer:
    """The first drawer that holds something of a lot."""
    balance = lot.balances.filter(on_hand__gt=0).select_related("drawer").order_by("pk").first()  # type: ignore[attr-defined]
    assert balance is not None, f"nothing of {lot} is in a drawer"
    return balance.drawer


def a_model(
    name: str = "Kestrel 5", maker: str = "Merrowby", supply_kind: str = "transformerless", rows: Sequence[CalledRow] = CALLED
) -> RadioModel:
    """A model with its called-for list: C1 line to chassis, C2 coupling, C3 reservoir, R1 plate load, V1 valve."""
    model = model_named(SetFacts(maker, name, supply_kind))
    if not model.called_for.exists():  # type: ignore[attr-defined]
        save_called_for(model, rows, seen=model.version)
    return model


def a_set(customer: Customer | None = None, model: RadioModel | None = None, serial: str = "4711", **more: Any) -> RadioSet:
    return RadioSet.objects.create(customer=customer or a_customer(), model=model or a_model(), serial=serial, **more)


def position_of(job: Job, designator: str = "C2") -> Position:
    return job.positions.get(designator=designator)  # type: ignore[attr-defined, no-any-return]


def a_flat_task(name: str = "Align the IF strip", price_minor: int = 6000, step: str = Step.ALIGNMENT) -> FlatTask:
    return FlatTask.objects.get_or_create(name=name, defaults={"price_minor": price_minor, "step": step})[0]


def author(person: Staff | None = None, at: datetime | None = None) -> log.Author:
    return log.Author(person or a_staff(), at or now())


# A job at a given stage. Each step below leads to one stage from the one before it.


@dataclass(frozen=True)
class _Way:
    """What the steps of one job share. `estimate_minor`: labour in the estimate."""

    person: Staff
    estimate_minor: int
    with_fit: bool


def _begin(job: Job, way: _Way, at: datetime) -> None:
    stages.perform(job, "start_inspection", person=way.person, at=at)
    if way.with_fit and job.positions.filter(designator="C2").exists():  # type: ignore[attr-defined]
        plan_part(job, "C2", person=way.person, at=at)


def plan_part(
    job: Job, designator: str = "C2", part: Part | None = None, person: Staff | None = None, at: datetime | None = None
) -> LogEntry:
    """Decide to replace a position by a part that lies in a drawer; it is held for the job."""
    when, who = at or now(), person or a_staff()
    lot = a_lot(part, at=when, person=who)
    plan = log.Plan(lot.part, 1, lot, drawer_of(lot))
    return log.decide(position_of(job, designator), Decision.REPLACE, log.Author(who, when), plan=plan)


def an_estimate(job: Job, labour_minor: int = 20_000, person: Staff | None = None, at: datetime | None = None) -> Estimate:
    """A draft sent to the customer: what the log plans, and labour of that sum."""
    when, who = at or now(), person or a_staff()
    draft = estimates.draft(job, person=who, at=when)
    line = estimates.TypedLine(EstimateLineKind.FEE, "Work as foreseen", low_minor=labour_minor, high_minor=labour_minor)
    estimates.add_line(draft, line)
    sent = estimates.send(draft, person=who, at=when)
    job.refresh_from_db()
    return sent


def _send(job: Job, way: _Way, at: datetime) -> None:
    an_estimate(job, way.estimate_minor, way.person, at)


def _answer(agreed: bool) -> Callable[[Job, _Way, datetime], None]:
    def answer(job: Job, way: _Way, at: datetime) -> None:
        sent = job.estimates.get(state="sent")  # type: ignore[attr-defined]
        record_answer(sent, Answer(agreed, ConsentHow.IN_PERSON, job.customer.name, person=way.person), at=at)
        job.refresh_from_db()

    return answer


def _start(job: Job, way: _Way, at: datetime) -> None:
    stages.perform(job, "start_repair", person=way.person, at=at)


def _finish(job: Job, way: _Way, at: datetime) -> None:
    """Every position that nobody has decided on stays in; the planned part goes in."""
    for row in sheet_of(job).rows:
        if row.to_fit:
            a_fit(job, row.position.designator, person=way.person, at=at)
        elif not row.decision:
            log.decide(row.position, Decision.KEEP, log.Author(way.person, at))
    confirm_polarities(job, way.person, at)
    job.refresh_from_db()
    stages.perform(job, "finish_repair", person=way.person, at=at)


def confirm_polarities(job: Job, person: Staff, at: datetime) -> None:
    for row in sheet_of(job).rows:
        if row.polarity is None and any(fit.part is not None and fit.part.polarised for fit in row.fitted):
            log.confirm_polarity(row.position, log.Author(person, at))


def look_again(job: Job, person: Staff | None = None, at: datetime | None = None) -> None:
    """Sign the second look, every open point accepted."""
    accepted = [f"{point.code}:{point.place}" for point in second_look_points(sheet_of(job))]
    proving.sign_second_look(job, accepted, person=person or a_staff(), at=at or now())


def safe_readings(practice: str, earthed: bool = False) -> list[proving.TakenReading]:
    """Every reading that the practice asks for, each half-way on the safe side of its limit."""
    return [
        proving.TakenReading(
            one.test.code, one.test.limit * (Decimal("0.5") if one.test.op == "<=" else 2), one.polarity, one.switch
        )
        for one in required_readings(practice, earthed=earthed)
    ]


def a_safety_check(
    job: Job, readings: Sequence[proving.TakenReading] | None = None, person: Staff | None = None, at: datetime | None = None
) -> Any:
    """A safety check under the shop's practice, passed where no readings are given."""
    practice = log.profile().safety_practice
    return proving.record_safety_check(
        job,
        practice,
        safe_readings(practice) if readings is None else readings,
        isolating_transformer=False,
        earthed=False,
        instrument="leakage network 1.5 kΩ / 0.15 µF",
        person=person or a_staff(),
        at=at or now(),
    )


def _soak(job: Job, way: _Way, at: datetime) -> None:
    look_again(job, way.person, at)
    a_safety_check(job, person=way.person, at=at)
    proving.start_soak(job, person=way.person, at=at)


def _ready(job: Job, way: _Way, at: datetime) -> None:
    run = job.soaks.get(ended_at__isnull=True)  # type: ignore[attr-defined]
    proving.end_soak(run, passed=True, at=max(at, run.started_at + timedelta(hours=log.profile().soak_hours)))
    stages.perform(job, "mark_ready", person=way.person, at=at)


def an_invoice(job: Job, person: Staff | None = None, at: datetime | None = None) -> Invoice:
    return issue_invoice(job, person=person or a_staff(), at=at or now())


def pay(invoice: Invoice, amount_minor: int | None = None, person: Staff | None = None, at: datetime | None = None) -> None:
    """Pay all that is due on an invoice, or the sum given."""
    amount = account_of(invoice).due_minor if amount_minor is None else amount_minor
    if amount:
        record_payment(invoice, Money(PaymentKind.PAID, amount, "card"), person=person or a_staff(), at=at or now())


def _hand_over(job: Job, way: _Way, at: datetime) -> None:
    pay(an_invoice(job, way.person, at), person=way.person, at=at)
    hand_over(job, Signature(job.customer.name), person=way.person, at=at)


def _return(job: Job, way: _Way, at: datetime) -> None:
    return_unsafe(job, Signature(job.customer.name, "line cord cut off and kept"), person=way.person, at=at)


Steps = tuple[tuple[str, Callable[[Job, _Way, datetime], None]], ...]
STEPS: Steps = (
    (Stage.INSPECTING, _begin),
    (Stage.AWAITING_CONSENT, _send),
    (Stage.AGREED, _answer(True)),
    (Stage.REPAIRING, _start),
    (Stage.PROVING, _finish),
    (Stage.SOAKING, _soak),
    (Stage.READY, _ready),
    (Stage.HANDED_OVER, _hand_over),
)


def _sell(job: Job, way: "_Way", at: datetime) -> None:
    """Billed, announced with proof, and sold for 40.00 above what was owed and the 5.00 that it cost."""
    invoice = an_invoice(job, way.person, at)
    notice = announce_sale(job, way.person, at)
    owner = a_staff("owner", Role.OWNER)
    price = account_of(invoice).due_minor + 4_500
    sale = Sale(notice.names_day_on, price, "Orla Venn", "three offers asked", 500, "notice in the paper", True, checked=True)  # type: ignore[arg-type]
    sell(job, sale, person=owner, at=at)


def days_uncollected() -> int:
    """Days that pass at least between a set being ready and its lawful sale."""
    rule = rules_of(log.profile()).uncollected
    return rule.wait_days + rule.notice_days + 1


def announce_sale(job: Job, person: Staff | None = None, at: datetime | None = None) -> CollectionNotice:
    """Both notices with their proof, the day named is here; the set has been ready for `days_uncollected`."""
    when, who = at or now(), person or a_staff()
    rule, day = rules_of(log.profile()).uncollected, timezone.localdate(when)
    to_whom, sent_on = f"{job.customer.name}\n1 Pettiwick Row", day - timedelta(days=rule.notice_days)
    record_notice(job, Notice("collect", sent_on, "recorded post", to_whom), person=who, at=when)
    last = Notice("sale", sent_on, "recorded post", to_whom, day, undisputed=True, checked=True)
    notice = record_notice(job, last, person=who, at=when)
    for kind in ("posted", "published"):
        record_service(notice, kind, notice.sent_on, "RN 4711 0815", person=who, at=when)
    return notice


SOLD_STEPS: Steps = (*STEPS[:-1], (Stage.SOLD, _sell))
DECLINED_STEPS: Steps = (*STEPS[:2], (Stage.DECLINED, _answer(False)), (Stage.RETURNED, _return))


def a_job(
    stage: str = Stage.TAKEN_IN,
    *,
    customer: Customer | None = None,
    model: RadioModel | None = None,
    radio: RadioSet | None = None,
    person: Staff | None = None,
    at: datetime | None = None,
    labour_minor: int = 20_000,
    with_fit: bool = True,
    fault: str = "It hums and then goes quiet.",
    **facts: Any,
) -> Job:
    """A job that went through the services to the stage asked for, one day a step, the last of them at `at`.

    C2 is planned at inspection and fitted before proving (unless `with_fit` is off); the estimate holds `labour_minor` besides,
    agreed to in person; the other positions stay in. The profile is made where there is none. A job of a sort that was built
    before is put back (`tests.kept_jobs`).
    """
    asked = _Asked(stage, customer, model, radio, person, labour_minor, with_fit, {"fault": fault, **facts})
    end = at or now()
    return kept_or_built(lambda: _through_the_services(asked, end), vars(asked), end)


@dataclass(frozen=True)
class _Asked:
    stage: str
    customer: Customer | None
    model: RadioModel | None
    radio: RadioSet | None
    person: Staff | None
    labour_minor: int
    with_fit: bool
    facts: dict[str, Any]


def _through_the_services(asked: _Asked, end: datetime) -> Job:
    if Profile.current() is None:
        a_profile()
    who, stage = asked.person or a_staff(), Stage(asked.stage)
    owner = asked.customer or (asked.radio.customer if asked.radio else a_customer(at=end))
    known = asked.radio or a_set(owner, asked.model)
    ways = {Stage.DECLINED: DECLINED_STEPS, Stage.RETURNED: DECLINED_STEPS, Stage.SOLD: SOLD_STEPS}
    steps = ways.get(stage, STEPS)
    wanted = 0 if stage == Stage.TAKEN_IN else [name for name, _ in steps].index(stage) + 1
    waited = timedelta(days=days_uncollected() if stage == Stage.SOLD else 0)
    began = end - timedelta(days=wanted) - waited
    job = take_in(Intake(JobFacts(**asked.facts), customer=owner, radio=known), person=who, at=began)
    way = _Way(who, asked.labour_minor, asked.with_fit)
    for day, (_, step) in enumerate(steps[:wanted], 1):
        step(job, way, began + timedelta(days=day) + (waited if day == wanted else timedelta()))
        job.refresh_from_db()
    return job


def a_fit(
    job: Job | None = None,
    designator: str = "C2",
    lot: Lot | None = None,
    person: Staff | None = None,
    at: datetime | None = None,
    **fitting: Any,
) -> LogEntry:
    """Fit a part: the one that is held for the position, or the lot given, or one received just before."""
    work = job or a_job(Stage.REPAIRING)
    when, who, position = at or now(), person or a_staff(), position_of(work, designator)
    if lot is None:
        decided = position_state(position).decided
        held = decided.hold if decided else None
        lot = held.lot if held is not None and held.is_open else a_lot(at=when, person=who)
    return log.fit(position, log.Fit(lot, drawer_of(lot), **fitting), log.Author(who, when))


def some_work(job: Job, minutes: int = 60, person: Staff | None = None, at: datetime | None = None, **more: Any) -> LabourEntry:
    """Time logged on a job: an hour of repair where nothing else is said."""
    when, who = at or now(), person or a_staff()
    work = Work(who, more.pop("step", Step.REPAIR), when.date(), minutes, **more)
    return log_work(job, work, person=who, at=when)


def a_measurement(
    job: Job, designator: str = "R1", text: str = "260K", person: Staff | None = None, at: datetime | None = None
) -> LogEntry:
    entry = log.record_measured(position_of(job, designator), text, author(person, at))
    assert entry.verdict in Verdict.values
    return entry
