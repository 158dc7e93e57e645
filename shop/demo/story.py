"""How a job goes: a generator that stops before each step and gives its time, so that all jobs run side by side."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from jobs.models import Estimate, Job, PhotoConsent, RadioSet, SoakRun, Step
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.queries.estimates import link_for
from jobs.queries.learned import expected_of
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import position_state, sheet_of
from jobs.services import estimates, log, proving, stages
from jobs.services.consents import Answer, answer_by_link, record_answer
from jobs.services.intake import Intake, JobFacts, take_in
from jobs.services.labour import Work, log_work
from jobs.services.log import profile
from shop.demo import came_back, turns
from shop.demo.hand import Hand
from shop.demo.leaving import Leaving
from shop.demo.models import set_facts, task_named
from shop.demo.people import Cast
from shop.demo.photos import photograph
from shop.demo.plans import Calendar, Plan
from shop.demo.readings import safety_readings

PRACTICE = "hot_check_075"
PHOTOGRAPHED = ("inspecting", "repairing")
"""Where sets stand whose photos the demo has: drawing them takes its time."""
PHOTOS = (PhotoConsent.RECORD, PhotoConsent.RECORD, PhotoConsent.SHOW)
FORECAST = (30, 33, 84, 98, 104)
"""Days ago that jobs came in whose estimates are sent with what was expected of them: each such sending learns anew."""
CABINETS = ("good, one scratch on top", "veneer lifts at the foot", "dull, complete", "one knob is not the original")
CAME_WITH = (("knob", 4), ("back with screws", 1))


@dataclass
class Shared:
    """What all stories share: the jobs so far by the key of their plan, and the part chosen for a place of a model."""

    jobs: dict[str, Job] = field(default_factory=dict)
    chosen: dict[tuple[int, str], int] = field(default_factory=dict)


class Story(Leaving):
    """One job of the demo, told step by step through the services."""

    def __init__(self, plan: Plan, cast: Cast, now: datetime, told: "Shared") -> None:
        self.plan, self.cast, self.told = plan, cast, told.jobs
        self.chosen = told.chosen
        self.rng = Random(plan.key)
        self.calendar = Calendar(plan, now, self.rng)
        self.customer = cast.customers[plan.customer]
        self.minutes = self.rng.choice((120, 150, 180, 240))

    @property
    def key(self) -> str:
        return self.plan.key

    def steps(self) -> Iterator[datetime]:
        yield self.calendar.go_to("taken_in")
        self._take_in()
        for stage, step in (
            ("inspecting", self._inspect),
            ("awaiting_consent", self._estimate),
            ("agreed", self._answer),
            ("declined", self._answer),
            ("repairing", self._begin_repair),
            ("proving", self._finish_repair),
            ("soaking", self._soak),
            ("ready", self._ready),
            ("handed_over", self._hand_over),
            ("returned", self._return),
            ("called", self._call),
            ("warned", self._warn),
            ("sold", self._sell),
        ):
            if self.plan.reaches(stage):
                yield self.calendar.go_to(stage)
                step()

    def _take_in(self) -> None:
        plan, rng = self.plan, self.rng
        earlier = self.told.get(plan.warranty_of)
        known = RadioSet.objects.filter(customer=self.customer, serial=plan.serial).exclude(serial="").first()
        facts = JobFacts(
            plan.fault,
            goal=plan.goal,
            cabinet=rng.choice(CABINETS),
            came_with=CAME_WITH,
            may_fit_fuse=rng.random() < 0.7,
            may_rewire=plan.goal == "working",
            old_parts_back=self._has("old_parts"),
            promised_on=self.calendar.at.date() + timedelta(days=rng.randint(18, 45)),
            stands_at=f"shelf {rng.choice('ABCD')}{rng.randint(1, 6)}",
            warranty_of=earlier,
            photo_consent=rng.choice(PHOTOS),
        )
        intake = Intake(
            facts,
            customer=self.customer,
            radio=known,
            new_set=None if known else set_facts(plan.model, plan.serial, plan.year),
            deposit_minor=3000 if self._has("deposit") else 0,
            deposit_how="cash" if self._has("deposit") else "",
            inspection_fee_minor=3600 if self._has("declined") or (not earlier and rng.random() < 0.5) else 0,
        )
        self.job = self.told[plan.key] = take_in(intake, person=self.cast.counter, at=self.calendar.at)
        bench, second = self.cast.bench, self.cast.second
        person, other = (bench, second) if rng.random() < 0.6 else (second, bench)
        self.hand = Hand(self.job, person, other, self.calendar, rng, self.chosen)

    def _perform(self, code: str) -> None:
        stages.perform(self.job, code, person=self.hand.person, at=self.calendar.later(minutes=3))

    def _inspect(self) -> None:
        self._perform("start_inspection")
        if self.plan.ends in PHOTOGRAPHED:
            photograph(self.job, person=self.hand.person, at=self.calendar.later(minutes=4))
        for name in sorted(self.plan.turns & turns.AT_INSPECTION.keys()):
            turns.AT_INSPECTION[name](self.hand)
        self.hand.inspect(0.6 if self.plan.ends == "inspecting" else 1.0)
        if self.plan.warranty_of:
            came_back.inspect(self.hand, decide=self.plan.ends != "inspecting")

    def _estimate(self) -> None:
        draft = estimates.draft(self.job, person=self.cast.counter, at=self.calendar.at)
        if self.plan.warranty_of:
            free = estimates.TypedLine(EstimateLineKind.FEE, f"Work under the warranty of job {self.told[self.plan.warranty_of]}")
            estimates.add_line(draft, free)
        else:
            self._priced_lines(draft)
        if self._has("alternatives"):
            self._offer_alternatives(draft)
        self._send(draft)

    def _offer_alternatives(self, draft: Estimate) -> None:
        """What only the larger two give, besides the repair that all three hold."""
        estimates.offer(draft)
        for tier, text, low, high in (
            (2, "Controls cleaned, dial cord renewed, all bands aligned", 60, 90),
            (3, "Cabinet cleaned, veneer laid down, new grille cloth", 240, 360),
        ):
            work = estimates.TypedLine(EstimateLineKind.LABOUR, text, low_minutes=low, high_minutes=high)
            line = estimates.add_line(draft, work)
            estimates.place(draft, {line.pk: tier})

    def _priced_lines(self, draft: Estimate) -> None:
        spread = self.rng.choice((0, 0, 30, 60))
        labour = estimates.TypedLine(
            EstimateLineKind.LABOUR, "Repair on the bench", low_minutes=self.minutes, high_minutes=self.minutes + spread
        )
        estimates.add_line(draft, labour)
        for name in ("Inspection and estimate", "Alignment, one band"):
            estimates.add_line(draft, estimates.TypedLine(EstimateLineKind.FLAT, name, task=task_named(name)))
        estimates.set_note(draft, "Should the inside hold more surprises, we ask before we go on.")

    def _send(self, draft: Estimate) -> None:
        at = self.calendar.later(minutes=20)
        expected = expected_of(draft, profile(), at) if self.plan.days_ago in FORECAST and not self.plan.warranty_of else None
        self.sent = estimates.send(draft, person=self.cast.counter, at=at, expected=expected)
        self.token = estimates.make_link(self.sent, person=self.cast.counter, at=self.calendar.at)
        self.job.refresh_from_db()

    def _answer(self) -> None:
        self._record(agreed=not self._has("declined"), how=self.plan.consent)
        self.job.refresh_from_db()

    def _record(self, *, agreed: bool, how: str) -> None:
        number = self.customer.phone if how == ConsentHow.SPOKEN else ""
        on_page = how == ConsentHow.LINK
        note = "" if agreed else "more than it is worth to us"
        answer = Answer(
            agreed,
            how,
            self.customer.name,
            number,
            note,
            None if on_page else self.cast.counter,
            cancellation_told=agreed,
            begin_at_once=agreed,
        )
        link = link_for(self.token, self.calendar.at) if on_page else None
        if link is not None:
            answer_by_link(link, answer, at=self.calendar.at, digest=self.sent.digest)
        else:
            record_answer(self.sent, answer, at=self.calendar.at)

    def _begin_repair(self) -> None:
        self._perform("start_repair")
        stopped = self.plan.ends == "repairing"
        if self.plan.bench is not None:
            stages.put_on_bench(self.job, self.cast.benches[self.plan.bench], at=self.calendar.at)
        for name in sorted(self.plan.turns & turns.AT_FITTING.keys()):
            turns.AT_FITTING[name](self.hand)
        self.hand.fit_planned(only=12 if stopped else None)
        if self._has("revision") or self._has("revision_open"):
            self._revise()
        self._work(30 if stopped else self.minutes)
        if self._has("waits_part"):
            stages.wait_for(self.job, "part", "field coil rewound elsewhere", at=self.calendar.at)

    def _revise(self) -> None:
        """The output transformer opens while the set plays: nothing more is fitted before a newer consent."""
        position = self.hand.position("T1")
        log.record_measured(position, "open", self.hand.author())
        self.hand.plan(position)
        draft = estimates.draft(self.job, person=self.cast.counter, at=self.calendar.later(minutes=30))
        more = estimates.TypedLine(EstimateLineKind.LABOUR, "Output transformer changed", low_minutes=45, high_minutes=60)
        estimates.add_line(draft, more)
        self._send(draft)
        if self._has("revision"):
            self.calendar.later(hours=3)
            self._record(agreed=True, how=ConsentHow.SPOKEN)
            self.hand.fit(position_state(position))

    def _work(self, minutes: int) -> None:
        if self.plan.warranty_of:
            at = self.calendar.later(minutes=5)
            free = Work(
                self.hand.person, Step.REPAIR, at.date(), 75, not_charged=f"warranty of job {self.told[self.plan.warranty_of]}"
            )
            log_work(self.job, free, person=self.hand.person, at=at)
            return
        if self._has("clock"):
            turns.work_by_clock(self.hand, 55)
            minutes -= 60
        if self._has("labour_correction"):
            turns.work_with_slip(self.hand, minutes - 30)
            minutes = 30
        turns.work(self.hand, minutes)
        self._flat("Inspection and estimate")

    def _finish_repair(self) -> None:
        if not self.plan.warranty_of:
            self._flat("Alignment, one band")
        self._perform("finish_repair")
        if self._has("fail_safety") or self._has("fail_safety_open"):
            self._check(worst="1.9")
        if self._has("fail_safety"):
            log.record_wiring(
                self.job, "heater lead was pinched under a chassis bolt; re-dressed in sleeving", self.hand.author()
            )

    def _look(self) -> None:
        points = second_look_points(sheet_of(self.job))
        accepted = [f"{point.code}:{point.place}" for point in points]
        proving.sign_second_look(self.job, accepted, person=self.hand.second, at=self.calendar.later(minutes=15))

    def _check(self, worst: str = "0.21") -> None:
        proving.record_safety_check(
            self.job,
            PRACTICE,
            safety_readings(PRACTICE, Decimal(worst), self.rng),
            isolating_transformer=False,
            earthed=False,
            instrument="1.5 kΩ / 0.15 µF network, true rms meter",
            person=self.hand.person,
            at=self.calendar.later(minutes=12),
        )

    def _prove(self) -> SoakRun:
        self._look()
        self._check()
        return proving.start_soak(self.job, person=self.hand.person, at=self.calendar.later(minutes=5))

    def _soak(self) -> None:
        if self.plan.ends == "soaking":
            self.calendar.shortly_before_now(hours=2)
        run = self._prove()
        if self.plan.ends == "soaking":
            return
        if self._has("fail_soak"):
            run = self._fade_and_mend(run)
        proving.end_soak(run, passed=True, at=self.calendar.later(hours=self.rng.choice((4, 5, 6)), minutes=10))

    def _fade_and_mend(self, run: SoakRun) -> SoakRun:
        proving.end_soak(
            run, passed=False, note="faded after 22 minutes: V2 loses emission when hot", at=self.calendar.later(minutes=22)
        )
        self._perform("back_to_bench")
        position = self.hand.position("V2")
        self.hand.plan(position)
        row = position_state(position)
        self.hand.fit(row, not_charged="found on soak, at our cost")
        self._perform("finish_repair")
        return self._prove()

    def _ready(self) -> None:
        self._perform("mark_ready")
        if self._has("invoice"):
            self._bill()
