"""Stock, change log and bills driven at random against a plain model: after every step all of them must agree."""

import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule, run_state_machine_as_test

from billing.models import Invoice, InvoiceLine, PaperKind, PaymentKind
from billing.queries import account_of
from billing.queries import standing as standing_lines
from billing.services import Money, credit, issue_invoice, record_payment
from inventory import services as stock
from inventory.models import Balance, Drawer, Hold, Lot, Movement, Part
from jobs.models import Decision, Job, LogEntry, Stage
from jobs.queries.sheet import position_state, sheet_of
from jobs.services import log
from shop.acts import Refused
from shop.models import Profile, Role, Staff
from tests.builders import a_drawer, a_job, a_part, a_staff, position_of, some_work
from tests.conftest import MONDAY
from tests.stateful.plain_shop import Bill, Fitted, Place, PlainShop

DRAWERS, POSITIONS = 3, ("C2", "R1")
PRICE_MINOR = 60  # 0.20 each on the first rung of the ladder, times three
COUNTS = st.integers(1, 4)
PICK = st.integers(0, 99)


class World:
    """The shop that every example starts from."""

    def __init__(self) -> None:
        self.person: Staff = a_staff()
        self.owner: Staff = a_staff("owner", Role.OWNER)
        self.drawers: list[Drawer] = [a_drawer("S", str(n)) for n in range(DRAWERS)]
        self.parts: dict[str, Part] = {
            "C2": a_part("0.01 µF 630 V"),
            "R1": a_part("220 kΩ 1/2 W", "resistance", "carbon_film"),
        }
        self.jobs: list[Job] = [a_job(Stage.REPAIRING, with_fit=False, labour_minor=10_000_000) for _ in range(2)]
        Profile.objects.update(hour_rate_minor=4000)


def machine_of(world: World) -> type[RuleBasedStateMachine]:
    """The machine over a world that is there; each example runs in a savepoint that is rolled back."""

    class StockLogAndBills(RuleBasedStateMachine):
        def __init__(self) -> None:
            super().__init__()
            self.savepoint = transaction.atomic()
            self.savepoint.__enter__()
            self.shop = PlainShop()
            self.lots: dict[int, tuple[Lot, str]] = {}
            self.before = Movement.objects.count()

        def teardown(self) -> None:
            transaction.set_rollback(True)
            self.savepoint.__exit__(None, None, None)

        # picking

        def _place(self, pick: int) -> tuple[Lot, Drawer, Place]:
            places = sorted(self.shop.on_hand)
            place = places[pick % len(places)]
            return self.lots[place[0]][0], next(one for one in world.drawers if one.pk == place[1]), place

        def _place_for(self, designator: str, pick: int) -> tuple[Lot, Drawer, Place] | None:
            places = sorted(place for place in self.shop.on_hand if self.lots[place[0]][1] == designator)
            if not places:
                return None
            place = places[pick % len(places)]
            return self.lots[place[0]][0], next(one for one in world.drawers if one.pk == place[1]), place

        def _author(self) -> log.Author:
            return log.Author(world.person, MONDAY)

        # stock

        @initialize(count=st.integers(2, 8))
        def first_lots(self, count: int) -> None:
            for designator in POSITIONS:
                self.receive(designator, 0, count)

        @rule(designator=st.sampled_from(POSITIONS), drawer=st.integers(0, DRAWERS - 1), count=COUNTS)
        def receive(self, designator: str, drawer: int, count: int) -> None:
            where = world.drawers[drawer]
            receipt = stock.Receipt(world.parts[designator], where, count, 20_000, MONDAY.date())
            lot = stock.receive(receipt, person=world.person, at=MONDAY)
            self.lots[lot.pk] = (lot, designator)
            self.shop.move((lot.pk, where.pk), count)

        @rule(pick=PICK, count=COUNTS)
        def hold(self, pick: int, count: int) -> None:
            lot, drawer, place = self._place(pick)
            if self.shop.free(place) < count:
                with pytest.raises(stock.NotEnough):
                    stock.hold(lot, drawer, count, reference="J", person=world.person, at=MONDAY)
                return
            held = stock.hold(lot, drawer, count, reference="J", person=world.person, at=MONDAY)
            self.shop.holds[held.pk] = (place, count)

        @precondition(lambda self: self.shop.holds)
        @rule(pick=PICK)
        def release(self, pick: int) -> None:
            key = sorted(self.shop.holds)[pick % len(self.shop.holds)]
            stock.release_hold(Hold.objects.get(pk=key), at=MONDAY)
            del self.shop.holds[key]

        @rule(pick=PICK, to=st.integers(0, DRAWERS - 1), count=COUNTS)
        def transfer(self, pick: int, to: int, count: int) -> None:
            lot, source, place = self._place(pick)
            goal = world.drawers[to]
            if source == goal or self.shop.free(place) < count:
                with pytest.raises(Refused):
                    stock.transfer(lot, source, goal, count, person=world.person, at=MONDAY)
                return
            stock.transfer(lot, source, goal, count, person=world.person, at=MONDAY)
            self.shop.move(place, -count)
            self.shop.move((lot.pk, goal.pk), count)

        @rule(pick=PICK, counted=st.integers(0, 9))
        def count_drawer(self, pick: int, counted: int) -> None:
            lot, drawer, place = self._place(pick)
            variance = counted - self.shop.on_hand[place]
            if variance and counted < self.shop.held(place):
                with pytest.raises(Refused, match="are held for jobs"):
                    stock.count_drawer(lot, drawer, counted, reason="yearly count", person=world.person, at=MONDAY)
                return
            stock.count_drawer(lot, drawer, counted, reason="yearly count", person=world.person, at=MONDAY)
            if variance:
                self.shop.move(place, variance)

        @rule(pick=PICK, count=COUNTS)
        def scrap(self, pick: int, count: int) -> None:
            lot, drawer, place = self._place(pick)
            if self.shop.free(place) < count:
                with pytest.raises(stock.NotEnough):
                    stock.scrap(lot, drawer, count, reason="leaky", person=world.person, at=MONDAY)
                return
            stock.scrap(lot, drawer, count, reason="leaky", person=world.person, at=MONDAY)
            self.shop.move(place, -count)

        # the log

        @rule(job=st.integers(0, 1), designator=st.sampled_from(POSITIONS), pick=PICK, count=st.integers(1, 2))
        def plan(self, job: int, designator: str, pick: int, count: int) -> None:
            """Decide to replace: the part is held; a former plan of the position lets its own hold go."""
            found, work = self._place_for(designator, pick), world.jobs[job]
            assert found is not None
            lot, drawer, place = found
            key, kept = (job, designator), self.shop.planned.get((job, designator))
            own = self.shop.holds[kept][1] if kept in self.shop.holds and self.shop.holds[kept][0] == place else 0
            planned = log.Plan(lot.part, count, lot, drawer)
            if self.shop.standing_bill(job) or self.shop.free(place) + own < count:
                with pytest.raises(Refused):
                    log.decide(position_of(work, designator), Decision.REPLACE, self._author(), plan=planned)
                return
            entry = log.decide(position_of(work, designator), Decision.REPLACE, self._author(), plan=planned)
            assert entry.hold_id is not None
            self.shop.holds.pop(kept or 0, None)
            self.shop.holds[entry.hold_id] = (place, count)
            self.shop.planned[key] = entry.hold_id

        @rule(job=st.integers(0, 1), designator=st.sampled_from(POSITIONS), pick=PICK, count=st.integers(1, 2))
        def fit(self, job: int, designator: str, pick: int, count: int) -> None:
            found, work = self._place_for(designator, pick), world.jobs[job]
            assert found is not None
            lot, drawer, place = found
            kept = self.shop.planned.get((job, designator))
            own = self.shop.holds[kept][1] if kept in self.shop.holds and self.shop.holds[kept][0] == place else 0
            fitting = log.Fit(lot, drawer, count)
            if self.shop.standing_bill(job) or self.shop.free(place) + own < count:
                with pytest.raises(Refused):
                    log.fit(position_of(work, designator), fitting, self._author())
                return
            entry = log.fit(position_of(work, designator), fitting, self._author())
            self.shop.holds.pop(kept or 0, None)
            self.shop.move(place, -count)
            self.shop.fitted[entry.pk] = Fitted(job, designator, place, count, PRICE_MINOR)

        @precondition(lambda self: self.shop.fitted)
        @rule(pick=PICK, scrapped=st.booleans())
        def take_out(self, pick: int, scrapped: bool) -> None:
            key = sorted(self.shop.fitted)[pick % len(self.shop.fitted)]
            one = self.shop.fitted[key]
            entry = LogEntry.objects.get(pk=key)
            if self.shop.standing_bill(one.job):
                with pytest.raises(Refused, match="is billed"):
                    log.take_out(entry, "too short", self._author(), scrap=scrapped)
                return
            log.take_out(entry, "too short", self._author(), scrap=scrapped)
            self.shop.move(one.place, one.count)
            if scrapped:
                self.shop.move(one.place, -one.count)
            del self.shop.fitted[key]

        @rule(job=st.integers(0, 1), minutes=st.sampled_from((15, 60, 90)))
        def work(self, job: int, minutes: int) -> None:
            if self.shop.standing_bill(job):
                with pytest.raises(Refused, match="is billed"):
                    some_work(world.jobs[job], minutes, world.person, MONDAY)
                return
            entry = some_work(world.jobs[job], minutes, world.person, MONDAY)
            self.shop.labour[entry.pk] = (job, minutes * 4000 // 60)

        # bills

        @rule(job=st.integers(0, 1))
        def invoice(self, job: int) -> None:
            entries, labour, total = self.shop.to_bill(job)
            if self.shop.standing_bill(job) or not (entries or labour):
                with pytest.raises(Refused):
                    issue_invoice(world.jobs[job], person=world.person, at=MONDAY)
                return
            made = issue_invoice(world.jobs[job], person=world.person, at=MONDAY)
            self.shop.bills[made.number] = Bill(job, entries, labour, total)

        def _bill(self, pick: int) -> tuple[Invoice, Bill]:
            number = sorted(self.shop.bills)[pick % len(self.shop.bills)]
            return Invoice.objects.get(number=number), self.shop.bills[number]

        @precondition(lambda self: self.shop.bills)
        @rule(pick=PICK)
        def take_back_a_bill(self, pick: int) -> None:
            paper, bill = self._bill(pick)
            if bill.credited:
                with pytest.raises(Refused, match="was credited already"):
                    credit(paper, "wrong address", person=world.owner, at=MONDAY)
                return
            credit(paper, "wrong address", person=world.owner, at=MONDAY)
            bill.credited = True
            self.shop.credit_notes += 1

        @precondition(lambda self: self.shop.bills)
        @rule(pick=PICK, amount=st.sampled_from((1, 60, 1000, 9000)))
        def pay(self, pick: int, amount: int) -> None:
            paper, bill = self._bill(pick)
            money = Money(PaymentKind.PAID, amount, "cash")
            if amount > bill.due_minor:
                with pytest.raises(Refused):
                    record_payment(paper, money, person=world.person, at=MONDAY)
                return
            record_payment(paper, money, person=world.person, at=MONDAY)
            bill.paid_minor += amount

        # what must always hold

        @invariant()
        def balances_ledger_and_model_agree(self) -> None:
            wanted = {place: (count, self.shop.held(place)) for place, count in self.shop.on_hand.items()}
            mine = Balance.objects.filter(lot__in=self.lots)
            kept = {(one.lot_id, one.drawer_id): (one.on_hand, one.held) for one in mine}
            assert {place: both for place, both in kept.items() if place in wanted or any(both)} == wanted
            sums = Movement.objects.filter(lot__in=self.lots).order_by().values_list("lot", "drawer").annotate(Sum("count"))
            assert {(lot, drawer): total for lot, drawer, total in sums} == {place: both[0] for place, both in wanted.items()}
            assert Movement.objects.count() - self.before == self.shop.movements
            assert all(on_hand >= held >= 0 for on_hand, held in wanted.values())

        @invariant()
        def the_log_holds_what_is_in_the_sets(self) -> None:
            for number, job in enumerate(world.jobs):
                sheet = sheet_of(job)
                fitted = {key: one for key, one in self.shop.fitted.items() if one.job == number}
                assert {entry.pk for entry in sheet.fitted} == set(fitted)
                assert sheet.parts_minor == sum(one.price_minor * one.count for one in fitted.values())
                assert [entry.seq for entry in sheet.entries] == list(range(1, len(sheet.entries) + 1))

        @invariant()
        def open_holds_are_those_of_the_model(self) -> None:
            assert set(Hold.objects.filter(ended_at__isnull=True, lot__in=self.lots).values_list("pk", flat=True)) == set(
                self.shop.holds
            )

        @invariant()
        def papers_are_numbered_without_gaps_and_sum_up(self) -> None:
            invoices = list(Invoice.objects.filter(kind=PaperKind.INVOICE).order_by("sequence"))
            notes = Invoice.objects.filter(kind=PaperKind.CREDIT_NOTE).order_by("sequence").values_list("sequence", flat=True)
            assert [one.sequence for one in invoices] == list(range(1, len(self.shop.bills) + 1))
            assert list(notes) == list(range(1, self.shop.credit_notes + 1))
            for one in invoices:
                bill = self.shop.bills[one.number]
                assert (one.gross_minor, account_of(one).due_minor) == (bill.gross_minor, bill.due_minor)

        @invariant()
        def nothing_stands_on_two_bills(self) -> None:
            standing = standing_lines(InvoiceLine.objects)
            entries = [one for one in standing.values_list("entry_id", flat=True) if one]
            wanted = [key for bill in self.shop.bills.values() if not bill.credited for key in bill.entries]
            assert sorted(entries) == sorted(wanted)

    return StockLogAndBills


@pytest.mark.django_db
def test_stock_log_and_bills_agree_after_every_step() -> None:
    # A failing run of 25 steps can be read as it is; shrinking it through the database would take minutes.
    bounds = settings(
        max_examples=15,
        stateful_step_count=25,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(machine_of(World()), settings=bounds)


@pytest.mark.django_db
def test_an_example_leaves_nothing_behind() -> None:
    """The machine's own footing: what one example wrote is gone before the next."""
    world = World()
    before = (Movement.objects.count(), LogEntry.objects.count())
    one = machine_of(world)()
    one.receive("C2", 0, 3)  # type: ignore[attr-defined]
    assert position_state(position_of(world.jobs[0])).fitted == []
    one.teardown()
    assert (Movement.objects.count(), LogEntry.objects.count()) == before
