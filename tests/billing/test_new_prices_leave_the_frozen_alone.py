"""Ladders, list prices, what the hour pays for and the rates change; what was fitted, sent and issued stays to the byte."""

from dataclasses import fields, replace
from typing import Any

import pytest
from django.db.models import Model
from django.test import Client
from django.urls import reverse
from reportlab import rl_config

from billing.models import Invoice, InvoiceLine
from inventory import services
from inventory.models import Kind, Lot, Part
from inventory.services import PartFacts
from jobs.models import Decision, Estimate, EstimateLine, Job, LogEntry, Stage
from jobs.services import log
from shop.clock import now
from shop.models import Profile
from shop.profile import change_profile, ladder_seen, save_ladder
from tests.builders import (
    a_fit,
    a_job,
    a_lot,
    a_part,
    a_profile,
    a_staff,
    an_estimate,
    an_invoice,
    author,
    drawer_of,
    position_of,
)
from tests.conftest import StillClock
from tests.jobs.at_bench import a_resistor

FROZEN: tuple[type[Model], ...] = (LogEntry, Estimate, EstimateLine, Invoice, InvoiceLine)
PAPERS = (("jobs:estimate_pdf", Estimate), ("billing:invoice_pdf", Invoice))


@pytest.fixture(autouse=True)
def _same_bytes(monkeypatch: pytest.MonkeyPatch, still_clock: StillClock) -> None:
    monkeypatch.setattr(rl_config, "invariant", 1)


def rows() -> dict[str, list[dict[str, Any]]]:
    return {model.__name__: list(model._default_manager.order_by("pk").values()) for model in FROZEN}


def papers(client: Client) -> dict[str, bytes]:
    found = {}
    for name, model in PAPERS:
        for one in model._default_manager.order_by("pk"):
            address = reverse(name, args=[one.pk])
            answer = client.get(address)
            assert answer.status_code == 200
            found[address] = b"".join(answer) if answer.streaming else answer.content
    return found


def change_every_price(lots: list[Lot]) -> None:
    for kind in ("", *Kind.values):
        save_ladder([(50, 900), (1_000_000, 777)], seen=ladder_seen(kind), part_kind=kind)
    for part in {lot.part for lot in lots}:
        part.refresh_from_db()
        facts = PartFacts(**{one.name: getattr(part, one.name) for one in fields(PartFacts)})
        facts = replace(facts, list_price_minor=98_765)
        services.change_part(part, facts, seen=part.version, person=a_staff(), at=now())
    Part.objects.update(in_the_hour=True)
    profile = Profile.objects.get()
    values = {"in_the_hour_below_minor": 1_000_000, "hour_rate_minor": 99_900, "inspection_fee_minor": 5}
    change_profile(values, seen=profile.version)


def test_a_set_on_the_bench_a_sent_estimate_and_an_issued_invoice(owner_client: Client, still_clock: StillClock) -> None:
    a_profile(parts_tax_bp=2000)
    listed, laddered = a_lot(a_resistor(45)), a_lot(a_part("220 kΩ 2 W", Kind.RESISTOR, "carbon_film"))
    sent = a_job(Stage.INSPECTING, with_fit=False)
    for lot in (listed, laddered):
        plan = log.Plan(lot.part, 1, lot, drawer_of(lot))
        log.decide(position_of(sent, "R1"), Decision.REPLACE, author(), plan=plan)
    an_estimate(sent)
    bench = a_job(Stage.REPAIRING)
    a_fit(bench, "R1", listed)
    a_fit(bench, "R1", laddered)
    a_fit(bench, "C2", price=log.SetPrice(77, "the last of a discontinued make"))
    issued: Job = a_job(Stage.READY)
    an_invoice(issued)
    before, printed = rows(), papers(owner_client)
    assert all(before.values())
    assert len(printed) >= 4

    still_clock.forward(hours=1)
    change_every_price([listed, laddered])

    assert rows() == before
    assert papers(owner_client) == printed


def test_what_is_fitted_afterwards_takes_the_new_price(owner_client: Client) -> None:
    a_profile()
    lot = a_lot(a_part("220 kΩ 1 W", Kind.RESISTOR, "carbon_film"))
    job = a_job(Stage.REPAIRING)
    assert a_fit(job, "R1", lot).unit_price_minor == 60
    save_ladder([(50, 500)], seen=ladder_seen(Kind.RESISTOR), part_kind=Kind.RESISTOR)
    assert a_fit(job, "R1", lot).unit_price_minor == 100
    assert [entry.unit_price_minor for entry in LogEntry.objects.filter(job=job, lot=lot)] == [60, 100]
