"""What the drawers offer for a position: order, bounds of the search, cans of several sections, number of queries."""

from datetime import date
from decimal import Decimal
from itertools import product

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.components.notation import read_notation
from inventory.components.roles import ROLES
from inventory.models import Balance, Kind, Lot, Part
from inventory.queries.offers import cards_for
from inventory.queries.specs import spec_of
from jobs.models import Job, Stage
from jobs.models.supply import SupplyFigures, Topology
from jobs.queries.asked import Asked, asked_of
from jobs.queries.candidates import MOST_REFUSED, MOST_SHOWN, DrawerCandidate, bounds_of, candidates_for, span_of
from jobs.queries.voltages import Working
from jobs.services import log
from jobs.services.called_for import CalledRow
from tests.builders import a_drawer, a_job, a_lot, a_model, a_part, author, position_of
from tests.jobs.at_bench import a_resistor, state_of

AA5 = (
    CalledRow("V1", "valve", "12BE6"),
    CalledRow("V2", "valve", "12BA6"),
    CalledRow("V5", "rectifier_valve", "35W4"),
    CalledRow("C1", "reservoir", "40 µF 150 V"),
    CalledRow("C2", "smoothing", "20 µF 150 V"),
    CalledRow("C3", "coupling", "0.01 µF 400 V"),
)


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING)


def offered(job: Job, designator: str) -> list[DrawerCandidate]:
    return candidates_for(state_of(position_of(job, designator)), job)


def test_the_careful_repairers_order(job: Job) -> None:
    """Suitability, closeness, then the oldest lot, then the cheapest."""
    exact, near = a_resistor(), a_part("200 kΩ 1 W", Kind.RESISTOR, "carbon_film")
    far = a_part("150 kΩ 1 W", Kind.RESISTOR, "carbon_film")
    lots = [
        a_lot(far, received_on=date(2020, 1, 1)),
        a_lot(near, received_on=date(2021, 1, 1)),
        a_lot(exact, received_on=date(2024, 5, 1), unit_cost_milli=9000),
        a_lot(exact, received_on=date(2024, 5, 1), unit_cost_milli=5000),
        a_lot(exact, received_on=date(2023, 5, 1), unit_cost_milli=9000),
    ]
    found = [one.lot for one in offered(job, "R1")]
    assert found == [lots[4], lots[3], lots[2], lots[1], lots[0]]


@pytest.mark.parametrize("lots", [1, 50, 500])
def test_the_number_of_queries_does_not_grow(lots: int, job: Job, django_assert_max_num_queries: DjangoAssertNumQueries) -> None:
    part, drawer = a_resistor(), a_drawer("R")
    for number in range(min(lots, 50)):
        a_lot(part if lots == 500 else a_part(f"{200 + number} kΩ 1 W", Kind.RESISTOR), drawer=drawer)
    if lots == 500:
        _many_lines(part, drawer.pk, lots - 50)
    state = state_of(position_of(job, "R1"))
    with django_assert_max_num_queries(8):
        found = candidates_for(state, job)
    assert 0 < len(found) <= MOST_SHOWN + MOST_REFUSED


def _many_lines(part: Part, drawer_pk: int, count: int) -> None:
    made = Lot.objects.bulk_create([Lot(part=part, received_on=date(2024, 1, 1), unit_cost_milli=1000) for _ in range(count)])
    Balance.objects.bulk_create([Balance(lot=lot, drawer_id=drawer_pk, on_hand=3) for lot in made])


def test_a_full_page_holds_the_best_and_still_says_why_not(job: Job) -> None:
    good, low = a_resistor(), a_part("220 kΩ 1/4 W", Kind.RESISTOR, "carbon_film")
    _many_lines(good, a_drawer("R").pk, 300)
    a_lot(low)
    found = offered(job, "R1")
    assert [one.answer.answer for one in found] == ["yes"] * MOST_SHOWN + ["no"]
    assert found[-1].lot.part == low


def a_grid_of_parts() -> None:
    """Parts around 0.1 µF and 100 kΩ with every rating that a rule looks at."""
    for value, volts, made, safety, polarised in product(
        ("0.03", "0.06", "0.085", "0.1", "0.115", "0.19", "0.24"),
        ("", "160 V", "400 V", "630 V"),
        ("film", "electrolytic", "paper", ""),
        ("", "X2", "Y2"),
        (False, True),
    ):
        a_part(f"{value} µF {volts}", Kind.CAPACITOR, made, safety_class=safety, polarised=polarised)
    for ohms, watts in product((45, 75, 85, 95, 100, 115, 130, 190, 250), ("", "1/4 W", "1/2 W", "1 W", "2 W")):
        a_part(f"{ohms}K {watts}", Kind.RESISTOR)


def test_what_the_search_leaves_out_the_rules_would_refuse(db: None) -> None:
    """For every role that takes a capacitor or a resistor, with and without working volts and watts."""
    a_grid_of_parts()
    parts = list(Part.objects.all())
    for role, working in product(ROLES.values(), (Working(), Working(Decimal(350), Decimal("0.7")))):
        if role.kind not in ("capacitance", "resistance"):
            continue
        called = read_notation("0.1 µF 400 V" if role.kind == "capacitance" else "100K 1/2W", role.kind)
        asked = Asked(role.code, called, working=working)
        kept = set(Part.objects.filter(bounds_of(asked).as_q()).values_list("pk", flat=True))
        wrong = [part for part in parts if part.pk not in kept and asked.answer(part).answer != "no"]
        assert not wrong, f"{role.code}: {wrong[0]} is left out, and it is {asked.answer(wrong[0]).answer}"


def test_cards_within_bounds_come_first_and_the_nearest_of_them_first(db: None) -> None:
    near, far, low = a_part("0.11 µF 630 V"), a_part("0.085 µF 630 V"), a_part("0.1 µF 160 V")
    for part in (near, far, low):
        a_lot(part)
    asked = Asked("coupling", read_notation("0.1 µF 400 V"))
    cards = cards_for(bounds_of(asked), span_of(asked), 1e-7, 10)
    assert [(card.pk, card.left_out) for card in cards] == [(near.pk, 0), (far.pk, 0), (low.pk, 1)]


@pytest.mark.parametrize(
    ("marking", "sections"),
    [
        ("40+20 µF 450 V", ("0.00004", "0.00002")),
        ("30-30 µF @ 200V", ("0.00003", "0.00003")),
        ("40 µF 450 V", ()),
        ("0.047 µF 630 V ±10 %", ()),
        ("8/450", ()),
    ],
)
def test_a_cans_sections_are_read_off_its_marking(db: None, marking: str, sections: tuple[str, ...]) -> None:
    part = a_part(marking, technology="electrolytic", polarised=True)
    spec = spec_of(part)
    assert spec is not None
    assert spec.sections == tuple(map(Decimal, sections))


def test_a_marking_that_cannot_be_read_has_no_sections(db: None) -> None:
    part = Part.objects.create(marking="lot 7-9 of the old can", kind=Kind.CAPACITOR, value_si=2e-5)
    spec = spec_of(part)
    assert spec is not None
    assert spec.sections == ()


def test_a_can_is_offered_for_the_section_it_has(db: None) -> None:
    job = a_job(Stage.REPAIRING, model=a_model("Plover", rows=AA5), with_fit=False)
    lot = a_lot(a_part("50+20 µF 250 V", technology="electrolytic", polarised=True))
    found = [one for one in offered(job, "C2") if one.lot == lot]
    assert [one.answer.answer != "no" for one in found] == [True]


def test_the_rules_are_told_what_stands_around_the_position(db: None) -> None:
    """The heater chain and the line of a transformerless set, the rectifier at its reservoir."""
    job = a_job(Stage.REPAIRING, model=a_model("Plover", rows=AA5), with_fit=False)
    SupplyFigures.objects.create(
        model=job.radio.model,
        topology=Topology.HALF_WAVE,
        volts_rms=117,
        frequency_hz=60,
        source_ohms=50,
        rectifier="35W4",
        choke_ohms=1000,
        load_amps=0.06,
    )
    valve = asked_of(state_of(position_of(job, "V2")), job).around
    assert valve.chain == ("12BE6", "12BA6", "35W4")
    assert (valve.line_volts, valve.line_hertz) == (Decimal(117), Decimal(60))
    assert asked_of(state_of(position_of(job, "C1")), job).around.rectifier == "35W4"
    plain = asked_of(state_of(position_of(job, "C3")), job).around
    assert (plain.chain, plain.line_volts, plain.rectifier) == ((), None, "")


def test_what_was_measured_under_power_counts(job: Job) -> None:
    """600 V across 220 kΩ are 1.6 W: a resistor of 1 W is not offered any more."""
    lot = a_lot(a_resistor())
    assert [one.answer.answer for one in offered(job, "R1") if one.lot == lot] == ["yes"]
    log.record_voltage(position_of(job, "R1"), "across", "600", author())
    assert [one.answer.answer for one in offered(job, "R1") if one.lot == lot] == ["no"]


def test_a_card_with_an_absurd_figure_is_refused_in_words(db: None) -> None:
    part = replace_value(a_part("0.1 µF 400 V"), 1e300)
    answer = Asked("coupling", read_notation("0.1 µF 400 V")).answer(part)
    assert answer.answer == "no"
    assert answer.reasons[0].message.startswith("A value or rating is beyond what any part has.")


def replace_value(part: Part, value: float) -> Part:
    part.value_si = value
    return part
