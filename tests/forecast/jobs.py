"""Builds past jobs and cases by hand, where a test needs to know every figure."""

from jobs.forecast.durations import SetLike
from jobs.forecast.history import PastJob, SeenPosition
from jobs.forecast.likelihood import Cell
from jobs.forecast.total import CasePosition, CaseStep, SetCase

LIKE = SetLike("table set", 5)
RATE = 6000.0
ROLES = ("reservoir", "coupling", "coupling", "bypass", "bypass", "plate_load", "valve", "valve", "output_transformer", "speaker")


def a_past_job(
    replaced: int = 5, repair: float = 120, price_minor: int = 500, billed_minor: int | None = None, days_ago: float = 0
) -> PastJob:
    """Ten positions, the first `replaced` of them replaced; an hour of inspection, `repair` minutes of repair."""
    seen = tuple(
        SeenPosition(Cell(role), place < replaced, price_minor if place < replaced else None) for place, role in enumerate(ROLES)
    )
    logged = round((60 + repair) * RATE / 60) + replaced * price_minor
    billed = logged if billed_minor is None else billed_minor
    return PastJob(LIKE, seen, (("inspection", 60.0), ("repair", repair)), RATE, billed, days_ago=days_ago)


def a_case(replaced: int = 0, kept: int = 0, fees_minor: int = 0, tax_factor: float = 1.0) -> SetCase:
    """The same ten positions; the first `replaced` settled to go, the last `kept` to stay."""
    count = len(ROLES)
    settled = [True if place < replaced else False if place >= count - kept else None for place in range(count)]
    positions = [CasePosition(f"P{place}", Cell(role), settled[place]) for place, role in enumerate(ROLES)]
    return SetCase(LIKE, tuple(positions), (CaseStep("inspection", True), CaseStep("repair", True)), fees_minor, tax_factor)
