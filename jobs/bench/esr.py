"""Equivalent series resistance of electrolytics: how much a capacitor of its size may have. Figures: limits.toml."""

import re
from decimal import Decimal
from typing import Any

from inventory.components.notation import NotationError, read_measured
from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from inventory.components.writing import write_value
from jobs.bench.readings import Judgement

_ESR = re.compile(r"(?i)\s*(?:e\.?s\.?r\.?|series resistance)\s*[:=]?\s*(.+)", re.DOTALL)


def esr_text(text: str) -> str | None:
    """What stands behind the word ESR in a reading; None where it isn't one."""
    found = _ESR.fullmatch(text[:80])
    return found.group(1) if found else None


def judge_esr(called: Spec | None, text: str) -> Judgement:
    """The verdict on an ESR reading (ohms). NotationError where the reading can't be read."""
    ohms = read_measured(text, "resistance").value
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
