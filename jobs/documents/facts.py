"""Facts that several papers of a job share. Texts are as they shall be read: labels, never codes."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class SetFacts:
    """The set on the paper. `supply` is its label (`Transformerless (AC/DC)`)."""

    maker: str
    model: str
    serial: str = ""
    year: int | None = None
    supply: str = ""
    lineup: str = ""

    @property
    def title(self) -> str:
        return " ".join(word for word in (self.maker, self.model) if word)


@dataclass(frozen=True, slots=True)
class Counted:
    """So many of something: what came in with a set, old parts that go back."""

    what: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class SafetyReadingLine:
    """One reading against its limit. `polarity` and `switch` are labels such as `normal`, `reversed`, `on`, `off`, or empty."""

    label: str
    reading: str
    unit: str
    limit: str
    passed: bool
    polarity: str = ""
    switch: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class SafetyFacts:
    """One electrical safety check. `made_at` is aware and printed in its own time zone."""

    practice: str
    readings: tuple[SafetyReadingLine, ...]
    passed: bool
    made_at: datetime
    made_by: str
    instrument: str = ""
    earthed: bool = False
    isolating_transformer: bool = False
    findings: str = ""


@dataclass(frozen=True, slots=True)
class ReadingToTake:
    """A reading of a check that is still to be made. `note` says how it is taken."""

    label: str
    unit: str
    limit: str
    polarity: str = ""
    switch: str = ""
    note: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class LinePosition:
    """A position across the line or from the line to the chassis. `needed` and `safety_class` are classes such as `Y2`.

    `standing` is a label (`right class`), `sign` how it stands: yes, warn, no or open.
    """

    position: str
    place: str
    called: str
    needed: str
    fitted: str
    safety_class: str
    standing: str
    sign: Literal["yes", "warn", "no", "open"]


@dataclass(frozen=True, slots=True)
class LookFacts:
    """A signed second look. `points` were open and accepted by name; it doesn't hold once the circuit was changed after it."""

    made_at: datetime
    made_by: str
    points: tuple[str, ...] = ()
    note: str = ""
    holds: bool = True


@dataclass(frozen=True, slots=True)
class ReleaseFacts:
    """How a set left the shop: proven, or unsafe and disabled as `how_disabled` says."""

    unsafe: bool
    at: datetime
    given_by: str
    received_by: str
    how_disabled: str = ""
