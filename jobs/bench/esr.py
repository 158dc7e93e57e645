"""Equivalent series resistance of electrolytics: how much a capacitor of its size may have. Figures: limits.toml."""

import re
from decimal import Decimal
from typing import Any

from inventory.components.notation import NotationError, read_measured
from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from inventory.components.writing import write_value
from jobs.bench.readings import Judgement

_WORD = r"(?:e\.?s\.?r\b\.?|series resistance\b)"
_BEFORE = re.compile(rf"(?i){_WORD}\s*[:=]?\s*(.*)", re.DOTALL)
_BEHIND = re.compile(rf"(?i)(.+?)\s*{_WORD}", re.DOTALL)
_OFF_THE_SCALE = frozenset({"open", "ol", "o.l.", "over", "∞", "infinite", "off the scale", "off scale"})


def esr_text(text: str) -> str | None:
    """What stands beside the word ESR in a reading, before or behind it; None where it isn't one."""
    stripped = text.strip()[:80]
    found = _BEFORE.fullmatch(stripped) or _BEHIND.fullmatch(stripped)
    return found.group(1) if found else None


def judge_esr(called: Spec | None, text: str) -> Judgement:
    """The verdict on an ESR reading (ohms). NotationError where the reading can't be read."""
    if " ".join(text.lower().split()) in _OFF_THE_SCALE:
        return Judgement("open", None, None, ("Its ESR is off the meter's scale: it is open, or dried out.",))
    ohms = _ohms(text)
    reads = f"Its ESR reads {write_value(ohms, 'resistance')}"
    if ohms < 0:
        raise NotationError("out_of_range", "A series resistance can't be below zero. Write it like ESR 2.5 Ω.")
    if called is None or called.kind != "capacitance" or called.value <= 0:
        return Judgement("not_measured", None, None, (f"{reads}; what is called for isn't a capacitor's value to judge it by.",))
    limit = _limit(called)
    if limit is None:
        return Judgement(
            "not_measured",
            None,
            None,
            (f"{reads}; an ESR says little of a capacitor below 1 µF: measure its value and leakage.",),
        )
    allowed = write_value(limit, "resistance")
    limits = (Decimal(0), limit)
    if ohms <= limit:
        return Judgement("within", None, limits, (f"{reads}; up to {allowed} is usual for its size ({_source()}).",))
    return Judgement(
        "drifted", None, limits, (f"{reads}; up to {allowed} is usual for its size ({_source()}): it is drying out.",)
    )


def _ohms(text: str) -> Decimal:
    try:
        return read_measured(text, "resistance").value
    except NotationError as refused:
        raise NotationError("unreadable", "Write a series resistance in ohms, like ESR 2.5 Ω.") from refused


def _limit(called: Spec) -> Decimal | None:
    """Ohms allowed by the loss angle at the test frequency of the table, never below what leads and a clip add."""
    table = _table()
    if called.value < Decimal(table["from_farads"]):
        return None
    volts = called.volts or Decimal(0)
    band = next(one for one in table["bands"] if volts <= one["upto_volts"])
    ohms = Decimal(band["ohm_microfarads"]) / (called.value * 10**6)
    return max(ohms, Decimal(table["least_ohms"])).quantize(Decimal("0.01"))


def _table() -> dict[str, Any]:
    return toml_table("jobs.bench", "limits.toml")["esr"]  # type: ignore[no-any-return]


def _source() -> str:
    return str(_table()["source"]).partition(":")[0]
