"""Make it from what is in the drawers: the best single part, or two in series or in parallel, for a value that isn't there.

Searching is done in floats on sorted values (one sweep from both ends, O(n log n) with the sort); what is shown is reckoned again
in decimals. What each part bears is judged before pairs are formed, as it hardly depends on the partner: its share of the whole.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from heapq import nsmallest

from inventory.components.answers import percent_text
from inventory.components.joining import CombiningError, How, StockValue, adds_up, exact, in_range, join, round_figures
from inventory.components.specs import Band
from inventory.components.writing import write_value

__all__ = ["CombiningError", "Made", "Making", "Needed", "StockValue", "made_of", "make_up"]

MOST_TRIED = 16
# A second part that brings less than this of the whole is within the first one's own tolerance: it only costs a joint.
LEAST_SHARE = 0.02
_USUAL_BAND: Band = (Decimal(-20), Decimal(20))
_REFUSALS = {
    "line_to_line": "across the line",
    "line_to_chassis": "from the line to the chassis",
}


@dataclass(frozen=True, slots=True)
class Needed:
    """What is wanted: `kind` resistance or capacitance, `value` in ohm or farad, the rest where known.

    `volts` and `watts` are the ratings called for; `volts_working` and `watts_dissipated` what the position really bears.
    `band_percent`: how far the made value may lie off. `safety`: line_to_line, line_to_chassis or "". `polarised`: whether an
    electrolytic may stand there at all.
    """

    kind: str
    value: Decimal
    tolerance_percent: Band | None = None
    volts: Decimal | None = None
    watts: Decimal | None = None
    volts_working: Decimal | None = None
    watts_dissipated: Decimal | None = None
    band_percent: Band | None = None
    safety: str = ""
    polarised: bool = False

    @property
    def volts_needed(self) -> Decimal | None:
        return max((one for one in (self.volts, self.volts_working) if one is not None), default=None)

    @property
    def watts_needed(self) -> Decimal | None:
        return max((one for one in (self.watts, self.watts_dissipated) if one is not None), default=None)


@dataclass(frozen=True, slots=True)
class Made:
    """The wanted value made from `parts`. Volts and watts are each part's, None where the position's are not known.

    `tolerance_percent` is the worst case around the made value, `deviation_percent` the made value's own from the wanted.
    """

    kind: str
    how: How
    parts: tuple[StockValue, ...]
    value: Decimal
    deviation_percent: Decimal
    tolerance_percent: Band | None
    volts_seen: tuple[Decimal, ...] | None
    watts_seen: tuple[Decimal, ...] | None
    volts_allowed: Decimal | None
    watts_allowed: Decimal | None
    reasons: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The made value as one says it."""
        return write_value(round_figures(self.value, 4), self.kind)

    @property
    def band_text(self) -> str:
        """Its worst-case tolerance as one writes it; empty where it is not known."""
        if self.tolerance_percent is None:
            return ""
        low, high = (round(float(end), 1) for end in self.tolerance_percent)
        return f"±{high:g} %" if low == -high else f"{low:+g}/{high:+g} %"

    @property
    def needs_balancing(self) -> bool:
        """Electrolytics in series: their leakage, not their value, decides how they share, until resistors do."""
        return self.kind == "capacitance" and self.how == "series" and any(part.polarised for part in self.parts)

    @property
    def mixes_polarity(self) -> bool:
        """An electrolytic and one that isn't: side by side they do, in series the one that doesn't leak takes all the voltage."""
        return self.how == "series" and len({part.polarised for part in self.parts}) > 1


@dataclass(frozen=True, slots=True)
class Making:
    """The best few of each way, nearest first; `refusal` says why two parts may not be joined here, if so."""

    single: tuple[Made, ...] = ()
    series: tuple[Made, ...] = ()
    parallel: tuple[Made, ...] = ()
    refusal: str = ""

    @property
    def every(self) -> tuple[Made, ...]:
        return (*self.single, *self.series, *self.parallel)


def make_up(needed: Needed, stock: Iterable[StockValue], *, most: int = 3) -> Making:
    """The best few single parts, pairs in series and pairs in parallel, out of `stock` (all of one kind, each id once).

    CombiningError: `unknown` kind, `out_of_range` value or rating.
    """
    _check(needed)
    if needed.safety in _REFUSALS:
        return Making(refusal=_refusal(needed))
    sound = [one for one in stock if one.is_sound and (needed.polarised or not one.polarised)]
    return Making(
        _singles(needed, sound, most),
        _pairs(needed, "series", sound, most),
        _pairs(needed, "parallel", sound, most),
    )


def made_of(needed: Needed, how: How, parts: Sequence[StockValue]) -> Made:
    """These parts joined that way, whether or not they suit: value, sharing and reasons."""
    _check(needed)
    return _with_reasons(needed, _joined(needed, how, parts))


def _joined(needed: Needed, how: How, parts: Sequence[StockValue]) -> Made:
    whole = join(needed.kind, how, parts)
    deviation = ((whole.value / needed.value - 1) * 100).quantize(Decimal("0.01"))
    volts = needed.volts_working or needed.volts
    hot = needed.watts_dissipated or needed.watts
    return Made(
        needed.kind,
        how,
        whole.parts,
        whole.value,
        deviation,
        whole.tolerance_percent,
        whole.volts_seen(volts) if volts is not None else None,
        whole.watts_seen(hot) if hot is not None and needed.kind == "resistance" else None,
        whole.volts_allowed,
        whole.watts_allowed,
    )


def _with_reasons(needed: Needed, made: Made) -> Made:
    return replace(made, reasons=tuple(_reasons(needed, made)))


def _check(needed: Needed) -> None:
    if needed.kind not in ("resistance", "capacitance"):
        raise CombiningError("unknown", "Only resistors and capacitors are made up from two; ask for one of them.")
    given = [
        one
        for one in (needed.value, needed.volts, needed.watts, needed.volts_working, needed.watts_dissipated)
        if one is not None
    ]
    bands = [end for band in (needed.tolerance_percent, needed.band_percent) if band for end in band]
    if not all(in_range(one) for one in given) or not all(end.is_finite() and -100 < end < 1000 for end in bands):
        raise CombiningError(
            "out_of_range", "Give a value and ratings above zero and below 1e12, and tolerances between -100 and 1000 %."
        )


def _refusal(needed: Needed) -> str:
    return (
        f"Two parts are never joined {_REFUSALS[needed.safety]}: the safety class belongs to one part as it was tested, "
        "and two of them have none together. Fit one part of the right class."
    )


@dataclass(frozen=True, slots=True)
class _Search:
    """One way of joining, in floats. `low`..`high` bound the sum of amounts: of values, or of their reciprocals.

    `rating` is what each part must bear of `whole`: its share of it where `shared`, else all.
    """

    how: How
    straight: bool
    wanted: float
    low: float
    high: float
    rating: str
    whole: float | None
    shared: bool

    def amount(self, one: StockValue) -> float:
        return one.value if self.straight else 1 / one.value

    def share(self, amount: float, of: float) -> float:
        return min(amount / of, 1.0) if self.shared else 1.0

    def bears(self, one: StockValue, share: float) -> bool:
        """Whether a part is rated for that share of the whole. What isn't recorded isn't trusted."""
        if self.whole is None:
            return True
        rated: float | None = getattr(one, self.rating)
        return rated is not None and rated >= self.whole * share * (1 - 1e-9)

    def looseness(self, one: StockValue) -> tuple[bool, float]:
        """Sort key of parts of one value: first what bears its share even where tolerances shift it, then the tightest."""
        shift = one.tolerance_percent[1] / 100 if one.tolerance_percent and self.rating == "volts" else 0.0
        return not self.bears(one, self.share(self.amount(one), self.wanted) * (1 + shift)), _width(one)


def _search(needed: Needed, how: How) -> _Search:
    straight = adds_up(needed.kind, how)
    value = float(needed.value)
    low, high = (value * (1 + float(percent) / 100) for percent in needed.band_percent or _USUAL_BAND)
    if not straight:
        value, low, high = 1 / value, 1 / high, 1 / low
    is_capacitor = needed.kind == "capacitance"
    whole = needed.volts_needed if is_capacitor else needed.watts_needed
    shared = how == "series" if is_capacitor else how != "single"
    rating = "volts" if is_capacitor else "watts"
    return _Search(how, straight, value, low, high, rating, None if whole is None else float(whole), shared)


def _singles(needed: Needed, stock: Sequence[StockValue], most: int) -> tuple[Made, ...]:
    find = _search(needed, "single")
    fitting = [one for one in stock if find.low <= one.value <= find.high and find.bears(one, 1.0)]
    near = nsmallest(MOST_TRIED, fitting, key=lambda one: (abs(one.value - find.wanted), _width(one)))
    return _best(needed, (("single", (one,)) for one in near), most)


def _pairs(needed: Needed, how: How, stock: Sequence[StockValue], most: int) -> tuple[Made, ...]:
    """A film capacitor and an electrolytic are not put in series: at rest the one that doesn't leak takes all the voltage."""
    apart = how == "series" and needed.kind == "capacitance"
    groups = [[one for one in stock if one.polarised is polarised] for polarised in (False, True)] if apart else [stock]
    find = _search(needed, how)
    found = [pair for group in groups for pair in _nearest_pairs(find, group)]
    nearest = nsmallest(MOST_TRIED, found, key=lambda pair: pair[0])
    return _best(needed, ((how, parts) for _, parts in nearest), most)


_Pair = tuple[float, tuple[StockValue, StockValue]]


def _nearest_pairs(find: _Search, stock: Sequence[StockValue]) -> Iterator[_Pair]:
    """For each value the partners that bring the sum nearest: those beside the gap, found by walking from both ends."""
    shelves = _by_amount(find, stock)
    amounts = sorted(shelves)
    partner, gap = len(amounts) - 1, find.high - find.wanted
    for place, amount in enumerate(amounts):
        missing = find.wanted - amount
        while partner > place and amounts[partner] > missing:
            partner -= 1
        if partner < place or amount > missing + gap:
            break
        for other in range(max(partner - 1, place), min(partner + 3, len(amounts))):
            if find.low <= amount + amounts[other] <= find.high and (parts := _two_of(shelves, amount, amounts[other])):
                yield abs(amounts[other] - missing), parts


def _by_amount(find: _Search, stock: Sequence[StockValue]) -> dict[float, list[StockValue]]:
    """What can bear its share, by what it adds to the sum; of one value the two best, in case one piece is all there is."""
    found: dict[float, list[StockValue]] = {}
    least, most = find.wanted * LEAST_SHARE, find.high
    for one in stock:
        amount = find.amount(one)
        if least <= amount < most and find.bears(one, find.share(amount, most)):
            found.setdefault(amount, []).append(one)
    for amount, alike in found.items():
        if len(alike) > 1:
            found[amount] = nsmallest(2, alike, key=find.looseness)
    return found


def _width(one: StockValue) -> float:
    """How loose its tolerance is; what states none is the loosest."""
    return one.tolerance_percent[1] - one.tolerance_percent[0] if one.tolerance_percent else 1e6


def _two_of(shelves: dict[float, list[StockValue]], amount: float, other: float) -> tuple[StockValue, StockValue] | None:
    first, second = shelves[amount], shelves[other]
    if amount != other:
        return first[0], second[0]
    if first[0].free >= 2:
        return first[0], first[0]
    return (first[0], first[1]) if len(first) > 1 else None


def _best(needed: Needed, ways: Iterable[tuple[How, tuple[StockValue, ...]]], most: int) -> tuple[Made, ...]:
    made = [one for how, parts in ways if _suits(needed, one := _joined(needed, how, parts))]
    return tuple(_with_reasons(needed, one) for one in sorted(made, key=_careful_order)[:most])


def _suits(needed: Needed, made: Made) -> bool:
    if needed.kind == "capacitance":
        return needed.volts_needed is None or (made.volts_allowed is not None and made.volts_allowed >= needed.volts_needed)
    return needed.watts_needed is None or (made.watts_allowed is not None and made.watts_allowed >= needed.watts_needed)


def _careful_order(made: Made) -> tuple[Decimal, Decimal, Decimal]:
    """Nearest to a tenth of a percent, then the tightest, then the most even pair, which shares best."""
    width = made.tolerance_percent[1] - made.tolerance_percent[0] if made.tolerance_percent else Decimal(10**6)
    largest = exact(max(part.value for part in made.parts) / min(part.value for part in made.parts))
    return round(abs(made.deviation_percent), 1), width, largest


def _reasons(needed: Needed, made: Made) -> Iterator[str]:
    yield _value_words(needed, made)
    yield _tolerance_words(needed, made)
    yield from _volts_words(needed, made)
    yield from _watts_words(needed, made)
    if needed.kind == "capacitance" and made.how != "single":
        yield from _capacitor_words(made)


def _value_words(needed: Needed, made: Made) -> str:
    has, off = made.text, made.deviation_percent
    if not off:
        return f"It makes {has}, the value wanted."
    side, wanted = "above" if off > 0 else "below", write_value(needed.value, needed.kind)
    return f"It makes {has}, {percent_text(off)} {side} the {wanted} wanted."


def _tolerance_words(needed: Needed, made: Made) -> str:
    band = made.tolerance_percent
    if band is None:
        return "Not every part states its tolerance: measure what you made before you fit it."
    written = made.band_text
    wanted = needed.tolerance_percent
    if wanted is None:
        return f"At the worst of its parts' tolerances it lies within {written}."
    ends = [(1 + made.deviation_percent / 100) * (1 + end / 100) * 100 - 100 for end in band]
    if wanted[0] <= ends[0] and ends[1] <= wanted[1]:
        return f"At the worst of its parts' tolerances ({written}) it stays within what is called for."
    return f"Its parts' tolerances ({written}) can carry it outside what is called for: measure before you fit it."


def _volts_words(needed: Needed, made: Made) -> Iterator[str]:
    if made.volts_allowed is not None and needed.kind == "capacitance" and made.how == "series":
        yield f"Together they bear {_short(made.volts_allowed, 'voltage')}, room left for their tolerances."
    if made.volts_seen and made.how == "series":
        whole = needed.volts_working or needed.volts
        each = " and ".join(_short(volts, "voltage") for volts in made.volts_seen)
        yield f"Of {_short(whole, 'voltage')} they take {each}." if whole is not None else ""


def _watts_words(needed: Needed, made: Made) -> Iterator[str]:
    if made.watts_seen and made.how != "single":
        whole = needed.watts_dissipated or needed.watts
        each = " and ".join(_short(watts, "power") for watts in made.watts_seen)
        yield f"Of {_short(whole, 'power')} they get rid of {each}." if whole is not None else ""


def _short(value: Decimal, kind: str) -> str:
    return write_value(round_figures(value), kind)


def _capacitor_words(made: Made) -> Iterator[str]:
    """Balancing, polarity and the live can: common practice, no source; a textbook rule for electrolytics in series."""
    polarised = made.parts[0].polarised
    if made.how == "parallel":
        if any(part.polarised for part in made.parts):
            yield "Plus to plus and minus to minus."
        return
    if not polarised:
        yield "On direct voltage their leakage decides how they share: choose two of one make, well above what each must bear."
        return
    yield "Put a balancing resistor across each, passing several times their leakage; else one takes too much."
    yield "Both the same way round, plus of the lower to minus of the upper; never back to back."
    yield "The upper one's can stands at half the voltage: insulate it, and discharge both before you touch."
