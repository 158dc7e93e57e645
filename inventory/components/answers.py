"""The shapes a substitution is asked and answered in, and what every rule needs."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.roles import Role
from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from inventory.components.writing import write_value

LEVELS = {"yes": 0, "warn": 1, "no": 2}
MICRO = Decimal("1e-6")
NOUNS = {"resistance": "resistor", "capacitance": "capacitor"}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part offered for a position. `kind` as in roles; `technology` film, electrolytic, mica, paper, carbon_film, ... or ""."""

    spec: Spec | None
    kind: str
    technology: str = ""
    polarised: bool = False
    valve_type: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule's word. `level` is yes, warn or no."""

    code: str
    level: str
    message: str
    source: str


@dataclass(frozen=True, slots=True)
class Answer:
    """yes, warn or no with its reasons, worst first. `deviation_percent` is from the value called for, None if unknown."""

    answer: str
    reasons: tuple[Reason, ...]
    deviation_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Question:
    role: Role
    called: Spec | None
    candidate: Candidate
    called_type: str
    rectifier: str
    volts_working: Decimal | None
    watts_dissipated: Decimal | None
    supply: str

    @property
    def offered(self) -> Spec | None:
        return self.candidate.spec


def source_of(section: str) -> str:
    return str(toml_table("inventory.components", "substitution.toml")[section]["source"])


def number_of(section: str, key: str) -> Decimal:
    return Decimal(toml_table("inventory.components", "substitution.toml")[section][key])


def offered_kind(ask: Question) -> str:
    return ask.offered.kind if ask.offered is not None else ask.candidate.kind


def volts_text(volts: Decimal) -> str:
    return write_value(volts, "voltage")


def percent_text(size: Decimal) -> str:
    return f"{abs(size):.1f}".removesuffix(".0") + " %"


def nothing_against(ask: Question) -> Reason:
    label = ask.role.label.lower()
    return Reason("suits", "yes", f"It suits: value and ratings meet what the {label} calls for.", ask.role.source)


def sections_of(spec: Spec) -> tuple[Decimal, ...]:
    return spec.sections or (spec.value,)


def section_pairs(ask: Question) -> list[tuple[Decimal, Decimal]]:
    """(called, offered) value of each section that both have."""
    if ask.called is None or ask.offered is None or ask.called.kind != ask.offered.kind:
        return []
    return [(one, other) for one, other in zip(sections_of(ask.called), sections_of(ask.offered), strict=False) if one and other]


def deviation_of(ask: Question) -> Decimal | None:
    deviations = [(offered - called) / called * 100 for called, offered in section_pairs(ask)]
    worst = max(deviations, key=abs, default=None)
    return worst.quantize(Decimal("0.01")) if worst is not None else None
