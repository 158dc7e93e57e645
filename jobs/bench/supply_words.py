"""What another part does to a supply, in one sentence as a repairer would say it."""

from collections.abc import Iterator

from inventory.components.valves import is_solid_state
from jobs.bench.supply_compare import Case, Parts, amount, farads

_SAME = 0.03


def told(before: Case, after: Case) -> str:
    """`With 47 µF instead of 20 µF as reservoir, B+ rises 3 V to 256 V, its hum falls to half, …`."""
    changes = list(changes_of(before.parts, after.parts))
    if not changes:
        return stands(after)
    sentence = (
        f"With {_listed(changes)}, B+ {_volts(before, after)}, its hum {_hum(before, after)}, "
        f"and {_rectifier(after.parts)} is asked for {amount(after.result.inrush_peak_a, 'current')} when switched on hot."
    )
    return f"{sentence} {_new_trouble(before, after)}"


def stands(case: Case) -> str:
    """How one supply stands by itself."""
    result = case.result
    hum, pulse = amount(result.bplus_ripple_pp_v, "voltage"), amount(result.inrush_peak_a, "current")
    sentence = f"B+ comes to {amount(result.bplus_mean_v, 'voltage')} with {hum} of hum peak to peak."
    return f"{sentence} {_first_up(_rectifier(case.parts))} is asked for {pulse} when switched on hot. {_trouble(case)}"


def _trouble(case: Case) -> str:
    return case.troubles[0].sentence if case.troubles else _nothing(case)


def _nothing(case: Case) -> str:
    return "Nothing is beyond what is on file." if case.limits else "No limits are on file for it: see its data sheet."


def _new_trouble(before: Case, after: Case) -> str:
    known = {one.sentence for one in before.troubles}
    new = [one.sentence for one in after.troubles if one.sentence not in known]
    if new:
        return new[0]
    return "What was beyond its figures before still is: see below." if after.troubles else _nothing(after)


def changes_of(before: Parts, after: Parts) -> Iterator[str]:
    """What is another part, each as “new instead of old”."""
    if after.reservoir_uf != before.reservoir_uf:
        yield f"{farads(after.reservoir_uf)} instead of {farads(before.reservoir_uf)} as reservoir"
    if after.smoothing_uf != before.smoothing_uf:
        yield f"{farads(after.smoothing_uf)} instead of {farads(before.smoothing_uf)} as smoothing"
    if after.rectifier != before.rectifier:
        yield f"{after.rectifier} instead of {before.rectifier} as rectifier"
    if (after.choke_h, after.choke_ohms) != (before.choke_h, before.choke_ohms):
        yield f"{choke(after)} instead of {choke(before)} between the capacitors"
    if after.source_ohms != before.source_ohms:
        yield f"{amount(after.source_ohms, 'resistance')} instead of {amount(before.source_ohms, 'resistance')} before each anode"


def choke(parts: Parts) -> str:
    """`10 H 450 Ω`, or `1 kΩ` where it is a resistor."""
    if not parts.choke_h and not parts.choke_ohms:
        return "nothing"
    henries = [amount(parts.choke_h, "inductance")] if parts.choke_h else []
    return " ".join([*henries, amount(parts.choke_ohms, "resistance")])


def _rectifier(parts: Parts) -> str:
    return "the rectifier" if is_solid_state(parts.rectifier) else f"the {parts.rectifier}"


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _volts(before: Case, after: Case) -> str:
    old, new = before.result.bplus_mean_v, after.result.bplus_mean_v
    if abs(new - old) < 0.5:
        return f"stays at {amount(new, 'voltage')}"
    return f"{'rises' if new > old else 'falls'} {amount(round(abs(new - old), 1), 'voltage')} to {amount(new, 'voltage')}"


def _hum(before: Case, after: Case) -> str:
    old, new = before.result.bplus_ripple_pp_v, after.result.bplus_ripple_pp_v
    ratio = new / old if old > 0 else 1.0
    if abs(ratio - 1) <= _SAME:
        return "stays as it is"
    if 0.45 <= ratio <= 0.55:
        return "falls to half"
    if ratio < 1:
        return f"falls to {100 * ratio:.2g} %"
    if ratio < 1.9:
        return f"rises by {100 * (ratio - 1):.2g} %"
    return "doubles" if ratio <= 2.1 else f"rises to {ratio:.3g} times"
