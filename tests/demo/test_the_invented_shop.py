"""The demo shop as a whole: every stage, every kind of paper, and the ledgers in order. Loaded once, as it takes its time."""

from collections import Counter
from pathlib import Path

import pytest
from django.db.models import F, Sum

from billing.models import Invoice, PaperKind, Payment
from billing.queries import account_of, money_missing
from inventory.models import (
    Balance,
    Drawer,
    DrawerCount,
    Hold,
    Lot,
    MatchedSet,
    Movement,
    Offer,
    Order,
    Part,
    Supplier,
    SupplierBill,
    Writedown,
)
from jobs.models import Consent, Estimate, Job, LabourEntry, LogEntry, SafetyCheck, SoakRun, Stage
from jobs.models.estimate import ConsentHow
from jobs.queries.sheet import sheet_of
from shop.clock import now
from shop.demo.main_job import MainJob
from shop.demo.papers import main_papers, write_papers
from shop.demo.people import cast, is_demo, logins
from shop.demo.shop import load, step_count
from shop.models import Bench, Customer, Role


@pytest.mark.django_db
def test_the_invented_shop_is_whole_and_its_main_job_runs_through(tmp_path: Path) -> None:
    ticks: list[str] = []
    moment = now()
    load(moment, ticks.append)
    assert len(ticks) == step_count()
    _has_people_and_parts()
    _has_jobs_at_every_stage()
    _has_every_kind_of_event()
    _ledgers_are_in_order(moment)
    _main_job_runs_through(tmp_path)
    _ledgers_are_in_order(moment)


def _has_people_and_parts() -> None:
    assert is_demo()
    assert {role for _, role, _ in logins()} == set(Role.values)
    assert (Bench.objects.count(), Customer.objects.count(), Supplier.objects.count()) == (3, 25, 3)
    assert 280 <= Part.objects.count() <= 320
    assert 55 <= Drawer.objects.count() <= 70
    assert Lot.objects.count() > Part.objects.count()


def _has_jobs_at_every_stage() -> None:
    stages = Counter(Job.objects.values_list("stage", flat=True))
    assert set(stages) == set(Stage.values)
    assert sum(stages.values()) == 41
    assert Job.objects.filter(warranty_of__isnull=False).count() == 2
    assert not Job.objects.exclude(warranty_of=None).exclude(warranty_of__radio=F("radio")).exists()


def _has_every_kind_of_event() -> None:
    assert set(Consent.objects.values_list("how", flat=True)) == set(ConsentHow.values)
    assert set(Estimate.objects.values_list("state", flat=True)) >= {"sent", "agreed", "declined"}
    assert any(estimate.is_range for estimate in Estimate.objects.all())
    assert set(SafetyCheck.objects.values_list("passed", flat=True)) == {True, False}
    assert SoakRun.objects.filter(passed=False, ended_at__isnull=False).exists()
    assert SoakRun.objects.filter(ended_at__isnull=True).count() == 1
    assert sorted(Invoice.objects.filter(kind=PaperKind.CREDIT_NOTE).values_list("whole", flat=True)) == [False, True]
    assert Estimate.objects.filter(alternatives__tier=3, state="sent").exists()
    _has_a_back_room()
    assert set(Payment.objects.values_list("kind", flat=True)) >= {"paid", "waived"}
    kinds = set(LogEntry.objects.values_list("kind", flat=True))
    assert kinds >= {"found", "measured", "decided", "fitted", "taken_out", "wiring", "polarity"}
    verdicts = set(LogEntry.objects.values_list("verdict", flat=True))
    assert verdicts >= {"within", "drifted", "leaky", "wrong_part", "open"}
    assert LogEntry.objects.filter(corrects__isnull=False).exists()
    assert LogEntry.objects.exclude(override_reason="").filter(override_by__isnull=False).exists()
    assert LogEntry.objects.filter(kind="fitted", charged=False).exists()
    assert LabourEntry.objects.filter(corrects__isnull=False).exists()


def _has_a_back_room() -> None:
    """Offers with our cards, orders in every state, a bill that waits, counts, valves one by one."""
    assert Offer.objects.filter(part__isnull=False).count() > 200
    assert set(Order.objects.values_list("state", flat=True)) == {"sent", "closed"}
    assert {bill.accepted_at is None for bill in SupplierBill.objects.all()} == {True, False}
    assert {count.is_open for count in DrawerCount.objects.all()} == {True, False}
    assert Movement.objects.filter(kind="counted").count() == 2
    assert MatchedSet.objects.get().lots.count() == 2
    assert Writedown.objects.count() == 1


def _ledgers_are_in_order(moment: object) -> None:
    sums = Movement.objects.order_by().values_list("lot", "drawer").annotate(Sum("count"))
    wanted = {(lot, drawer): total for lot, drawer, total in sums}
    assert {(one.lot_id, one.drawer_id): one.on_hand for one in Balance.objects.all()} == wanted
    for series in ("R", "C"):
        given = Invoice.objects.filter(series=series).order_by("pk").values_list("year", "sequence", "issued_on")
        by_year: dict[int, list[int]] = {}
        for year, sequence, _ in given:
            by_year.setdefault(year, []).append(sequence)
        assert all(numbers == list(range(1, len(numbers) + 1)) for numbers in by_year.values())
    for model in (LogEntry, Movement, Consent, Payment):
        assert not model._default_manager.filter(at__gt=moment).exists()  # type: ignore[attr-defined]
    for job in Job.objects.filter(stage__in=(Stage.HANDED_OVER, Stage.RETURNED)):
        assert money_missing(job) == []
        assert not Hold.objects.filter(reference=job.number, ended_at__isnull=True).exists()


def _main_job_runs_through(folder: Path) -> None:
    told: list[str] = []
    job = MainJob(cast(), now(), told.append).run()
    assert job.stage == Stage.HANDED_OVER
    assert len(told) > 12
    assert any("judged a wrong part" in sentence for sentence in told)
    papers = main_papers(job)
    lines = papers.invoice.lines.filter(kind="part")  # type: ignore[attr-defined]
    assert papers.parts_minor == sheet_of(job).parts_minor == sum(line.amount_minor for line in lines)
    assert account_of(papers.invoice).is_settled
    paths = write_papers(papers, folder)
    assert sorted(Path(path).name for path in paths.values()) == [
        "estimate.pdf",
        "invoice.pdf",
        "job-summary.pdf",
        "label.pdf",
        "warranty.pdf",
    ]
    assert all(Path(path).read_bytes().startswith(b"%PDF-") for path in paths.values())
    checks = list(job.safety_checks.get().readings.values_list("polarity", flat=True))
    assert {"normal", "reversed"} <= set(checks)
    assert job.soaks.get().minutes >= 4 * 60
