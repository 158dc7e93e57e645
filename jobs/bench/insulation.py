"""Insulation of windings against each other and against the core: what separates a person from the line."""

import re
from decimal import Decimal
from typing import Any

from inventory.components.notation import NotationError, read_measured
from inventory.components.tables import toml_table
from inventory.components.writing import write_value
from jobs.bench.readings import Judgement

_INSULATION = re.compile(
    r"(?i)\s*(?:insulation|insul\.?|primary to secondary|winding to core|to core|to chassis)\s*[:=]?\s*(.+)", re.DOTALL
)
# What a meter shows beyond its range.
BEYOND_THE_METER = frozenset(
    {"ol", "o.l", "o.l.", "0l", "over", "overload", "over range", "infinite", "infinity", "inf", "endless", "∞"}
)


def insulation_text(text: str) -> str | None:
    """What stands behind the word insulation in a reading; None where it isn't one."""
    found = _INSULATION.fullmatch(text[:80])
    return found.group(1) if found else None


def least_insulation(role: str) -> tuple[Decimal, str]:
    """The least ohms between the windings of a part of this role, with the source. Data: limits.toml."""
    rows: list[dict[str, Any]] = toml_table("jobs.bench", "limits.toml")["winding_insulation"]
    row = next((one for one in rows if one["role"] == role), rows[-1])
    return Decimal(row["least_ohms"]), str(row["source"])


def judge_insulation_of(role: str, text: str) -> Judgement:
    """The verdict on a winding's insulation, text in ohms. NotationError where it can't be read."""
    if " ".join(text.lower().split()) in BEYOND_THE_METER:
        return Judgement(
            "within", None, None, ("Its insulation is beyond the meter's range. Prove it at the line's voltage too.",)
        )
    if re.fullmatch(r"[\d.,\s]+", text):
        raise NotationError("unreadable", "Write an insulation with its unit, like insulation 5 MΩ.")
    ohms = read_measured(text, "resistance").value
    least, source = least_insulation(role)
    reads, wanted = write_value(ohms, "resistance"), write_value(least, "resistance")
    if ohms < least:
        text = f"Its insulation reads {reads}; {wanted} or more is wanted ({source}). It must not go back on the line."
        return Judgement("leaky", None, None, (text,))
    return Judgement("within", None, None, (f"Its insulation reads {reads}; {wanted} or more is sound ({source}).",))
