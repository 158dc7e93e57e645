"""What goes on behind the counter over the months: price lists, orders and their bills, counts, valves one by one."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile

from inventory import services as stock
from inventory.models import Balance, Drawer, Kind, Lot, Offer, Order, OrderLine, Part, Supplier, SupplierBill
from inventory.price_lists.layout import BREAKS, CODE, CSV, LEAD, LEAST, PACK, PRICE, TEXT, Column, Layout
from inventory.queries.exchange import amount_minor
from inventory.queries.on_order import with_received
from inventory.services.bad_lots import Finding, find_bad
from inventory.services.offers import link_offers
from inventory.services.order_receipts import ArrivedLine, receive_on_order
from inventory.services.ordering import open_count as still_open
from inventory.services.ordering import send_order
from inventory.services.orders import OrderDraftLine, draft_order
from inventory.services.price_lists import take_list, try_list
from inventory.services.supplier_bills import BillFacts, BillLineFacts, accept_bill, add_bill
from inventory.services.supplier_claims import Asking, claim_back
from inventory.services.waiting_lists import keep
from inventory.services.writedowns import Judged, write_down, writedown_seen
from jobs.models import Cause, ClaimFinding, Job, Stage, Warranty
from jobs.services.set_hands import NewOwner, hand_on
from shop.demo.people import Cast, data
from shop.demo.plans import plans
from shop.money import minor_digits
from shop.tabular import csv_bytes

# What each supplier sells: kinds of part, and the letters of its order codes.
RANGES: dict[str, tuple[str, tuple[str, ...]]] = {
    "Pallas & Quern Components": ("PQ", (Kind.RESISTOR, Kind.CAPACITOR, Kind.TRANSISTOR, Kind.LAMP)),
    "Nightjar Valve Merchants": ("NV", (Kind.VALVE,)),
    "Brennholt Bauteile": ("BB", (Kind.RESISTOR, Kind.CAPACITOR, Kind.VALVE, Kind.INDUCTOR, Kind.WINDING)),
}
HEADINGS = ("Code", "Goods", "Each", "By count", "Pack", "Least", "Days")
BACK_ROOM_STEPS = 14
COLUMNS = tuple(Column(place, meaning) for place, meaning in enumerate((CODE, TEXT, PRICE, BREAKS, PACK, LEAST, LEAD)))


class BackRoom:
    """Told step by step, as the jobs are, so that everything happens in the order of time."""

    key = "back room"

    def __init__(self, cast: Cast, opened_at: datetime, now: datetime) -> None:
        self.cast, self.opened_at, self.now, self.at = cast, opened_at, now, opened_at
        self.rng = Random(self.key)

    def told(self) -> tuple[tuple[float, Callable[[], None]], ...]:
        """Days before now, and what happens then."""
        return (
            (280, self.draw_the_fronts),
            (240, self.take_the_first_lists),
            (150, self.order_and_receive_all),
            (60, self.take_a_dearer_list),
            (45, self.count_a_drawer),
            (31, self.write_a_lot_down),
            (21, self.order_abroad),
            (12, self.receive_a_part_of_it),
            (10, self.hold_their_bill_against_it),
            (9, self.set_valves_apart),
            (5, self.hand_a_set_on),
            (3, self.order_valves),
            (0.1, self.begin_a_count),
            (0.02, self.find_a_bad_lot),
        )

    def steps(self) -> Iterator[datetime]:
        for days, step in self.told():
            self.at = max(self.now - timedelta(days=days), self.opened_at + timedelta(hours=70))
            yield self.at
            step()

    # the cabinets

    def draw_the_fronts(self) -> None:
        for cabinet, across in data("parts.toml")["fronts"]:
            stock.set_face(cabinet, across)

    def count_a_drawer(self) -> None:
        """Three resistors fell behind the bench, two too many lie elsewhere."""
        count = stock.open_count(Drawer.objects.get(cabinet="A", tray="3"), person=self.cast.second, at=self.at)
        there = {one.lot_id: one.on_hand for one in Balance.objects.filter(drawer=count.drawer, on_hand__gt=5).order_by("pk")}
        short, over = list(there)[:2]
        there[short] -= 3
        there[over] += 2
        stock.enter(count, there, at=self.at)
        reasons = {short: "three were cut too short and thrown away unwritten", over: "two lay loose behind the tray"}
        stock.book_count(count, reasons, person=self.cast.owner, at=self.at + timedelta(minutes=40))

    def begin_a_count(self) -> None:
        stock.open_count(Drawer.objects.get(cabinet="E", tray="1"), person=self.cast.bench, at=self.at)

    def write_a_lot_down(self) -> None:
        lot = Lot.objects.filter(part__kind=Kind.WINDING, balances__on_hand__gt=0).order_by("pk").first()
        assert lot is not None
        judged = Judged(unit_milli=lot.unit_cost_milli // 2, from_on=self.at.date(), reason="the winding's cover is cracked")
        write_down(lot, judged, seen=writedown_seen(lot), person=self.cast.owner, at=self.at)

    # the suppliers

    def take_the_first_lists(self) -> None:
        for name in RANGES:
            self._take_list(name, Fraction(1))

    def take_a_dearer_list(self) -> None:
        self._take_list("Pallas & Quern Components", Fraction(104, 100))

    def _take_list(self, name: str, dearer: Fraction) -> None:
        supplier = Supplier.objects.get(name=name)
        content = csv_bytes(HEADINGS, list(self._offers(supplier, dearer)))
        upload = SimpleUploadedFile(f"prices-{self.at:%Y-%m}.csv", content)
        waiting = keep(upload, supplier, person=self.cast.owner, at=self.at)
        layout = Layout(CSV, supplier.currency or "GBP", encoding="utf-8", columns=COLUMNS, headings=HEADINGS)
        try_list(waiting, layout, supplier)
        trial = waiting.trial()
        assert trial is not None
        take_list(trial, person=self.cast.owner, at=self.at)
        self._link(supplier)

    def _offers(self, supplier: Supplier, dearer: Fraction) -> Iterator[list[str | int | None]]:
        """A line for each of our parts of their range, with two breaks; bags of ten for what costs pennies."""
        letters, kinds = RANGES[supplier.name]
        for part, cost in self._costs(kinds):
            milli = round(cost * dearer * Fraction(Random(f"{letters}{part.pk}").randint(88, 118), 100) / self._rate(supplier))
            pack = 10 if cost < 15_000 else 1
            breaks = "; ".join(f"{count}: {_price(milli * off // 100)}" for count, off in ((10 * pack, 92), (50 * pack, 83)))
            yield [f"{letters}-{part.pk:04d}", part.title, _price(milli), breaks, pack, pack, None]

    def _costs(self, kinds: tuple[str, ...]) -> Iterator[tuple[Part, int]]:
        seen: set[int] = set()
        for lot in Lot.objects.filter(part__kind__in=kinds, mark="").select_related("part").order_by("part", "pk"):
            if lot.part_id not in seen:
                seen.add(lot.part_id)
                yield lot.part, lot.unit_cost_milli

    def _rate(self, supplier: Supplier) -> Fraction:
        return Fraction(supplier.exchange_ppm, 1_000_000)

    def _link(self, supplier: Supplier) -> None:
        """The owner knows the goods by their title; what has a card of ours already stays linked."""
        cards = {part.title: part.pk for part in Part.objects.all()}
        unlinked = Offer.objects.filter(supplier=supplier, part__isnull=True)
        wanted = {offer.pk: cards[offer.text] for offer in unlinked if offer.text in cards}
        keys = list(wanted)
        for start in range(0, len(keys), 50):
            link_offers(supplier, {key: wanted[key] for key in keys[start : start + 50]})

    def _order(self, name: str, kind: str, counts: tuple[int, ...], for_what: str = "") -> Order:
        supplier = Supplier.objects.get(name=name)
        offers = Offer.objects.filter(supplier=supplier, part__kind=kind, is_offered=True).select_related("part").order_by("code")
        lines = []
        for offer, count in zip(self.rng.sample(list(offers), len(counts)), counts, strict=True):
            assert offer.part is not None
            pieces = -(-count // offer.pack_size) * offer.pack_size
            lines.append(
                OrderDraftLine(
                    offer.part,
                    offer,
                    offer.code,
                    offer.text,
                    pieces,
                    offer.pack_size,
                    offer.unit_milli_at(pieces),
                    for_what,
                )
            )
        order = draft_order(supplier, lines, person=self.cast.counter, at=self.at)
        return send_order(order, person=self.cast.counter, at=self.at + timedelta(minutes=20))

    def _arrive(self, order: Order, counts: dict[int, int]) -> None:
        rate = Fraction(order.exchange_ppm, 1_000_000)
        lines = OrderLine.objects.filter(pk__in=counts).select_related("part", "order").order_by("pk")
        arrived = [
            ArrivedLine(line, counts[line.pk], self._home(line.part), round(line.unit_milli * rate), date_code="2618")
            for line in lines
        ]
        receive_on_order(order, arrived, received_on=self.at.date(), person=self.cast.counter, at=self.at)

    def _home(self, part: Part) -> Drawer:
        """Where parts of this kind lie already."""
        known = Balance.objects.filter(lot__part=part).select_related("drawer").order_by("pk").first()
        assert known is not None
        return known.drawer

    def order_and_receive_all(self) -> None:
        order = self._order("Pallas & Quern Components", Kind.CAPACITOR, (40, 60, 20), "stock")
        self.at += timedelta(days=5)
        lines = list(order.lines.all())  # type: ignore[attr-defined]
        self._arrive(order, {line.pk: line.count for line in lines})
        bill = self._bill(order, "PQ 88120", dearer_milli=0)
        accept_bill(bill, person=self.cast.owner, at=self.at + timedelta(hours=2))

    def order_abroad(self) -> None:
        self.abroad = self._order("Brennholt Bauteile", Kind.VALVE, (4, 2, 6), "stock, and two for a set on the shelf")

    def receive_a_part_of_it(self) -> None:
        first, second, _ = _lines(self.abroad)
        self._arrive(self.abroad, {first.pk: still_open(first), second.pk: 1})

    def hold_their_bill_against_it(self) -> None:
        """They charge a little more than was ordered, so the bill waits for the owner."""
        self._bill(self.abroad, "2026/4471", dearer_milli=15_000)

    def _bill(self, order: Order, number: str, *, dearer_milli: int) -> SupplierBill:
        came = [(line, line.count - still_open(line)) for line in _lines(order)]
        lines = [BillLineFacts(line.text, count, line.unit_milli + dearer_milli, line) for line, count in came if count]
        net = sum(amount_minor(one.count, one.unit_milli) for one in lines) + order.carriage_minor
        facts = BillFacts(
            number,
            self.at.date(),
            order.currency,
            net,
            tax_minor=net // 5 if order.currency == "GBP" else 0,
            carriage_minor=order.carriage_minor,
            due_on=self.at.date() + timedelta(days=30),
        )
        return add_bill(order.supplier, facts, lines, person=self.cast.counter, at=self.at)

    def order_valves(self) -> None:
        self._order("Nightjar Valve Merchants", Kind.VALVE, (2, 4), "a set that waits for its rectifier")

    # valves one by one

    def set_valves_apart(self) -> None:
        person, day = self.cast.second, self.at.date()
        tester = stock.add_tester(
            stock.TesterFacts("grey emission tester", day - timedelta(days=120), "shorts test works, meter re-magnetised"),
            today=day,
        )
        lot = Lot.objects.filter(part__kind=Kind.VALVE, mark="", balances__on_hand__gte=4).order_by("-received_on", "pk").first()
        assert lot is not None
        place = lot.balances.get(on_hand__gte=4)  # type: ignore[attr-defined]
        apart = stock.set_apart(lot, place.drawer, stock.next_marks(3), person=person, at=self.at)
        for one, (reading, percent, verdict) in zip(
            apart, (("96", 96, "good"), ("95", 95, "good"), ("61", 61, "weak")), strict=True
        ):
            stock.record_test(one, stock.Tested(tester, reading, verdict, day, percent), person=person, at=self.at)
        stock.match(apart[:2], "96 and 95 on the same tester, same day", person=person, at=self.at)

    # what came out later

    def hand_a_set_on(self) -> None:
        """A set under warranty is sold to another customer, and what was promised goes along."""
        running = Warranty.objects.filter(starts_on__gte=self.at.date() - timedelta(days=60))
        gone = Job.objects.filter(stage=Stage.HANDED_OVER, warranty__in=running).exclude(radio__jobs__in=Job.objects.open())
        # Sets that come back under warranty, now or later, come from who had them.
        job = gone.exclude(radio__serial__in=[one.serial for one in plans() if one.warranty_of]).order_by("pk").first()
        assert job is not None
        other = next(one for one in self.cast.customers if one.pk != job.customer_id)
        new = NewOwner(other, self.at.date(), "sold at the wireless fair, with its warranty record")
        hand_on(job.radio, new, seen=job.radio.version, person=self.cast.counter, at=self.at)

    def find_a_bad_lot(self) -> None:
        """The new part that failed in a set that came back: nothing of its lot is fitted any more, and its owners are told."""
        failed = ClaimFinding.objects.filter(cause=Cause.PART).order_by("pk").last()
        assert failed is not None
        assert failed.line is not None
        assert failed.line.entry is not None
        lot = failed.line.entry.lot
        assert lot is not None
        danger = "It leaks after some hours; the valve behind it runs hot, and so may the transformer."
        found = Finding("leaks once it is warm", danger, reference=failed.claim.job.number)
        find_bad(lot, found, person=self.cast.bench, at=self.at)
        asked = Asking(1, "leaks after some hours", self.at.date(), failed.claim.job.number, late_why="the fault shows late")
        claim_back(lot, asked, person=self.cast.counter, at=self.at)


def _lines(order: Order) -> list[OrderLine]:
    """With what came in on each."""
    return list(with_received(OrderLine.objects.filter(order=order)).order_by("pk"))


def _price(milli: int) -> str:
    """Thousandths of the smallest coin as a sum: 3250 is `0.03250`."""
    return f"{Decimal(max(milli, 1)).scaleb(-(minor_digits('GBP') + 3)):f}"
