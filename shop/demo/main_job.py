"""The main job: one set from the counter to its owner's hands, through the services that the pages call, in plain sentences."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from billing.models import Invoice, PaymentKind
from billing.queries import account_of
from billing.release import Signature, hand_over
from billing.services import Money, issue_invoice, record_payment
from jobs.models import Decision, Estimate, Job, Point, Step
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.queries.estimates import link_for
from jobs.queries.exposure import exposure_of
from jobs.queries.output_stage import Asked, output_stages
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import position_state, sheet_of
from jobs.services import estimates, log, proving, stages
from jobs.services.consents import Answer, answer_by_link, record_answer
from jobs.services.intake import Intake, JobFacts, take_in
from jobs.services.labour import Work, log_work
from shop.customers import CustomerFacts
from shop.demo.hand import Hand
from shop.demo.models import set_facts, task_named
from shop.demo.people import Cast
from shop.demo.photos import photograph, photograph_position
from shop.demo.plans import Clock
from shop.demo.readings import safety_readings
from shop.models import Customer
from shop.money import show

CUSTOMER = CustomerFacts("Apolonia Grzmotnicka-Szum", "01632 960130", "apolonia@szum.example", "31 Cinder Walk\nWendlemere")
FAULT = "It was my mother's. It hums, it crackles, and last week it smelled of hot wax."
PRACTICE = "hot_check_075"
DAYS = 16
# What the bench found: position, what was in there (or nothing to note), what the meter read.
FOUND = (
    ("C1", "wax paper, 0.05 µF 600 V", "leaky 3 MΩ"),
    ("C2", "wax paper, .005 600 V", "leaky 1.2 MΩ"),
    ("C3", "", "19 µF"),
    ("C4", "", "23 µF"),
    ("C5", ".001 400 V", "leaky 4 MΩ"),
    ("C6", "wax paper, 0.1 µF 400 V", "leaky 8 MΩ"),
    ("C7", "", "leaky 15 MΩ"),
    ("C8", "", "leaky 6 MΩ"),
    ("C9", "", "7 µF"),
    ("R1", "", "312 kΩ"),
)
# What stays: position and reading; for a valve what the tester says.
KEPT = (
    ("R8", "478 kΩ"),
    ("R2", "1.08 MΩ"),
    ("R3", "156 Ω"),
    ("R4", "23.1 kΩ"),
    ("V1", "92 % on the valve tester"),
    ("V2", "88 % on the valve tester"),
    ("V3", "101 % on the valve tester"),
    ("V4", "71 % on the valve tester"),
    ("V5", "85 % on the valve tester"),
)
# Under power, after the second look: position, where, and what the meter showed.
VOLTAGES = (
    ("C3", Point.ACROSS, "214 V"),
    ("C4", Point.ACROSS, "172 V"),
    ("V4", Point.PLATE, "168 V"),
    ("V4", Point.SCREEN, "172 V"),
    ("V4", Point.CATHODE, "8.6 V"),
    ("R3", Point.ACROSS, "8.6 V"),
    ("R6", Point.ACROSS, "42 V"),
)
WIRING = "the free end of C8 went to the chassis; the sheet has it at B plus, moved there"


class MainJob:
    """One telling. `say` gets a sentence for every step."""

    job: Job
    estimate: Estimate
    invoice: Invoice

    def __init__(self, cast: Cast, now: datetime, say: Callable[[str], None]) -> None:
        self.cast, self.say = cast, say
        self.clock = Clock(now - timedelta(days=DAYS), now)

    def run(self) -> Job:
        for days, step in self._steps():
            self.clock.move_to(self.clock.now - timedelta(days=DAYS - days))
            step()
            self.job.refresh_from_db()
        return self.job

    def _steps(self) -> Iterator[tuple[float, Callable[[], None]]]:
        """The day, counted from intake, on which each step begins."""
        yield 0, self.take_in
        yield 2, self.inspect
        yield 3, self.estimate_range
        yield 5, self.agree_on_the_page
        yield 7, self.fit
        yield 8, self.revise
        yield 9, self.finish
        yield 10, self.prove
        yield 10.2, self.soak
        yield 14, self.bill
        yield 15.9, self.give_back

    def _sum(self, minor: int) -> str:
        return show(minor, self.estimate.currency)

    def take_in(self) -> None:
        facts = JobFacts(
            FAULT,
            cabinet="walnut, one foot missing",
            came_with=(("knob", 3), ("back with screws", 1), ("valve", 5)),
            may_rewire=True,
            may_fit_fuse=True,
            old_parts_back=True,
            promised_on=(self.clock.at + timedelta(days=21)).date(),
            stands_at="shelf A1",
        )
        known = Customer.objects.filter(name=CUSTOMER.name).first()
        serial = f"K5 {36902 + Job.objects.filter(customer__name=CUSTOMER.name).count()}"
        intake = Intake(
            facts,
            customer=known,
            new_customer=None if known else CUSTOMER,
            new_set=set_facts("kestrel", serial),
            deposit_minor=4000,
            deposit_how="card",
            inspection_fee_minor=3600,
        )
        self.job = take_in(intake, person=self.cast.counter, at=self.clock.at)
        self.hand = Hand(self.job, self.cast.bench, self.cast.second, self.clock, Random("main job"))
        positions = self.job.positions.count()  # type: ignore[attr-defined]
        self.say(f"Taken in: {self.job.radio} of {self.job.customer}, job {self.job.number}, with a deposit. “{FAULT}”")
        self.say(f"The called-for list of the model came along: {positions} positions, nothing typed again.")

    def inspect(self) -> None:
        self._perform("start_inspection")
        photograph(self.job, person=self.hand.person, at=self.clock.later(minutes=6))
        if self.job.positions.filter(designator="C5").exists():  # type: ignore[attr-defined]
            seen = "C5, .001 by an earlier hand"
            photograph_position(self.job, "C5", seen, person=self.hand.person, at=self.clock.later(minutes=2))
        for designator, found, reading in FOUND:
            self._look_at(designator, found, reading)
        for designator, reading in KEPT:
            self._leave_in(designator, reading)
        self.hand.inspect()
        rows = sheet_of(self.job).rows
        planned = [row.position.designator for row in rows if row.to_fit]
        self.say("C5 held .001 where .01 is called for: judged a wrong part. R1 has drifted, the paper capacitors leak.")
        self.say(
            f"Inspected {len(rows)} positions; {len(planned)} are to be replaced ({', '.join(planned)}), the parts are held."
        )

    def _look_at(self, designator: str, found: str, reading: str) -> None:
        position = self.hand.position(designator)
        if found:
            log.record_found(position, found, self.hand.author())
        log.record_measured(position, reading, self.hand.author())
        self.hand.plan(position)

    def _leave_in(self, designator: str, reading: str) -> None:
        position = self.hand.position(designator)
        log.record_measured(position, reading, self.hand.author())
        log.decide(position, Decision.KEEP, self.hand.author())

    def estimate_range(self) -> None:
        draft = estimates.draft(self.job, person=self.cast.counter, at=self.clock.at)
        for line in (
            estimates.TypedLine(EstimateLineKind.LABOUR, "Repair on the bench", low_minutes=150, high_minutes=240),
            estimates.TypedLine(EstimateLineKind.FLAT, "Inspection and estimate", task=task_named("Inspection and estimate")),
            estimates.TypedLine(EstimateLineKind.FLAT, "Alignment, all bands", task=task_named("Alignment, all bands")),
        ):
            estimates.add_line(draft, line)
        estimates.set_note(draft, "Valves and transformers show their faults only when the set plays; we ask before we go on.")
        self.estimate = estimates.send(draft, person=self.cast.counter, at=self.clock.at)
        self.token = estimates.make_link(self.estimate, person=self.cast.counter, at=self.clock.at)
        low, high = self._sum(self.estimate.low_minor), self._sum(self.estimate.high_minor)
        self.say(f"Estimate version 1 sent with a private link: {low} to {high} with tax, drawn from the log and the hours.")

    def agree_on_the_page(self) -> None:
        link = link_for(self.token, self.clock.at)
        assert link is not None
        answer = Answer(True, ConsentHow.LINK, CUSTOMER.name)
        answer_by_link(link, answer, at=self.clock.at, digest=self.estimate.digest)
        self.say(f"{CUSTOMER.name} agreed on the private page, to up to {self._sum(self.estimate.high_minor)}.")

    def fit(self) -> None:
        self._perform("start_repair")
        if self._bench_is_free():
            stages.put_on_bench(self.job, self.cast.benches[0], at=self.clock.at)
        self.hand.fit_planned()
        log.record_wiring(self.job, WIRING, self.hand.author(), position=self.hand.position("C8"))
        sheet = sheet_of(self.job)
        names = ", ".join(row.position.designator for row in sheet.rows if row.fitted)
        self.say(f"Fitted out of the drawers: {names}. Every part is a log entry and a stock movement in one act.")
        self.say(f"Wiring finding at C8: {WIRING}.")

    def _bench_is_free(self) -> bool:
        return not Job.objects.open().filter(bench=self.cast.benches[0]).exists()

    def revise(self) -> None:
        """The output valve gives out while the set plays: nothing is fitted above the agreed sum without a newer consent."""
        position = self.hand.position("V4")
        weak = log.record_measured(position, "34 % after ten minutes", self.hand.author())
        self.hand.plan(position)
        draft = estimates.draft_from(self.job, weak, person=self.cast.counter, at=self.clock.later(minutes=20))
        line = estimates.TypedLine(EstimateLineKind.LABOUR, "Output valve changed, bias set", low_minutes=30, high_minutes=45)
        estimates.add_line(draft, line)
        self.estimate = estimates.send(draft, person=self.cast.counter, at=self.clock.later(minutes=5))
        self.say(f"V4 {weak.text}: estimate version 2 drafted from the finding, up to {self._sum(self.estimate.high_minor)}.")
        phone = self.job.customer.phone
        answer = Answer(
            True,
            ConsentHow.SPOKEN,
            CUSTOMER.name,
            phone,
            "told about the output valve",
            self.cast.counter,
            cancellation_told=True,
            begin_at_once=True,
        )
        record_answer(self.estimate, answer, at=self.clock.later(minutes=40))
        self.hand.fit(position_state(position))
        self.say(f"{CUSTOMER.name} agreed to version 2 by telephone, {phone}; V4 is fitted.")

    def finish(self) -> None:
        for row in sheet_of(self.job).unresolved:
            log.decide(row.position, Decision.KEEP, self.hand.author(), why="nothing against it")
        self._work(165, "capacitors, R1, output valve")
        for name in ("Inspection and estimate", "Alignment, all bands"):
            self._flat(name)
        self._perform("finish_repair")
        terms = log.profile()
        exposure = exposure_of(self.job, terms)
        spent, ceiling = show(exposure.spent_minor, terms.currency), show(exposure.ceiling_minor, terms.currency)
        self.say(f"Labour logged. Spent so far {spent} of {ceiling} agreed (with the shop's allowance).")

    def _work(self, minutes: int, text: str) -> None:
        at = self.clock.later(minutes=5)
        log_work(self.job, Work(self.cast.bench, Step.REPAIR, at.date(), minutes, text), person=self.cast.bench, at=at)

    def _flat(self, name: str) -> None:
        task, at = task_named(name), self.clock.later(minutes=5)
        log_work(self.job, Work(self.cast.bench, task.step, at.date(), task=task), person=self.cast.bench, at=at)

    def prove(self) -> None:
        points = second_look_points(sheet_of(self.job))
        accepted = [f"{point.code}:{point.place}" for point in points]
        proving.sign_second_look(self.job, accepted, person=self.cast.second, at=self.clock.later(minutes=10))
        self.say(f"Second look signed by {self.cast.second}: {len(points)} points gone through by name.")
        for designator, point, volts in VOLTAGES:
            log.record_voltage(self.hand.position(designator), point, volts, self.hand.author())
        self.say(f"Voltages under power written down: {self._output_stage()}")
        check = proving.record_safety_check(
            self.job,
            PRACTICE,
            safety_readings(PRACTICE, Decimal("0.18"), Random("main job")),
            isolating_transformer=False,
            earthed=False,
            instrument="1.5 kΩ / 0.15 µF network, true rms meter",
            person=self.cast.bench,
            at=self.clock.later(minutes=30),
        )
        verdict = "passed" if check.passed else "failed"
        self.say(f"Electrical safety check {verdict}, both ways round of the plug; 0.18 V at worst, at most 0.75 V allowed.")

    def _output_stage(self) -> str:
        """What the log's voltages mean for the output valve, as its page says it."""
        (stage,) = output_stages(sheet_of(self.job).rows, Asked()).stages
        assert stage.check is not None
        return " ".join(reason.message for reason in stage.check.reasons[:1])

    def soak(self) -> None:
        run = proving.start_soak(self.job, person=self.cast.bench, at=self.clock.at)
        proving.end_soak(run, passed=True, at=self.clock.later(hours=5))
        self.job.refresh_from_db()
        self._perform("mark_ready")
        self.say("Soaked for five hours without a fault; ready to collect.")

    def bill(self) -> None:
        self.invoice = issue_invoice(self.job, person=self.cast.counter, at=self.clock.at)
        total = self._sum(self.invoice.gross_minor)
        self.say(
            f"Invoice {self.invoice.number}: {total} with tax, the deposit of {self._sum(self.invoice.prepaid_minor)} set off."
        )

    def give_back(self) -> None:
        due = account_of(self.invoice).due_minor
        record_payment(self.invoice, Money(PaymentKind.PAID, due, "card"), person=self.cast.counter, at=self.clock.at)
        hand_over(self.job, Signature(CUSTOMER.name), person=self.cast.counter, at=self.clock.later(minutes=10))
        lines = self.job.warranty.lines  # type: ignore[attr-defined]
        self.say(f"{self._sum(due)} paid by card; handed over and signed for.")
        self.say(f"Warranty record drawn from the log: {lines.filter(covered=True).count()} lines covered, each with its date.")

    def _perform(self, code: str) -> None:
        stages.perform(self.job, code, person=self.cast.bench, at=self.clock.later(minutes=2))
