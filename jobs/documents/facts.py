"""Facts that several papers of a job share. Texts are as they shall be read: labels, never codes."""

from dataclasses import dataclass
from datetime import datetime


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
