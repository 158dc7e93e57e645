"""Readings that say in words what they are: open, OL, short, leaks, ESR, insulation, continuity, a valve tester's."""

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from inventory.components.notation import NotationError, read_measured
from inventory.components.roles import ROLES
from inventory.components.specs import Spec
from inventory.components.writing import write_value
from jobs.bench.esr import esr_text, judge_esr
from jobs.bench.insulation import BEYOND_THE_METER, insulation_text, judge_insulation_of
from jobs.bench.leaking import judge_insulation, judge_leakage
from jobs.bench.readings import Judgement
from jobs.bench.tester import judge_tester

_OPEN = frozenset({"open", "o/c", "oc", "open circuit", "no continuity"})
_SHORTED = frozenset({"short", "shorted", "s/c", "sc", "short circuit", "dead short"})
_NOT_MEASURED = frozenset({"", "-", "--", "n/a", "na", "not measured", "?"})
_CONTINUOUS = frozenset({"continuity", "has continuity", "continuous", "beeps", "continuity ok", "continuity good"})
_NO_FARADS = re.compile(r"0+(?:[.,]0+)?\s*(?:[pnuµμ]f|mfd?|mmfd?)")
_BARE = re.compile(r"[\d.,\s]+(?:(?:at|@)\s*.*)?", re.DOTALL)
_LEAKY = re.compile(r"(?i)leaky\b[:,]?\s*(.*)", re.DOTALL)
_LEAKAGE = re.compile(r"(?i)leak(?:s|age)?(?:\s+current)?\b\s*(?:[:=,]|of\b)?\s*(.*)", re.DOTALL)
_INSULATION = re.compile(r"(?i)insulation(?:\s+resistance)?\b\s*[:=,]?\s*(.*)", re.DOTALL)
_WINDING = re.compile(r"(?i)(?:d\.?c\.?\s*resistance|dcr|winding)\b\s*[:=,]?\s*(.*)", re.DOTALL)


# What a reading of another quantity than the called-for value is written with.
LABELS: Mapping[str, str] = MappingProxyType(
    {"leakage": "leaks", "insulation": "insulation", "esr": "ESR", "winding": "DC resistance", "tester": "tester"}
)


def labelled(quantity: str, text: str) -> str:
    """A reading as the log writes it: "ESR 2.5 Ω" of quantity esr and "2.5 Ω". What says itself what it is stays as typed."""
    plain = " ".join(text.split())
    words = plain.lower()
    says_itself = words in _OPEN | _SHORTED | _NOT_MEASURED or quantity_of(plain) != "value" or words.startswith("tester")
    if quantity not in LABELS or says_itself or without_label(plain) != plain:
        return plain
    return f"{LABELS[quantity]} {plain}"


def quantity_of(text: str, called_kind: str = "") -> str:
    """Which quantity a reading is of: value, esr or leak. One later reading takes the place only of one of its own quantity."""
    stripped = text.strip()
    if esr_text(stripped) is not None:
        return "esr"
    if any(one.fullmatch(stripped) for one in (_LEAKY, _LEAKAGE, _INSULATION)) or insulation_text(stripped) is not None:
        return "leak"
    if called_kind == "capacitance" and _kind_by_unit(stripped) in ("resistance", "current"):
        return "leak"
    return "value"


def _kind_by_unit(text: str) -> str:
    try:
        return read_measured(text).kind
    except NotationError:
        return ""


def judge_words(called: Spec | None, text: str, role: str) -> Judgement | None:
    """The verdict of a reading that names its verdict or another quantity than the value; None when it is a value."""
    words = " ".join(text.lower().split())[:100]
    amount = " ".join(without_label(text).lower().split())[:100]
    if words in _NOT_MEASURED:
        return Judgement("not_measured", None, None, ("No reading was entered.",))
    if amount in _OPEN:
        return Judgement("open", None, None, ("It reads open.",))
    if amount in _SHORTED:
        return Judgement("shorted", None, None, ("It reads as a short.",))
    if amount in BEYOND_THE_METER:
        return _beyond(called)
    if called is not None and called.kind == "capacitance" and _NO_FARADS.fullmatch(amount):
        return Judgement("open", None, None, ("The meter shows no capacitance at all: it is open.",))
    if is_valve(role):
        return judge_tester(text)
    apart = insulation_text(text) if is_winding(role) else None
    if apart is not None:
        return judge_insulation_of(role, apart)
    if amount in _CONTINUOUS:
        return _continuous(called)
    return _other_quantity(called, text)


def is_valve(role: str) -> bool:
    """Whether a part of this role is judged by a valve tester."""
    return role in ROLES and ROLES[role].kind == "valve"


def is_winding(role: str) -> bool:
    """Whether a part of this role is a coil, a choke or a transformer."""
    return role in ROLES and ROLES[role].kind == "winding"


def without_label(text: str) -> str:
    """The amount of "DC resistance 450 Ω" or "winding 12"; anything else as it is."""
    found = _WINDING.fullmatch(text.strip())
    return found.group(1) if found else text


def _beyond(called: Spec | None) -> Judgement:
    """An open reads so in ohms; so does a sound capacitor, and an open capacitor shows next to nothing, never too much."""
    if called is None or called.kind != "capacitance":
        return Judgement("open", None, None, ("It reads open.",))
    text = (
        "Beyond the meter's range. In ohms that only says it doesn't leak at the meter's few volts: measure its value, "
        "and its leakage at working voltage."
    )
    return Judgement("not_measured", None, None, (text,))


def _continuous(called: Spec | None) -> Judgement:
    if called is None:
        return Judgement("within", None, None, ("It has continuity. That doesn't show shorted turns.",))
    wanted = write_value(called.value, called.kind)
    return Judgement("not_measured", None, None, (f"It has continuity; {wanted} is called for: write what the meter reads.",))


def _other_quantity(called: Spec | None, text: str) -> Judgement | None:
    stripped = text.strip()
    ohms = esr_text(stripped)
    if ohms is not None:
        return judge_esr(called, ohms)
    leaky, leakage, insulation = (one.fullmatch(stripped) for one in (_LEAKY, _LEAKAGE, _INSULATION))
    if leaky:
        return _leaky(leaky.group(1))
    if leakage:
        return _leakage(called, leakage.group(1))
    return _insulation(called, insulation.group(1)) if insulation else None


def _leaky(amount: str) -> Judgement:
    """Called leaky by whoever measured it; the amount is kept with it."""
    if not amount.strip():
        return Judgement("leaky", None, None, ("It leaks.",))
    leak = _leak(amount)
    return Judgement("leaky", None, None, (f"It leaks: {write_value(leak.value, leak.kind)} measured.",))


def _leakage(called: Spec | None, amount: str) -> Judgement:
    if not amount.strip():
        return Judgement("leaky", None, None, ("It leaks.",))
    leak = _leak(amount)
    if leak.kind == "resistance":
        return _insulation(called, amount)
    if leak.kind != "current":
        raise NotationError("unreadable", "A leakage is a current, or a resistance: write it like leaks 0.3 mA at 250 V.")
    return _of_a_capacitor(called) or judge_leakage(_known(called), leak.value, leak.volts)


def _insulation(called: Spec | None, amount: str) -> Judgement:
    if " ".join(amount.lower().split()) in BEYOND_THE_METER:
        return _of_a_capacitor(called) or _beyond(called)
    if _BARE.fullmatch(amount.strip()):
        raise NotationError("unreadable", "Write an insulation with its unit, like insulation 2 MΩ at 250 V.")
    ohms = read_measured(amount, "resistance")
    return _of_a_capacitor(called) or judge_insulation(_known(called), ohms.value, ohms.volts)


def _leak(amount: str) -> Spec:
    """A current or a resistance. A bare number of a leak is neither: milliamps read as ohms would be a short."""
    if _BARE.fullmatch(amount.strip()):
        raise NotationError("unreadable", "Write a leak with its unit, like leaks 0.3 mA at 250 V, or 2 MΩ.")
    try:
        return read_measured(amount)
    except NotationError:
        return read_measured(amount, "resistance")


def _of_a_capacitor(called: Spec | None) -> Judgement | None:
    """The answer where there is no capacitor to judge the leak by."""
    if called is not None and called.kind == "capacitance" and called.value > 0:
        return None
    text = "A leak is judged by the capacitor called for, and none is called for here."
    return Judgement("not_measured", None, None, (text,))


def _known(called: Spec | None) -> Spec:
    return called if called is not None else Spec("capacitance", Decimal(0))
