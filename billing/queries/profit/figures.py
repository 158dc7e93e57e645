"""What one job earned, as figures that add up. Minor units of the shop's currency, without tax but where a line says otherwise.

Costs of parts are rounded once a job, so that a list adds up to its own total; `…_milli` keep them exact, for the books.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.valuation import coins
from jobs.models import Job
from shop.money import round_minor

MINUTES = 60


@dataclass(frozen=True, slots=True)
class ProfitStep:
    """One line on the way from what was billed to what was earned; costs are below nothing."""

    code: str
    text: str
    minor: int


@dataclass(frozen=True, slots=True)
class Borne:
    """What came back under a job's warranty: `number` of the job it was worked on, and what was lost by it, below nothing."""

    claim_pk: int
    job_pk: int
    number: str
    minor: int
    is_goodwill: bool


@dataclass(frozen=True)
class JobProfit:
    """`hour_cost_minor` is the cost of an hour that the work is reckoned with.

    A set that came back under warranty is charged to the job whose warranty it came back under: there `comebacks_minor` takes
    what was lost by it, here `carried_minor` gives it back, so that the sum over all jobs counts it once.
    """

    job: Job
    billed_parts_minor: int = 0
    billed_work_minor: int = 0
    credited_parts_minor: int = 0
    credited_work_minor: int = 0
    parts_milli: int = 0
    free_parts_milli: int = 0
    scrapped_milli: int = 0
    minutes: int = 0
    free_minutes: int = 0
    hour_cost_minor: int = 0
    supplier_minor: int = 0
    waived_minor: int = 0
    lost_minor: int = 0
    sale_minor: int = 0
    carried_minor: int = 0
    comebacks: tuple[Borne, ...] = ()
    carried_to: str = ""
    is_goodwill: bool = False
    first_billed_on: date | None = None
    elsewhere: int = 0

    @property
    def net_parts_minor(self) -> int:
        return self.billed_parts_minor - self.credited_parts_minor

    @property
    def net_work_minor(self) -> int:
        return self.billed_work_minor - self.credited_work_minor

    @property
    def net_minor(self) -> int:
        return self.net_parts_minor + self.net_work_minor

    @property
    def parts_cost_minor(self) -> int:
        return coins(self.parts_milli)

    @property
    def scrapped_minor(self) -> int:
        return coins(self.scrapped_milli)

    @property
    def work_cost_minor(self) -> int:
        return round_minor(Decimal(self.minutes * self.hour_cost_minor) / MINUTES)

    @property
    def comebacks_minor(self) -> int:
        return sum(one.minor for one in self.comebacks)

    @property
    def own_minor(self) -> int:
        """Before what came back is charged to the job that it came back from."""
        costs = self.parts_cost_minor + self.scrapped_minor + self.work_cost_minor + self.waived_minor + self.lost_minor
        return self.net_minor - costs + self.supplier_minor - self.sale_minor

    @property
    def other_minor(self) -> int:
        """All that is neither billed, a part in the set, an hour nor what came back: what it added to what was earned."""
        return self.supplier_minor - self.scrapped_minor - self.waived_minor - self.lost_minor - self.sale_minor

    @property
    def back_minor(self) -> int:
        return self.comebacks_minor + self.carried_minor

    @property
    def result_minor(self) -> int:
        return self.own_minor + self.carried_minor + self.comebacks_minor

    @property
    def steps(self) -> tuple[ProfitStep, ...]:
        """They add up to `result_minor` exactly; what is nothing is left out, but billed, parts and work."""
        told = (
            ("billed", "Billed, without tax", self.billed_parts_minor + self.billed_work_minor, True),
            ("credited", "Credited", -self.credited_parts_minor - self.credited_work_minor, False),
            ("parts", "Parts in the set, at what their lots cost", -self.parts_cost_minor, True),
            ("scrapped", "Parts scrapped for it", -self.scrapped_minor, False),
            ("work", "Hours worked, at what an hour costs", -self.work_cost_minor, True),
            ("supplier", "Credited by suppliers", self.supplier_minor, False),
            ("waived", "Waived, with its tax", -self.waived_minor, False),
            ("lost", "Written off as lost, with its tax", -self.lost_minor, False),
            ("sale", "Costs of the sale that its price didn't cover", -self.sale_minor, False),
            ("comebacks", self._comeback_words, self.comebacks_minor, False),
            ("carried", self._carried_words, self.carried_minor, False),
        )
        return tuple(ProfitStep(code, text, minor) for code, text, minor, always in told if minor or always)

    @property
    def _comeback_words(self) -> str:
        words = f"Came back: {', '.join(one.number for one in self.comebacks)}"
        goodwill = ", ".join(one.number for one in self.comebacks if one.is_goodwill)
        return f"{words} (goodwill: {goodwill})" if goodwill else words

    @property
    def _carried_words(self) -> str:
        return f"{'Goodwill, borne' if self.is_goodwill else 'Borne'} by job {self.carried_to}, which it came back from"


@dataclass(frozen=True, slots=True)
class Summed:
    """Some jobs together. What an hour brought is the work billed less credited, over the hours worked, charged or not."""

    jobs: int = 0
    net_minor: int = 0
    net_work_minor: int = 0
    parts_cost_minor: int = 0
    scrapped_minor: int = 0
    work_cost_minor: int = 0
    supplier_minor: int = 0
    forgone_minor: int = 0
    comebacks_minor: int = 0
    carried_minor: int = 0
    minutes: int = 0
    came_back: int = 0
    result_minor: int = 0
    losing: int = 0

    @property
    def back_minor(self) -> int:
        return self.comebacks_minor + self.carried_minor

    @property
    def came_back_cost_minor(self) -> int:
        """What sets that came back of these jobs cost, wherever they were worked on."""
        return -self.comebacks_minor

    @property
    def hour_brought_minor(self) -> int | None:
        return round_minor(Decimal(self.net_work_minor * MINUTES) / self.minutes) if self.minutes else None

    @property
    def hour_earned_minor(self) -> int | None:
        """What was left of each hour worked."""
        return round_minor(Decimal(self.result_minor * MINUTES) / self.minutes) if self.minutes else None

    @property
    def margin_percent(self) -> int | None:
        return round_minor(Decimal(self.result_minor * 100) / self.net_minor) if self.net_minor > 0 else None


_ADDED = (
    *("net_minor", "net_work_minor", "parts_cost_minor", "scrapped_minor", "work_cost_minor", "supplier_minor"),
    *("comebacks_minor", "carried_minor", "minutes", "result_minor"),
)


def summed(profits: Iterable[JobProfit]) -> Summed:
    listed: Sequence[JobProfit] = list(profits)
    return Summed(
        jobs=len(listed),
        forgone_minor=sum(one.waived_minor + one.lost_minor + one.sale_minor for one in listed),
        came_back=sum(1 for one in listed if one.comebacks),
        losing=sum(1 for one in listed if one.result_minor < 0),
        **{name: sum(getattr(one, name) for one in listed) for name in _ADDED},
    )
