"""What the rules of a place are made of. Days are calendar days, rates basis points (1/100 %), years calendar years."""

from dataclasses import dataclass
from datetime import date
from typing import Protocol

CHECK = "check the current text"


@dataclass(frozen=True, slots=True)
class Source:
    """What a rule says in plain words and where it stands. `origin`: `read` (at `read_at`) or `memory`."""

    text: str
    citation: str
    origin: str
    read_at: str = ""

    @property
    def note(self) -> str:
        return f"from memory; {CHECK}" if self.origin == "memory" else CHECK


class Rule(Protocol):
    """Every rule has its source."""

    @property
    def source(self) -> Source: ...


@dataclass(frozen=True, slots=True)
class Overrun:
    """`allowance_bp`: the most that may come on top of the agreed sum; None where the law names no figure."""

    source: Source
    way: str
    allowance_bp: int | None = None


@dataclass(frozen=True, slots=True)
class Listed:
    """What a paper or a record must hold (`codes`), what it prints word by word (`say`), what it can't do without (`refuse`)."""

    source: Source
    codes: tuple[str, ...]
    say: tuple[str, ...] = ()
    refuse: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PartsReturn:
    source: Source
    way: str


@dataclass(frozen=True, slots=True)
class Retention:
    """Whole years after the end of the year in which a record was made."""

    source: Source
    years: int

    def must_stay_since(self, day: date) -> date:
        """The first day whose records may not go yet on `day`."""
        return date(max(day.year - self.years, 1), 1, 1)

    def must_stay_until(self, day: date) -> date:
        """The last day on which a record of `day` may not go yet."""
        return date(min(day.year + self.years, 9998), 12, 31)


@dataclass(frozen=True, slots=True)
class Surplus:
    """What becomes of the money that a sale leaves. `days` after it what nobody claimed goes `to` somebody; None: never."""

    source: Source
    days: int | None = None
    to: str = ""


@dataclass(frozen=True, slots=True)
class WayOfSale:
    """How a set may be sold (`way`, a code); `published_days` lie between the first publication and the sale."""

    source: Source
    way: str
    published_days: int = 0


@dataclass(frozen=True, slots=True)
class Uncollected:
    """`wait_days` from the set being ready to the notice of sale; `notice_days` from that notice to the day it names.

    `letter` is what a notice of sale says, `unreached` what is done where a notice came back.
    """

    source: Source
    wait_days: int
    notice_days: int
    kinds: tuple[str, ...]
    sent_by: tuple[str, ...]
    disputed_stops: bool
    letter: Listed
    unreached: Listed
    sale: WayOfSale
    surplus: Surplus


@dataclass(frozen=True, slots=True)
class TaxRule:
    """How parts and labour are usually taxed (UNTDID 5305 codes); `separate`: they must be stated apart."""

    source: Source
    scheme: str
    parts: str
    labour: str
    separate: bool


@dataclass(frozen=True, slots=True)
class Cancellation:
    """Days to cancel what was agreed at a distance; 0: no such right."""

    source: Source
    days: int


@dataclass(frozen=True, slots=True)
class Guarantee:
    """How long the law has faulty work put right: `days` at least for work done, `part_days` for parts where they differ.

    None where it names no time. For `burden_days` the shop must prove that a fault wasn't there; None where nothing says so.
    """

    source: Source
    days: int | None = None
    part_days: int | None = None
    burden_days: int | None = None

    @property
    def days_of_parts(self) -> int | None:
        return self.days if self.part_days is None else self.part_days


@dataclass(frozen=True, slots=True)
class Rules:
    """All rules of one place. `invoice` comes in blocks, as its parts stand in several places."""

    code: str
    name: str
    overrun: Overrun
    consent: Listed
    estimate: Listed
    invoice: tuple[Listed, ...]
    parts_return: PartsReturn
    retention: Retention
    uncollected: Uncollected
    tax: TaxRule
    cancellation: Cancellation
    guarantee: Guarantee

    @property
    def all(self) -> tuple[tuple[str, Rule], ...]:
        """Every rule under its title."""
        return (
            ("Above the agreed sum", self.overrun),
            ("What a consent records", self.consent),
            ("What an estimate states", self.estimate),
            *(("What an invoice shows", block) for block in self.invoice),
            ("Replaced parts", self.parts_return),
            ("How long records are kept", self.retention),
            ("Sets that nobody collects", self.uncollected),
            ("What a notice of sale says", self.uncollected.letter),
            ("Where a notice came back", self.uncollected.unreached),
            ("How an uncollected set is sold", self.uncollected.sale),
            ("What a sale leaves", self.uncollected.surplus),
            ("Tax on parts and labour", self.tax),
            ("The right to cancel", self.cancellation),
            ("When the work was faulty", self.guarantee),
        )

    @property
    def invoice_codes(self) -> frozenset[str]:
        return frozenset(code for block in self.invoice for code in block.codes)

    @property
    def invoice_refuses(self) -> frozenset[str]:
        return frozenset(code for block in self.invoice for code in block.refuse)

    @property
    def invoice_says(self) -> tuple[str, ...]:
        return tuple(text for block in self.invoice for text in block.say)

    def allowed_bp(self, wished_bp: int) -> int:
        """The allowance that holds where a shop wishes for one."""
        most = self.overrun.allowance_bp
        return wished_bp if most is None else min(wished_bp, most)
