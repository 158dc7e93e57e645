"""`manage.py verify` finds what was broken behind the shop's back, and finds nothing where nothing was."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO

import pytest
from django.db import connection

from billing.models import Invoice, InvoiceLine
from billing.services import credit
from inventory.models import Balance, Movement
from jobs.models import Consent, Job, JobAct, LabourEntry, LogEntry, ReformReading
from jobs.services import reforming
from jobs.services.photos import add_photo
from shop.append_only import create_triggers, drop_triggers
from shop.clock import now
from shop.models import NumberSeries, Role
from shop.pictures import read_picture
from tests.builders import a_fit, a_job, a_profile, a_staff, a_supplier, an_invoice, pay, position_of, some_work
from tests.inventory.orders import a_sent_order, arrive, draft_line, line_of
from tests.jobs.bad_lots import a_bad_lot, a_supplier_claim
from tests.jobs.claims import a_covered_claim
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db
Run = Callable[..., str]


@contextmanager
def behind_its_back() -> Iterator[None]:
    """As somebody with a database tool could: the triggers are off for a moment."""
    drop_triggers(connection)
    yield
    create_triggers(connection)


def a_shop() -> Job:
    """Jobs at several stages, a credit, a deposit, a payment, a reformed capacitor, a claim and the bad lot behind it."""
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000)
    for stage in ("inspecting", "declined", "ready", "returned", "sold"):
        a_job(stage)
    picture = read_picture(BytesIO(a_picture()), "front.png", 10**7)
    add_photo(a_job(), picture, person=a_staff(), at=now())
    job = a_job("repairing")
    a_fit(job, "C2")
    some_work(job, 90)
    run = reforming.start(position_of(job, "C3"), reforming.Setup("47 µF 160 V"), person=a_staff(), at=now())
    reforming.add_reading(run, reforming.Typed("160", "0.3"), person=a_staff(), at=now())
    reforming.end(run, "sound", person=a_staff(), at=now())
    first = an_invoice(job)
    credit(first, "wrong", person=a_staff("owner", Role.OWNER), at=now())
    pay(an_invoice(job))
    arrive(line_of(a_sent_order(draft_line())), 4)
    failed = a_bad_lot(a_covered_claim().warranty.job, supplier=a_supplier())
    a_supplier_claim(failed.lot)
    return a_job("handed_over")


def a_small_shop() -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000)
    job = a_job("repairing")
    a_fit(job, "C2")
    some_work(job, 90)
    an_invoice(job)
    a_job("handed_over")


def differences(run_command: Run, capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(SystemExit) as ended:
        run_command("verify")
    assert ended.value.code == 1
    return capsys.readouterr().out


def test_a_whole_shop_has_no_differences(run_command: Run) -> None:
    a_shop()
    told = run_command("verify").splitlines()
    assert told[-1] == "0 differences"
    assert all(line.endswith(" looked at, 0 differences") for line in told[:-1])
    assert not any(": 0 looked at" in line for line in told if "deposits" not in line)


def test_an_empty_shop_has_no_differences(run_command: Run) -> None:
    assert run_command("verify").splitlines()[-1] == "0 differences"


def _alter(model: type, column: str, by: int = 1) -> Callable[[], None]:
    def alter() -> None:
        row = model.objects.order_by("-pk").first()  # type: ignore[attr-defined]
        model.objects.filter(pk=row.pk).update(**{column: getattr(row, column) + by})  # type: ignore[attr-defined]

    return alter


def _fitted(column: str, value: object) -> Callable[[], None]:
    return lambda: LogEntry.objects.filter(kind="fitted").update(**{column: value})  # type: ignore[return-value]


BREAKS: list[tuple[Callable[[], object], str]] = [
    (_alter(Balance, "on_hand"), "on hand of lot"),
    (_alter(Movement, "count", -1), "on hand of lot"),
    (lambda: Job.objects.filter(stage="handed_over").update(stage="ready"), "stage of J-"),
    (lambda: JobAct.objects.filter(act="start_repair").update(from_stage="taken_in"), "start of “start_repair” of J-"),
    (_alter(Job, "log_seq"), "last entry of J-"),
    (_fitted("count", 2), "count of entry"),
    (_alter(LabourEntry, "amount_minor"), "labour "),
    (_alter(Consent, "ceiling_minor"), "sum agreed to of J-"),
    (lambda: Consent.objects.update(digest="0" * 64), "fingerprint agreed to of"),
    (_alter(InvoiceLine, "net_minor"), "lines without tax of R-"),
    (_alter(InvoiceLine, "unit_minor"), "line "),
    (lambda: Invoice.objects.filter(kind="invoice").update(tax_minor=0, gross_minor=1, net_minor=1), "gross_minor of R-"),
    (_fitted("unit_price_minor", 61), "parts total billed of J-"),
    (lambda: NumberSeries.objects.filter(series="R").update(last=9), "series R-"),
    (lambda: Job.objects.update(billed=False), " billed: kept False, derived True"),
]


@pytest.mark.parametrize(("break_it", "told"), BREAKS, ids=range(len(BREAKS)))
def test_what_was_changed_behind_the_shops_back_is_found(
    run_command: Run, capsys: pytest.CaptureFixture[str], break_it: Callable[[], object], told: str
) -> None:
    a_small_shop()
    with behind_its_back():
        break_it()
    assert told in differences(run_command, capsys)


def test_a_missing_trigger_is_found(run_command: Run, capsys: pytest.CaptureFixture[str]) -> None:
    drop_triggers(connection, ["billing_invoice"])
    told = differences(run_command, capsys)
    assert "trigger billing_invoice_no_update is missing: its table can be rewritten" in told
    create_triggers(connection)


def test_verify_changes_nothing(run_command: Run) -> None:
    a_shop()
    before = list(Job.objects.values_list("pk", "version", "stage"))
    run_command("verify")
    assert list(Job.objects.values_list("pk", "version", "stage")) == before


def test_a_lost_reform_reading_is_found(run_command: Run, capsys: pytest.CaptureFixture[str]) -> None:
    a_profile()
    run = reforming.start(position_of(a_job("repairing"), "C3"), reforming.Setup("47 µF 160 V"), person=a_staff(), at=now())
    for volts in ("16", "40"):
        reforming.add_reading(run, reforming.Typed(volts, "0.3"), person=a_staff(), at=now())
    with behind_its_back():
        ReformReading.objects.filter(seq=1).delete()
    assert "readings of the reforming of 47 µF 160 V have gaps or doubles: [2]" in differences(run_command, capsys)
