"""Rules on a substitute's wattage, voltage, polarity and material."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import Question, Reason, number_of, source_of, volts_text
from inventory.components.writing import write_value


def judge_watts(ask: Question) -> Iterator[Reason]:
    offered = ask.offered.watts if ask.offered else None
    called = ask.called.watts if ask.called else None
    if offered is None:
        if called is not None or ask.watts_dissipated is not None:
            yield Reason(
                "watts_unknown",
                "warn",
                "Its wattage is not recorded. Make sure it is large enough before you fit it.",
                source_of("power"),
            )
        return
    if called is not None and offered < called:
        text = f"Rated {write_value(offered, 'power')}, below the {write_value(called, 'power')} called for."
        yield Reason("watts", "no", text, source_of("power"))
    if ask.watts_dissipated is not None:
        yield _dissipation(offered, ask.watts_dissipated)


def _dissipation(offered: Decimal, dissipated: Decimal) -> Reason:
    rated, hot = write_value(offered, "power"), write_value(dissipated, "power")
    wanted = dissipated * number_of("power", "factor")
    if offered < dissipated:
        return Reason("dissipation", "no", f"It must get rid of {hot} and is rated {rated}: it would burn.", source_of("power"))
    if offered < wanted:
        text = f"It must get rid of {hot}; at {rated} it runs hot. {write_value(wanted, 'power')} or more is better."
        return Reason("dissipation", "warn", text, source_of("power"))
    return Reason("dissipation", "yes", f"Rated {rated} for {hot}: at least twice what it must get rid of.", source_of("power"))


def judge_volts(ask: Question) -> Iterator[Reason]:
    offered = ask.offered.volts if ask.offered else None
    called = ask.called.volts if ask.called else None
    if ask.role.safety:
        called = None  # an old part's DC rating says nothing about the AC rating of a safety capacitor
    needed = [volts for volts in (called, ask.volts_working) if volts is not None]
    if not needed:
        if not ask.role.safety and ask.called is not None:
            text = "Neither the voltage called for nor the working voltage is known. Measure or calculate it before you fit this."
            yield Reason("volts_called_unknown", "warn", text, source_of("voltage"))
        return
    if offered is None:
        yield Reason("volts_unknown", "warn", "Its voltage is not recorded. Read it off the part first.", source_of("voltage"))
    elif called is not None and offered < called:
        yield Reason(
            "volts", "no", f"Rated {volts_text(offered)}, below the {volts_text(called)} called for.", source_of("voltage")
        )
    elif ask.volts_working is not None and offered < ask.volts_working:
        text = f"Rated {volts_text(offered)}, below the {volts_text(ask.volts_working)} it would work at."
        yield Reason("volts_working", "no", text, source_of("voltage"))
    else:
        yield Reason("volts", "yes", f"Rated {volts_text(offered)}; {volts_text(max(needed))} is needed.", source_of("voltage"))


def _is_polarised(ask: Question) -> bool:
    return ask.candidate.polarised


def judge_polarity(ask: Question) -> Iterator[Reason]:
    if not _is_polarised(ask) or ask.role.polarised == "yes":
        return
    value = ask.called.value if ask.called is not None and ask.called.value else ask.offered.value if ask.offered else Decimal(0)
    if ask.role.polarised == "large" and value >= number_of("polarity", "large_farads"):
        text = "It is polarised. Find out which side of the position is positive, and confirm it after fitting."
        yield Reason("polarity", "warn", text, source_of("polarity"))
    else:
        yield Reason(
            "polarity",
            "no",
            f"It is polarised, and {ask.role.label.lower()} sees alternating voltage or none at all.",
            source_of("polarity"),
        )


def judge_material(ask: Question) -> Iterator[Reason]:
    made_of, role = ask.candidate.technology, ask.role
    name = made_of.replace("_", " ")
    if made_of and made_of in role.refused_materials:
        level = "no" if made_of != "paper" else "warn"
        text = f"A {name} part does not belong at this position" + (
            ": old paper leaks, and a leak here upsets the next stage." if level == "warn" else "."
        )
        yield Reason("material", "no" if role.materials else level, text, source_of("material"))
    elif made_of and (made_of in role.cautioned_materials or (role.materials and made_of not in role.materials)):
        yield Reason(
            "material", "warn", f"{name.capitalize()} is second choice here: {_MATERIAL_ADVICE[role.kind]}", source_of("material")
        )
    elif not made_of and role.materials:
        text = f"What it is made of is not recorded, and a tuned circuit needs it stable: {', '.join(sorted(role.materials))}."
        yield Reason("material_unknown", "warn", text, source_of("material"))


_MATERIAL_ADVICE = {
    "capacitance": "check that its temperature drift suits a tuned circuit (NP0 or C0G, or polystyrene).",
    "resistance": "a wirewound or fusible resistor bears the switch-on surge.",
}
