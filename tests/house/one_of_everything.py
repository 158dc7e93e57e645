"""A shop with one of everything in it, for the tests that walk every page."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Model
from django.test import override_settings
from django.utils import timezone

from billing.models import Invoice, InvoiceLine, Payment, UncollectedSale
from billing.services import credit
from inventory.models import (
    BadLot,
    Balance,
    Drawer,
    DrawerCount,
    Hold,
    Kind,
    Lot,
    LotPhoto,
    MatchedSet,
    Offer,
    Order,
    OrderLine,
    Part,
    PriceList,
    Supplier,
    SupplierBill,
    SupplierClaim,
    ValveTester,
)
from inventory.services import enter, open_count
from inventory.services.ordering import will_not_come
from inventory.services.orders import drop_draft
from inventory.services.supplier_bills import accept_bill
from jobs.models import (
    Alternative,
    ClaimFinding,
    CollectionNotice,
    Estimate,
    EstimateLine,
    FlatTask,
    Job,
    LabourEntry,
    LogEntry,
    Photo,
    Position,
    Reforming,
    SafetyCheck,
    SetClass,
    SheetPage,
    SheetPlace,
    Stage,
    Timer,
    TolerancePractice,
)
from jobs.models.estimate import EstimateLineKind
from jobs.services import estimates, log, reforming, stages
from jobs.services.called_for import CalledRow, add_position
from jobs.services.collection import Notice, record_notice
from jobs.services.consents import take_deposit
from jobs.services.estimates import make_link
from jobs.services.labour import start_clock
from jobs.services.own_parts import Brought, bring
from jobs.services.photos import add_photo
from jobs.services.practices import PracticeFacts, add_practice
from jobs.services.service_sheets import set_aside
from jobs.services.supply import TypedFigures, save_figures
from shop.backup.copies import copies_in
from shop.backup.places import own_place
from shop.calendars.links import make_link as make_calendar_link
from shop.clock import now
from shop.long_work import Asked, begin, run_here
from shop.models import AccessKind, Bench, CalendarLink, LongWork, Role, SecondFactor, SignedIn, Staff, WorkState
from shop.pictures import read_picture
from shop.sign_in.events import note
from tests import builders as make
from tests.conftest import StillClock
from tests.inventory.builders import valves_apart
from tests.inventory.list_files import a_price_list
from tests.inventory.orders import a_bill, a_draft, a_sent_order, an_offer, arrive, draft_line, line_of, supplied_by
from tests.jobs.bad_lots import a_bad_lot, a_letter, a_supplier_claim
from tests.jobs.claims import a_claim, decided, found
from tests.jobs.service_sheets import a_page
from tests.pictures import a_picture
from tests.shop.some_copies import a_copy

# No page may be pushed wide by it, nor be harmed by what looks like a tag in it.
LONG_WORD = "<b>" + "Hum" * 20 + "</b>&"
CASE = {"counter": Role.COUNTER, "bench": Role.BENCH, "owner": Role.OWNER}


@dataclass
class Everything:
    """One of everything; `jobs` has a job at each stage, `token` opens the estimate that is with the customer."""

    staff: dict[str, Staff] = field(default_factory=dict)
    jobs: dict[str, Job] = field(default_factory=dict)
    token: str = ""
    calendar: str = ""
    photo: Photo | None = None


def one_of_everything() -> Everything:
    make.a_profile(parts_tax_bp=2000, labour_tax_bp=2000)
    shop = Everything(staff={name: make.a_staff(name, role, f"{name.title()} Marlpit") for name, role in CASE.items()})
    _drawers(shop)
    for number, stage in enumerate(Stage):
        customer = make.a_customer(f"Iwona Brzask {number}", email=f"iwona{number}@example.org", phone=f"020 7946 00{number:02}")
        facts = {"fault": LONG_WORD, "cabinet": LONG_WORD, "stands_at": LONG_WORD} if stage == Stage.REPAIRING else {}
        shop.jobs[stage] = make.a_job(stage, customer=customer, person=shop.staff["owner"], **facts)
    _work(shop, shop.jobs[Stage.REPAIRING])
    _brought(shop.jobs[Stage.REPAIRING], shop.staff["counter"])
    _service_sheet(shop)
    _papers(shop)
    _claim(shop)
    _counts(shop)
    _orders()
    _bad_lot(shop)
    _price_lists(shop)
    _long_works(shop)
    _copies()
    _signed_in(shop)
    return shop


def _long_works(shop: Everything) -> None:
    """One with its file, one under way, one that failed; a calendar that was read just now."""
    for name, state in (("tags", ""), ("claim_checks", WorkState.RUNNING), ("statements", WorkState.FAILED)):
        asked = Asked(name, f"Many papers {LONG_WORD}", {"root": "http://shop.example", "day": "2026-03-02"})
        if not state:
            run_here(asked, person=shop.staff["counter"], at=now())
            continue
        work = begin(asked, person=shop.staff["counter"], at=now(), back="/jobs/")
        LongWork.objects.filter(pk=work.pk).update(state=state, heard_at=now(), done=2, total=5, message=LONG_WORD)
    shop.calendar = make_calendar_link(f"my telephone {LONG_WORD[:40]}", person=shop.staff["owner"], at=now())
    CalendarLink.objects.update(read_at=now())


def _signed_in(shop: Everything) -> None:
    """The owner in a browser of long name; the bench with a second factor, and a miss of its password."""
    owner, bench = shop.staff["owner"], shop.staff["bench"]
    SignedIn.objects.create(person=owner, session_key="elsewhere", began_at=now(), seen_at=now(), device=LONG_WORD)
    SecondFactor.objects.create(person=bench, secret="sealed", made_at=now(), confirmed_at=now())
    note(AccessKind.FAILED, at=now(), person=bench, address="192.0.2.7", note=LONG_WORD)


def _copies() -> None:
    """A good one, one that was found bad, one of another name before new tables, never proven."""
    place, when = own_place(), now()
    a_copy(place, when - timedelta(days=2), problems=(LONG_WORD,))
    a_copy(place, when - timedelta(days=1), problems=None, why="before_tables", before=(LONG_WORD,) * 6, shop=LONG_WORD)
    a_copy(place, when)


def _brought(job: Job, counter: Staff) -> None:
    brought = Brought(make.a_part("EBL21", "valve"), make.a_drawer("B", "4"), 2, note=LONG_WORD)
    bring(job, brought, person=counter, at=now())


def _service_sheet(shop: Everything) -> None:
    """Two pages that stand and one set aside; places at the edges, one of a position that no list names."""
    model, owner = shop.jobs[Stage.REPAIRING].radio.model, shop.staff["owner"]
    page = a_page(model, LONG_WORD, owner, C1=(0, 0), C2=(5000, 5000), R1=(10_000, 10_000))
    SheetPlace.objects.create(page=page, designator="C99", x=9_990, y=10)
    a_page(model, "Chassis from below", owner, C2=(3000, 3000), V1=(6000, 200))
    set_aside(a_page(model, f"Old {LONG_WORD}", owner), at=now(), seen=1)


def _bad_lot(shop: Everything) -> None:
    """A lot that is in a set handed over, its owner told and heard; claimed from its supplier, one claim open, one credited."""
    job, owner = shop.jobs[Stage.HANDED_OVER], shop.staff["owner"]
    supplier = make.a_supplier("Ohm & Sons", 365)
    of_one = a_bad_lot(job, LONG_WORD, person=owner, supplier=supplier, reference=job.number)
    a_letter(of_one, "it hums", person=owner)
    a_supplier_claim(of_one.lot, LONG_WORD, person=owner)
    a_supplier_claim(of_one.lot, "leaks", person=owner, credited_minor=5, reference=job.number)


def _price_lists(shop: Everything) -> None:
    """A list with rejected lines; its valve is linked to a card, its capacitor may be one."""
    taken = a_price_list(make.a_supplier(), shop.staff["counter"], f"{LONG_WORD}.csv", [[5, LONG_WORD, LONG_WORD]])
    taken.offers.filter(code="EL84").update(part=Part.objects.filter(marking="12SK7").first())  # type: ignore[attr-defined]
    make.a_part("0.047 µF 630 V")


def _orders() -> None:
    """An order in writing, one with a rest on back order, one dropped; a bill that differs, one accepted."""
    supplier, when = supplied_by(carriage_minor=450, minimum_order_minor=5000), now()
    part = make.a_part("0.022 µF 630 V")
    offer = an_offer(part, supplier)
    line = draft_line(part, 20, 30_000, offer=offer, code=offer.code, pack_size=10, for_what=LONG_WORD)
    a_draft(line, supplier=supplier)
    sent = a_sent_order(line, draft_line(make.a_part("10 kΩ 1 W", Kind.RESISTOR), 100, 1_250), supplier=supplier)
    arrive(line_of(sent), 12)
    will_not_come(line_of(sent, 1), 40, reason=LONG_WORD, at=when)
    drop_draft(a_draft(supplier=supplier), at=when)
    a_bill(line_of(sent), 8, 31_000, note=LONG_WORD)
    agreed = a_bill(line_of(sent), 4, number="R 1208")
    accept_bill(agreed, person=make.a_staff("owner", Role.OWNER), at=when, why="carriage comes with the rest")


def _claim(shop: Everything) -> None:
    """A set that came back: one finding that is covered, one corrected, one that can't be told yet; decided once."""
    earlier = make.a_job(Stage.HANDED_OVER, radio=make.a_set(shop.jobs[Stage.HANDED_OVER].customer, serial="back"))
    claim = a_claim(earlier)
    first = found(claim, same_fault="unsure", text=LONG_WORD)
    found(claim, corrects=first, text=f"C2 is open {LONG_WORD}")
    decided(claim, "partly", why=LONG_WORD, shares={None: 40})
    found(claim, "R1", same_fault="unsure", text=LONG_WORD)
    shop.jobs["claim"] = claim.job


def _counts(shop: Everything) -> None:
    """A drawer that is being counted, one whose count differs and isn't booked yet; valves set apart."""
    bench, when = shop.staff["bench"], now()
    valves_apart(make.a_lot(make.a_part("12SK7", "valve"), drawer=make.a_drawer("V", "1")), bench)
    open_count(Drawer.objects.get(cabinet="B", tray="2"), person=bench, at=when)
    entered = open_count(Drawer.objects.get(cabinet="B", tray="3"), person=bench, at=when)
    enter(entered, {line.lot_id: 8 for line in entered.lots.all()}, at=when)  # type: ignore[attr-defined]


def _drawers(shop: Everything) -> None:
    make.a_bench()
    make.a_flat_task()
    SetClass.objects.create(name=f"Five valves {LONG_WORD[:40]}")
    add_practice(PracticeFacts("tuned_circuit", "museum", -1000, 1500, LONG_WORD))
    reel = make.a_part("220 kΩ 1/2 W", Kind.RESISTOR)
    make.a_lot(reel, supplier=make.a_supplier(), person=shop.staff["bench"])
    electrolytic = make.a_part("47 µF 450 V", technology="electrolytic", polarised=True)
    make.a_lot(electrolytic, drawer=make.a_drawer("B", "2"), supplier=make.a_supplier())
    blocked = make.a_lot(make.a_part("0.1 µF 630 V"), drawer=make.a_drawer("B", "3"))
    Lot.objects.filter(pk=blocked.pk).update(blocked_reason="leaky out of the bag")


def _work(shop: Everything, job: Job) -> None:
    bench, when = shop.staff["bench"], now()
    stages.put_on_bench(job, Bench.objects.get(), at=when)
    make.a_fit(job, person=bench)
    make.a_measurement(job, person=bench)
    log.record_wiring(job, f"the tone switch is bridged {LONG_WORD}", log.Author(bench, when))
    log.record_found(make.position_of(job, "C3"), f"two 8 µF in one can, {LONG_WORD}", log.Author(bench, when))
    make.plan_part(job, "R1", Part.objects.filter(kind=Kind.RESISTOR).first(), person=bench)
    make.some_work(job, person=bench)
    start_clock(job, "repair", person=bench, at=when - timedelta(minutes=40))
    add_photo(job, read_picture(BytesIO(a_picture()), "underside.png", 10**7), person=bench, at=when, caption=LONG_WORD)
    take_deposit(job, 2_000, "cash", person=bench, at=when)
    _under_power(job, bench)


def _under_power(job: Job, bench: Staff) -> None:
    """An output valve with its voltages; the model's supply; one capacitor forming, one that came back."""
    when = now()
    line = TypedFigures("half-wave", "117 V", "60 Hz", "55 mA", source="30 Ω", rectifier="35W4", note=LONG_WORD)
    save_figures(job.radio.model, line, seen=0)
    for row in (CalledRow("V3", "valve", "EL84"), CalledRow("R9", "cathode_resistor", "135 ohms 1/2W")):
        add_position(job, row, keep_with_model=False)
    for point, volts in (("plate", "257"), ("cathode", "7.3"), ("screen", "250")):
        log.record_voltage(make.position_of(job, "V3"), point, volts, log.Author(bench, when), note=LONG_WORD)
    forming = reforming.start(make.position_of(job, "C3"), reforming.Setup("47 µF 160 V", note=LONG_WORD), person=bench, at=when)
    reforming.add_reading(forming, reforming.Typed("16", "1.9", LONG_WORD), person=bench, at=when)
    reforming.add_reading(forming, reforming.Typed("16", "0.9"), person=bench, at=when + timedelta(minutes=5))
    back = reforming.start(Lot.objects.get(part__marking="47 µF 450 V"), reforming.Setup("47 µF 450 V"), person=bench, at=when)
    reforming.add_reading(back, reforming.Typed("450", "0.3"), person=bench, at=when)
    reforming.end(back, "sound", person=bench, at=when)


def _papers(shop: Everything) -> None:
    owner, when = shop.staff["owner"], now()
    sent = Estimate.objects.get(job=shop.jobs[Stage.AWAITING_CONSENT])
    shop.token = make_link(sent, person=owner, at=when)
    draft = estimates.draft(shop.jobs[Stage.REPAIRING], person=owner, at=when)
    fee = estimates.TypedLine(EstimateLineKind.FEE, "Carriage", low_minor=1_000, high_minor=2_000)
    estimates.add_line(draft, fee)
    estimates.offer(draft)
    shop.photo = _revised(shop, owner)
    make.an_invoice(shop.jobs[Stage.READY], person=owner)
    reminder = Notice("collect", timezone.localdate(when), "registered post", f"{LONG_WORD}\n1 Pettiwick Row")
    record_notice(shop.jobs[Stage.READY], reminder, person=owner, at=when)
    credited = Invoice.objects.get(job=shop.jobs[Stage.HANDED_OVER])
    make.a_safety_check(shop.jobs[Stage.PROVING], person=owner)
    credit(credited, "the name was wrong", person=owner, at=when)


def _revised(shop: Everything, owner: Staff) -> Photo:
    """The version that is with the customer replaced by one that a finding with its photo gave the reason for."""
    job, when = shop.jobs[Stage.AWAITING_CONSENT], now()
    place = make.position_of(job, "C3")
    note = log.record_note(job, f"the can is bulged {LONG_WORD}", log.Author(owner, when), position=place)
    picture = read_picture(BytesIO(a_picture()), "can.png", 10**7)
    photo = add_photo(job, picture, person=owner, at=when, caption=LONG_WORD, position=place)
    draft = estimates.draft_from(job, note, person=owner, at=when)
    estimates.offer(draft)
    estimates.remove_alternative(draft.alternatives.get(tier=3))  # type: ignore[attr-defined]
    more = estimates.TypedLine(EstimateLineKind.FEE, f"Cabinet {LONG_WORD}", low_minor=3_000, high_minor=4_000)
    line = estimates.add_line(draft, more)
    estimates.place(draft, {line.pk: 2})
    sent = estimates.send(draft, person=owner, at=when)
    shop.token = make_link(sent, person=owner, at=when)
    return photo


def copies_beside(photos: Path) -> Path:
    return photos.parent / f"{photos.name}-copies"


@contextmanager
def opened_shop(blocker: Any, photos: Path) -> Iterator[Everything]:
    """For a module's fixture: the shop is filled once, and every test works in a savepoint of the same transaction."""
    with blocker.unblock(), pytest.MonkeyPatch.context() as patch, transaction.atomic():
        patch.setattr(timezone, "now", StillClock())
        kept = {"MEDIA_ROOT": photos, "BACKUP_FOLDER": copies_beside(photos)}
        with override_settings(**kept, PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
            yield one_of_everything()
        transaction.set_rollback(True)


# What a number in an address stands for, by the word before it.
NAMED_BY: dict[str, Callable[[Everything], list[Model]]] = {
    "jobs": lambda shop: [shop.jobs[Stage.REPAIRING], *(job for stage, job in shop.jobs.items() if stage != Stage.REPAIRING)],
    "positions": lambda shop: [make.position_of(shop.jobs[Stage.REPAIRING]), *Position.objects.filter(designator="C1")[:3]],
    "reforming": lambda shop: list(Reforming.objects.order_by("pk")),
    "clocks": lambda shop: list(Timer.objects.all()),
    "labour": lambda shop: list(LabourEntry.objects.all()[:1]),
    "calendar": lambda shop: list(CalendarLink.objects.filter(person=shop.staff["owner"])),
    "safety": lambda shop: list(SafetyCheck.objects.all()[:2]),
    "estimates": lambda shop: [
        Estimate.objects.get(state="sent"),
        Estimate.objects.get(state="draft"),
        *Estimate.objects.filter(state__in=("agreed", "declined"))[:2],
    ],
    "alternatives": lambda shop: list(Alternative.objects.filter(estimate__state="draft")[:2]),
    "entries": lambda shop: list(LogEntry.objects.filter(kind="note", position__isnull=False)[:1]),
    "claim-findings": lambda shop: [ClaimFinding.objects.filter(corrected_by=None).order_by("-pk")[0]],
    "sales": lambda shop: list(UncollectedSale.objects.all()),
    "notices": lambda shop: list(CollectionNotice.objects.all()[:1]),
    "set-classes": lambda shop: list(SetClass.objects.all()[:1]),
    "lines": lambda shop: list(EstimateLine.objects.filter(estimate__state="draft", from_log=False)),
    "sets": lambda shop: [shop.jobs[Stage.REPAIRING].radio],
    "photos": lambda shop: list(Photo.objects.all()[:1]),
    "service-sheets": lambda shop: list(SheetPage.objects.order_by("pk")),
    "sheet-places": lambda shop: list(SheetPlace.objects.order_by("pk")[:2]),
    "models": lambda shop: [shop.jobs[Stage.REPAIRING].radio.model],
    "customers": lambda shop: [shop.jobs[Stage.HANDED_OVER].customer],
    "signed-in": lambda shop: list(SignedIn.objects.filter(device=LONG_WORD)),
    "staff": lambda shop: list(Staff.objects.filter(username="bench")),
    "flat-tasks": lambda shop: list(FlatTask.objects.all()[:1]),
    "practices": lambda shop: list(TolerancePractice.objects.all()[:1]),
    "benches": lambda shop: list(Bench.objects.all()[:1]),
    "parts": lambda shop: list(Part.objects.filter(lots__movements__kind="fitted").distinct()[:1]),
    "lots": lambda shop: [
        *Lot.objects.exclude(mark="")[:1],
        *Lot.objects.filter(blocked_reason="")[:1],
        *Lot.objects.exclude(blocked_reason=""),
    ],
    "suppliers": lambda shop: list(Supplier.objects.all()[:1]),
    "drawers": lambda shop: list(Drawer.objects.all()[:1]),
    "matched": lambda shop: list(MatchedSet.objects.all()[:1]),
    "testers": lambda shop: list(ValveTester.objects.all()[:1]),
    "lot-photos": lambda shop: list(LotPhoto.objects.all()[:1]),
    "counts": lambda shop: list(DrawerCount.objects.order_by("pk")),
    "holds": lambda shop: list(Hold.objects.filter(ended_at=None)[:1]),
    "orders": lambda shop: [
        Order.objects.filter(state="draft")[0],
        *Order.objects.filter(state="sent"),
        *Order.objects.filter(state="dropped"),
    ],
    "order-lines": lambda shop: [
        *OrderLine.objects.filter(order__state="draft")[:1],
        *OrderLine.objects.filter(order__state="sent"),
    ],
    "price-lists": lambda shop: list(PriceList.objects.all()),
    "offers": lambda shop: list(Offer.objects.filter(price_list__isnull=False)),
    "bad-lots": lambda shop: list(BadLot.objects.order_by("pk")),
    "supplier-claims": lambda shop: list(SupplierClaim.objects.order_by("pk")),
    "supplier-bills": lambda shop: list(SupplierBill.objects.all()),
    "papers": lambda shop: list(Invoice.objects.all()[:4]),
    "payments": lambda shop: list(Payment.objects.all()[:2]),
    "bill-lines": lambda shop: list(InvoiceLine.objects.filter(credits_line=None).order_by("kind", "pk")[:3]),
}


# Papers that are there only from some stage on.
ONLY_AT = {f"billing:warranty_{form}": (Stage.HANDED_OVER,) for form in ("pdf", "page")} | {"jobs:claim_pdf": ("claim",)}


def samples(shop: Everything, route: str, name: str) -> list[dict[str, Any]]:
    """The arguments with which an address is tried; the first is the one that every role tries."""
    if "<uuid:key>" in route:
        return [{"key": one.key} for one in LongWork.objects.order_by("pk")]
    if "<path:rest>" in route:
        return [{"rest": "that/broke/off"}]
    if "<slug:copy>" in route:
        return [{"copy": one.name} for one in copies_in(own_place())]
    if "<slug:copy>" in route:
        return [{"copy": one.name} for one in copies_in(own_place())]
    if name == "calendar_feed":
        return [{"token": shop.calendar}]
    if "<str:token>" in route and "<int:pk>" in route:
        return [{"token": shop.token, "pk": shop.photo.pk if shop.photo else 0}]
    if "<str:token>" in route:
        return [{"token": shop.token}]
    if name in ONLY_AT:
        return [{"pk": shop.jobs[stage].pk} for stage in ONLY_AT[name]]
    if "<int:lot_pk>" in route:
        return [{"lot_pk": one.lot_id, "drawer_pk": one.drawer_id} for one in Balance.objects.filter(on_hand__gt=0)[:1]]
    before, parameter, _ = route.partition("/<int:pk>")
    if not parameter:
        return [{}]
    word = before.rpartition("/")[2]
    assert word in NAMED_BY, f"{name}: say in NAMED_BY what the number in {route!r} stands for"
    found = NAMED_BY[word](shop)
    assert found, f"{name}: the shop has nothing for {route!r}"
    return [{"pk": one.pk} for one in found]
