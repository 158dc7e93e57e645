"""The three people of the main job with their devices, and the shop that they work in."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.urls import reverse

from inventory.models import Kind
from jobs.models import Job
from shop.models import Role
from tests import builders as make
from tests.browser.hand import Hand
from tests.conftest import StillClock


@dataclass
class Tour:
    """The three people, each at a device of their own, and what they learn on the way."""

    counter: Hand
    bench: Hand
    clock: StillClock
    guest: Callable[[], Hand]
    job: Job = field(default_factory=Job)
    with_scripts: bool = True

    def at(self, name: str) -> str:
        """The address of a page of this job."""
        return reverse(name, args=[self.job.pk])


def furnish() -> None:
    """What stands in the shop before the customer comes in: terms, people, a bench, a task, and parts in drawers."""
    make.a_profile(parts_tax_bp=2000, labour_tax_bp=2000, address="3 Ferrule Lane", phone="020 7946 0000")
    for name, role in (("cosima", Role.COUNTER), ("benno", Role.BENCH)):
        make.a_staff(name, role, name.title())
    make.a_bench("Window bench")
    make.a_flat_task("Align the IF strip", 1_500)
    stock = (
        ("0.0047 µF 250 V Y2", Kind.CAPACITOR, "ceramic"),
        ("0.0047 µF 1000 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 630 V", Kind.CAPACITOR, "film"),
        ("0.012 µF 630 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 100 V", Kind.CAPACITOR, "film"),
        ("0.01 µF 400 V", Kind.CAPACITOR, "paper"),
        ("47 µF 450 V", Kind.CAPACITOR, "electrolytic"),
        ("220 kΩ 1 W", Kind.RESISTOR, "carbon_film"),
    )
    for tray, (marking, kind, made_of) in enumerate(stock, 1):
        part = make.a_part(marking, kind, made_of, polarised=made_of == "electrolytic")
        make.a_lot(part, count=5, drawer=make.a_drawer("A", str(tray)), unit_cost_milli=40_000)
