"""What the numbers in addresses stand for, in a shop of any size: rows from the middle of their tables, of one ordinary job."""

from collections.abc import Callable
from typing import Any

from django.db.models import Count, Model, QuerySet

from billing.models import Invoice, InvoiceLine, Payment, UncollectedSale
from inventory.models import (
    BadLot,
    Drawer,
    DrawerCount,
    Hold,
    LotPhoto,
    MatchedSet,
    Offer,
    Order,
    OrderLine,
    PriceList,
    Supplier,
    SupplierBill,
    SupplierClaim,
    ValveTester,
)
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
from shop.models import Bench, CalendarLink, Staff


def middle(rows: QuerySet[Any]) -> Any:
    """The row in the middle by key, None where there is none. Keys are halved: no long OFFSET."""
    first, last = rows.order_by("pk").first(), rows.order_by("-pk").first()
    return first and rows.filter(pk__gte=(first.pk + last.pk) // 2).order_by("pk").first()


def ordinary_job() -> Job:
    """Handed over in the middle of the years, with the log that most jobs have: both shops have it from one pattern."""
    closed = Job.objects.filter(stage=Stage.HANDED_OVER, warranty_of=None)
    commonest = closed.order_by().values("log_seq", "fault").annotate(many=Count("pk")).order_by("-many", "log_seq", "fault")[0]
    job: Job = middle(closed.filter(log_seq=commonest["log_seq"], fault=commonest["fault"]))
    return job


def named(job: Job) -> dict[str, Callable[[], Model | None]]:
    """A row by the word before its number in an address."""
    fitted = LogEntry.objects.filter(job=job, kind="fitted").order_by("pk")
    of_job: dict[str, Callable[[], Model | None]] = {
        "jobs": lambda: job,
        "positions": lambda: Position.objects.filter(job=job).order_by("pk").first(),
        "labour": lambda: LabourEntry.objects.filter(job=job).first(),
        "safety": lambda: SafetyCheck.objects.filter(job=job).first(),
        "estimates": lambda: Estimate.objects.filter(job=job).first(),
        "entries": lambda: LogEntry.objects.filter(job=job).first(),
        "sets": lambda: job.radio,
        "models": lambda: job.radio.model,
        "customers": lambda: job.customer,
        "papers": lambda: Invoice.objects.filter(job=job).first(),
        "payments": lambda: Payment.objects.filter(invoice__job=job).first(),
        "bill-lines": lambda: InvoiceLine.objects.filter(invoice__job=job).first(),
        "lots": lambda: fitted[0].lot,
        "parts": lambda: fitted[0].part,
    }
    return of_job | {word: _middle_of(model) for word, model in _REST.items()}


def _middle_of(model: Any) -> Callable[[], Model | None]:
    return lambda: middle(model.objects.all())


_REST: dict[str, Any] = {
    "reforming": Reforming,
    "clocks": Timer,
    "calendar": CalendarLink,
    "alternatives": Alternative,
    "claim-findings": ClaimFinding,
    "sales": UncollectedSale,
    "notices": CollectionNotice,
    "set-classes": SetClass,
    "lines": EstimateLine,
    "photos": Photo,
    "service-sheets": SheetPage,
    "sheet-places": SheetPlace,
    "staff": Staff,
    "flat-tasks": FlatTask,
    "practices": TolerancePractice,
    "benches": Bench,
    "suppliers": Supplier,
    "drawers": Drawer,
    "matched": MatchedSet,
    "testers": ValveTester,
    "lot-photos": LotPhoto,
    "counts": DrawerCount,
    "holds": Hold,
    "orders": Order,
    "order-lines": OrderLine,
    "price-lists": PriceList,
    "offers": Offer,
    "bad-lots": BadLot,
    "supplier-claims": SupplierClaim,
    "supplier-bills": SupplierBill,
}
