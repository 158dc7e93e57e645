"""Will this part do at this position? Rules and numbers are data (roles.toml, substitution.toml, rectifiers.csv, valves.csv).

An answer is the worst of its reasons: "no" if any rule refuses, "warn" if any cautions, else "yes". A figure that is only remembered cautions
and never refuses. Every reason is a sentence a repairer would say and names where it comes from.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.components.roles import Role
from inventory.components.roles import role as role_of
from inventory.components.safety_classes import best_for, weaker_than
from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from inventory.components.valves import equivalent, is_solid_state, plain_type, rectifier_figure
from inventory.components.writing import write_value

_ORDER = {"yes": 0, "warn": 1, "no": 2}
_MICRO = Decimal("1e-6")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part offered for a position. `kind` as in roles; `technology` film, electrolytic, mica, ceramic, paper, carbon_film, ... or ""."""

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
    """yes, warn or no with its reasons, worst first. `deviation_percent` is of the value from the one called for, None when unknown."""

    answer: str
    reasons: tuple[Reason, ...]
    deviation_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class _Question:
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


def judge_substitute(
    role: str,
    called: Spec | None,
    candidate: Candidate,
    *,
    called_type: str = "",
    rectifier: str = "",
    volts_working: Decimal | None = None,
    watts_dissipated: Decimal | None = None,
    supply: str = "",
) -> Answer:
    """Judge one part for one position.

    `called` is the service data's value (None: not known), `called_type` its valve, lamp or transistor type; `rectifier` the rectifier's type
    where the position is a reservoir; working volts and dissipated watts where known; `supply` transformerless, transformer, battery or vibrator.
    """
    wanted = role_of(role)
    ask = _Question(
        wanted,
        _without_bare_rating(called, wanted.kind),
        replace(candidate, spec=_without_bare_rating(candidate.spec, wanted.kind)),
        called_type,
        rectifier,
        volts_working,
        watts_dissipated,
        supply,
    )
    reasons = tuple(sorted(_reasons(ask), key=lambda reason: -_ORDER[reason.level]))
    worst = max((reason.level for reason in reasons), key=_ORDER.__getitem__, default="yes")
    return Answer(worst, reasons or (_nothing_against(ask),), _deviation(ask))


def rank_key(answer: Answer) -> tuple[int, Decimal, int]:
    """Sort key: yes, warn, no; within each the closest value first, then the fewest reservations."""
    distance = abs(answer.deviation_percent) if answer.deviation_percent is not None else Decimal(10**6)
    return _ORDER[answer.answer], distance, sum(reason.level != "yes" for reason in answer.reasons)


def rank(answers: Iterable[Answer]) -> list[Answer]:
    """The answers, best first."""
    return sorted(answers, key=rank_key)


def _without_bare_rating(spec: Spec | None, kind: str) -> Spec | None:
    """A "1/2 W" alone at a resistor's position is a rating whose value was left out; a "450 V" at a capacitor's likewise.

    The value becomes zero, which no rule takes for a value.
    """
    if spec is not None and kind == "resistance" and spec.kind == "power":
        return replace(spec, kind=kind, value=Decimal(0), watts=spec.value)
    if spec is not None and kind == "capacitance" and spec.kind == "voltage":
        return replace(spec, kind=kind, value=Decimal(0), volts=spec.value)
    return spec


def _reasons(ask: _Question) -> Iterator[Reason]:
    if ask.role.kind == "valve":
        yield from _valve(ask)
        return
    if ask.role.kind not in ("resistance", "capacitance"):
        yield from _other_part(ask)
        return
    if _offered_kind(ask) != ask.role.kind:
        yield Reason("kind", "no", f"This is not a {_NOUNS[ask.role.kind]}; {ask.role.label.lower()} needs one.", ask.role.source)
        return
    if ask.offered is None:
        yield Reason("unmarked", "warn", "The part's own value is not recorded. Measure it and enter it first.", _rule("called"))
        return
    yield from _value(ask)
    yield from _material(ask)
    if ask.role.kind == "resistance":
        yield from _watts(ask)
    else:
        yield from _volts(ask)
        yield from _polarity(ask)
        yield from _safety(ask)
        yield from _reservoir(ask)


_NOUNS = {"resistance": "resistor", "capacitance": "capacitor"}


def _rule(section: str) -> str:
    return str(toml_table("inventory.components", "substitution.toml")[section]["source"])


def _number(section: str, key: str) -> Decimal:
    return Decimal(toml_table("inventory.components", "substitution.toml")[section][key])


def _offered_kind(ask: _Question) -> str:
    return ask.offered.kind if ask.offered is not None else ask.candidate.kind


def _volts_text(volts: Decimal) -> str:
    return write_value(volts, "voltage")


def _percent(size: Decimal) -> str:
    return f"{abs(size):.1f}".removesuffix(".0") + " %"


def _nothing_against(ask: _Question) -> Reason:
    label = ask.role.label.lower()
    return Reason("suits", "yes", f"It suits: value and ratings meet what the {label} calls for.", ask.role.source)


# value


def _sections(spec: Spec) -> tuple[Decimal, ...]:
    return spec.sections or (spec.value,)


def _pairs(ask: _Question) -> list[tuple[Decimal, Decimal]]:
    """(called, offered) value of each section that both have."""
    if ask.called is None or ask.offered is None or ask.called.kind != ask.offered.kind:
        return []
    return [(one, other) for one, other in zip(_sections(ask.called), _sections(ask.offered), strict=False) if one and other]


def _deviation(ask: _Question) -> Decimal | None:
    deviations = [(offered - called) / called * 100 for called, offered in _pairs(ask)]
    worst = max(deviations, key=abs, default=None)
    return worst.quantize(Decimal("0.01")) if worst is not None else None


def _value(ask: _Question) -> Iterator[Reason]:
    if ask.called is None:
        text = f"The service data does not say what {ask.role.label.lower()} is called for. Enter it before you choose by value."
        yield Reason("called_unknown", "warn", text, _rule("called"))
        return
    if ask.called.kind != ask.role.kind:
        text = f"The value called for is a {ask.called.kind}, but {ask.role.label.lower()} is a {_NOUNS[ask.role.kind]}. Check the called-for entry."
        yield Reason("called_kind", "warn", text, _rule("called"))
        return
    yield from _section_count(ask)
    pairs = _pairs(ask)
    if pairs:
        called, offered = max(pairs, key=lambda pair: abs(pair[1] / pair[0] - 1))
        yield _value_reason(ask, called, offered)
    yield from _tolerance(ask)


def _section_count(ask: _Question) -> Iterator[Reason]:
    if ask.called is None or ask.offered is None:
        return
    wanted, given = len(_sections(ask.called)), len(_sections(ask.offered))
    if given < wanted:
        text = f"{wanted} sections are called for and this part has {given}: it needs {wanted - given} more beside it."
        yield Reason("sections", "warn", text, _rule("sections"))


def _value_reason(ask: _Question, called: Decimal, offered: Decimal) -> Reason:
    deviation = (offered - called) / called * 100
    kind = ask.role.kind
    place = f"{write_value(offered, kind)} against {write_value(called, kind)} called for"
    if not deviation:
        return Reason("value", "yes", f"{write_value(offered, kind)} is the value called for.", ask.role.source)
    side = f"{_percent(deviation)} {'above' if deviation > 0 else 'below'}"
    level = _value_level(ask, deviation)
    if level == "yes":
        return Reason("value", level, f"{place}: {side}, which does at this position.", ask.role.source)
    band = ask.role.window_percent if level == "warn" else ask.role.limit_percent
    assert band is not None
    allowed = f"{band[0]:+}/{band[1]:+} %"
    ending = f"outside the usual {allowed}; use it only if nothing nearer is there" if level == "warn" else f"outside {allowed}; find a nearer value"
    return Reason("value", level, f"{place}: {side}, {ending}.", ask.role.source)


def _value_level(ask: _Question, deviation: Decimal) -> str:
    if ask.role.limit_percent is not None and not ask.role.limit_percent[0] <= deviation <= ask.role.limit_percent[1]:
        return "no"
    if ask.role.window_percent is not None and not ask.role.window_percent[0] <= deviation <= ask.role.window_percent[1]:
        return "warn"
    return "yes"


def _tolerance(ask: _Question) -> Iterator[Reason]:
    called, offered = ask.called, ask.offered
    if called is None or offered is None or called.tolerance_percent is None:
        return
    yield from _outside_called_tolerance(ask, called.tolerance_percent)
    if offered.tolerance_percent is not None:
        wide, wanted = max(map(abs, offered.tolerance_percent)), max(map(abs, called.tolerance_percent))
        if wide > wanted:
            text = f"Its tolerance of {_percent(wide)} is wider than the {_percent(wanted)} called for. Measure it before you fit it."
            yield Reason("tolerance", "warn", text, _rule("tolerance"))


def _outside_called_tolerance(ask: _Question, band: tuple[Decimal, Decimal]) -> Iterator[Reason]:
    deviation = _deviation(ask)
    if deviation is not None and not band[0] <= deviation <= band[1] and _value_level(ask, deviation) == "yes":
        text = f"Its nominal value lies {_percent(deviation)} off, outside the {band[0]:+}/{band[1]:+} % called for."
        yield Reason("outside_tolerance", "warn", text, _rule("tolerance"))


# ratings


def _watts(ask: _Question) -> Iterator[Reason]:
    offered = ask.offered.watts if ask.offered else None
    called = ask.called.watts if ask.called else None
    if offered is None:
        if called is not None or ask.watts_dissipated is not None:
            yield Reason("watts_unknown", "warn", "Its wattage is not recorded. Make sure it is large enough before you fit it.", _rule("power"))
        return
    if called is not None and offered < called:
        text = f"Rated {write_value(offered, 'power')}, below the {write_value(called, 'power')} called for."
        yield Reason("watts", "no", text, _rule("power"))
    if ask.watts_dissipated is not None:
        yield _dissipation(offered, ask.watts_dissipated)


def _dissipation(offered: Decimal, dissipated: Decimal) -> Reason:
    rated, hot = write_value(offered, "power"), write_value(dissipated, "power")
    wanted = dissipated * _number("power", "factor")
    if offered < dissipated:
        return Reason("dissipation", "no", f"It must get rid of {hot} and is rated {rated}: it would burn.", _rule("power"))
    if offered < wanted:
        text = f"It must get rid of {hot}; at {rated} it runs hot. {write_value(wanted, 'power')} or more is better."
        return Reason("dissipation", "warn", text, _rule("power"))
    return Reason("dissipation", "yes", f"Rated {rated} for {hot}: at least twice what it must get rid of.", _rule("power"))


def _volts(ask: _Question) -> Iterator[Reason]:
    offered = ask.offered.volts if ask.offered else None
    called = ask.called.volts if ask.called else None
    if ask.role.safety:
        called = None  # an old part's DC rating says nothing about the AC rating of a safety capacitor
    needed = [volts for volts in (called, ask.volts_working) if volts is not None]
    if not needed:
        if not ask.role.safety and ask.called is not None:
            text = "Neither the voltage called for nor the working voltage is known. Measure or calculate it before you fit this."
            yield Reason("volts_called_unknown", "warn", text, _rule("voltage"))
        return
    if offered is None:
        yield Reason("volts_unknown", "warn", "Its voltage rating is not recorded. Read it off the part first.", _rule("voltage"))
    elif called is not None and offered < called:
        yield Reason("volts", "no", f"Rated {_volts_text(offered)}, below the {_volts_text(called)} called for.", _rule("voltage"))
    elif ask.volts_working is not None and offered < ask.volts_working:
        text = f"Rated {_volts_text(offered)}, below the {_volts_text(ask.volts_working)} it would work at."
        yield Reason("volts_working", "no", text, _rule("voltage"))
    else:
        yield Reason("volts", "yes", f"Rated {_volts_text(offered)}; {_volts_text(max(needed))} is needed.", _rule("voltage"))


# what it is made of


def _is_polarised(ask: _Question) -> bool:
    return ask.candidate.polarised


def _polarity(ask: _Question) -> Iterator[Reason]:
    if not _is_polarised(ask) or ask.role.polarised == "yes":
        return
    value = ask.called.value if ask.called is not None and ask.called.value else ask.offered.value if ask.offered else Decimal(0)
    if ask.role.polarised == "large" and value >= _number("polarity", "large_farads"):
        text = "It is polarised. Find out which side of the position is positive, and confirm it after fitting."
        yield Reason("polarity", "warn", text, _rule("polarity"))
    else:
        yield Reason("polarity", "no", f"It is polarised, and {ask.role.label.lower()} sees alternating voltage or none at all.", _rule("polarity"))


def _material(ask: _Question) -> Iterator[Reason]:
    made_of, role = ask.candidate.technology, ask.role
    name = made_of.replace("_", " ")
    if made_of and made_of in role.refused_materials:
        level = "no" if made_of != "paper" else "warn"
        text = f"A {name} part does not belong at this position" + (": old paper leaks, and a leak here upsets the next stage." if level == "warn" else ".")
        yield Reason("material", "no" if role.materials else level, text, _rule("material"))
    elif made_of and (made_of in role.cautioned_materials or (role.materials and made_of not in role.materials)):
        yield Reason("material", "warn", f"{name.capitalize()} is second choice here: {_MATERIAL_ADVICE[role.kind]}", _rule("material"))
    elif not made_of and role.materials:
        text = f"What it is made of is not recorded, and a tuned circuit needs it stable: {', '.join(sorted(role.materials))}."
        yield Reason("material_unknown", "warn", text, _rule("material"))


_MATERIAL_ADVICE = {
    "capacitance": "check that its temperature drift suits a tuned circuit (NP0 or C0G, or polystyrene).",
    "resistance": "a wirewound or fusible resistor bears the switch-on surge.",
}


# safety class


def _safety(ask: _Question) -> Iterator[Reason]:
    place, offered = ask.role.safety, ask.offered
    if offered is None:
        return
    if ask.called is not None and weaker_than(offered.safety_class, ask.called.safety_class):
        text = f"{ask.called.safety_class} is called for, and {offered.safety_class or 'a part without safety class'} is weaker."
        yield Reason("safety_class_weaker", "no", text, ask.role.source)
    if not place:
        return
    where = "across the line" if place == "line_to_line" else "from the line to the chassis"
    best = best_for(offered.safety_class, place)
    if best is None:
        needed = "X1, X2, Y1 or Y2" if place == "line_to_line" else "Y1 or Y2"
        yield Reason("safety_class", "no", f"It carries no safety class, and {where} only {needed} may be fitted.", ask.role.source)
        return
    yield Reason("safety_class", best.level(place), _class_text(best.code, best.note, best.level(place), where), best.source)
    if place == "line_to_chassis" and ask.supply == "transformerless":
        text = "Keep the resistor across it, if there is one: it drains the chassis when the set is unplugged."
        yield Reason("keep_bleeder", "yes", text, "common practice, no source")


def _class_text(code: str, note: str, level: str, where: str) -> str:
    if level == "yes":
        return f"{code} may stand {where}."
    if level == "warn":
        return f"{code} {where} only with care: {note}."
    return f"{code} must not stand {where}: an X class part may fail short and put the line on the chassis. Fit Y1 or Y2."


# reservoir


def _reservoir(ask: _Question) -> Iterator[Reason]:
    if not ask.role.rectifier_limited or ask.offered is None or is_solid_state(ask.rectifier):
        return
    if not ask.rectifier:
        if _grows(ask):
            text = "It is larger than called for, and the rectifier's type is not known. Look up its largest first capacitor."
            yield Reason("rectifier_unknown", "warn", text, _rule("reservoir"))
        return
    figure = rectifier_figure(ask.rectifier, "max_reservoir_uf")
    if figure is None:
        text = f"No largest first capacitor is on file for {ask.rectifier[:20]}. Look at its data sheet before you go above the value called for."
        yield Reason("rectifier_no_figure", "warn" if _grows(ask) else "yes", text, _rule("reservoir"))
        return
    size = _sections(ask.offered)[0] / _MICRO
    yield _limit_reason(ask, size, figure.value, figure.source, figure.from_memory)


def _grows(ask: _Question) -> bool:
    deviation = _deviation(ask)
    return deviation is None or deviation > _number("reservoir", "slack_percent")


def _limit_reason(ask: _Question, size_uf: Decimal, limit_uf: Decimal, source: str, from_memory: bool) -> Reason:
    has, allowed = write_value(size_uf * _MICRO, "capacitance"), write_value(limit_uf * _MICRO, "capacitance")
    valve = plain_type(ask.rectifier)
    if size_uf <= limit_uf:
        return Reason("reservoir_limit", "yes", f"{has} is within the {allowed} a {valve} allows as first capacitor.", source)
    text = f"{has} is above the {allowed} a {valve} allows as first capacitor"
    if from_memory:
        return Reason("reservoir_limit", "warn", f"{text}, a figure from memory: look at the data sheet first.", source)
    if size_uf <= limit_uf * (1 + _number("reservoir", "slack_percent") / 100):
        return Reason("reservoir_limit", "warn", f"{text}, though within a capacitor's own tolerance: add series resistance.", source)
    return Reason("reservoir_limit", "no", f"{text}: the switch-on surge would ruin its cathode.", source)


# valves and the rest


def _valve(ask: _Question) -> Iterator[Reason]:
    offered, called = ask.candidate.valve_type, ask.called_type
    if not called:
        yield Reason("called_unknown", "warn", "The service data does not say which valve is called for. Enter its type first.", _rule("called"))
    elif not offered:
        yield Reason("valve_type", "no", f"{called} is called for and this part has no valve type on record.", _rule("valve"))
    elif plain_type(called) == plain_type(offered):
        yield Reason("valve_type", "yes", f"{offered} is the type called for.", _rule("valve"))
    else:
        yield _valve_equivalent(called, offered)


def _valve_equivalent(called: str, offered: str) -> Reason:
    found = equivalent(called, offered)
    if found is None:
        return Reason("valve_type", "no", f"{called} is called for, and {offered} is not listed as its equivalent.", _rule("valve"))
    if found.how == "same" and not found.from_memory:
        return Reason("valve_type", "yes", f"{offered} is another name of {called}.", found.source)
    note = f" ({found.note})" if found.note else ""
    words = {"same": "is given as another name of", "near": "comes near", "base": "has the data of but not the base of"}[found.how]
    ending = " From memory: compare the data sheets." if found.from_memory else " The socket must be changed or adapted."
    return Reason("valve_type", "warn", f"{offered} {words} {called}{note}.{ending}", found.source)


def _other_part(ask: _Question) -> Iterator[Reason]:
    if ask.called_type and ask.candidate.valve_type and plain_type(ask.called_type) == plain_type(ask.candidate.valve_type):
        yield Reason("type", "yes", f"{ask.candidate.valve_type} is the type called for.", _rule("called"))
        return
    if ask.called is not None and ask.offered is not None and ask.called.kind == ask.offered.kind:
        deviation = _deviation(ask)
        if deviation is not None and abs(deviation) <= 10:
            yield Reason("value", "yes", f"{write_value(ask.offered.value, ask.offered.kind)} is what is called for.", _rule("called"))
            return
    text = f"No rule judges {ask.role.label.lower()} by its marking. Compare it with the service data yourself."
    yield Reason("judge_yourself", "warn", text, _rule("called"))
