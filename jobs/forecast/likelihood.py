"""How likely a position needs replacing, from what was seen at positions like it.

A tree of kinds: role, then what the part is made of, then the age of the set, then its supply. Each kind has a chance of its own
that scatters around that of the kind above with a stated strength (priors.toml), a Beta distribution at each. What is known of a
kind before its own log is looked at comes from the kind above **without** that log, so nothing is counted twice; what a kind
tells about the one above is held back by how far kinds scatter. Means and variances are handed on (moment matching), each single
update is exact: Gelman et al., Bayesian Data Analysis, 3rd ed., sections 2.4 and 5.3. On top stands the shop's own habit, how
much more or less than usual it replaces in all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from math import exp, lgamma

from inventory.components.roles import ROLES
from jobs.forecast.betas import NORMAL, Beta, bounded, of_mean, of_moments, probit, shifted
from jobs.forecast.priors import family_shifts, figures, role_prior

LEVELS = ("family", "age_band", "supply_kind")


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """A kind of position. `role` a code of roles.toml; `family` what the part is made of (a code of substitution.toml such as
    "paper") or a valve's family; `age_band` and `supply_kind` of the set. Any text may be "" where it isn't known."""

    role: str
    family: str = ""
    age_band: str = ""
    supply_kind: str = ""

    @property
    def path(self) -> tuple[str, str, str, str]:
        return self.role, self.family, self.age_band, self.supply_kind


# Positions seen and, of those, replaced; fractions where older jobs count in part.
Counts = Mapping[Cell, tuple[float, float]]
Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Chance:
    """`mean` the chance that it needs replacing, `low`..`high` the range that holds it with 80 %, `alpha` and `beta` its Beta.

    `seen` and `replaced` are of the shop's own log, at the narrowest kind that it has seen; `words` say so.
    """

    mean: float
    alpha: float
    beta: float
    low: float
    high: float
    seen: float
    replaced: float
    words: str


@dataclass(frozen=True, slots=True)
class Tied:
    """What is known of one node. `tie` (0..1) is how far its doubt is the doubt of the node above, as a correlation."""

    known: Beta
    tie: float


@dataclass(frozen=True, slots=True)
class _Evidence:
    seen: float = 0.0
    yes: float = 0.0

    def without(self, other: _Evidence) -> _Evidence:
        return _Evidence(max(self.seen - other.seen, 0.0), min(max(self.yes - other.yes, 0.0), max(self.seen - other.seen, 0.0)))


class Likelihoods:
    """What the log says of every kind of position. `of` answers for kinds that were never seen, too."""

    def __init__(self, counts: Counts, weights: Counts, shared_doubt: float) -> None:
        self._seen = _sums(counts)
        self._tree = _Tree(weights)
        self._habit = _Habit(self._tree, shared_doubt)
        self._known: dict[Path, Tied] = {}
        self._before: dict[Path, Beta] = {}

    def of(self, cell: Cell) -> Chance:
        known = self.tied(cell.path).known
        low, high = known.interval()
        path, seen, replaced = self._narrowest(cell)
        words = _words(path, seen, replaced)
        return Chance(bounded(known.mean), known.alpha, known.beta, low, high, seen, replaced, words)

    def tied(self, path: Path) -> Tied:
        """What is known of a node after its own log, and its tie to the node above."""
        if path not in self._known:
            before = self._prior(path)
            own = self._tree.evidence(path)
            after = before.after(own.seen, own.yes)
            carried = before.strength / after.strength * self._doubt_above(path)
            self._known[path] = Tied(after, min(carried / after.variance**0.5, 0.999))
        return self._known[path]

    def _prior(self, path: Path) -> Beta:
        """What is known of a node from all but its own log."""
        if path not in self._before:
            self._before[path] = self._habit.role(path[0]) if len(path) == 1 else self._from_above(path)
        return self._before[path]

    def _from_above(self, path: Path) -> Beta:
        above, strength, shift = self._above(path), _strength(path), _shift(path)
        mean = shifted(above.mean, shift)
        return of_moments(mean, above.variance + (mean * (1 - mean) - min(above.variance, mean * (1 - mean))) / (strength + 1))

    def _above(self, path: Path) -> Beta:
        """The node above, without what this one told it."""
        others = self._tree.evidence(path[:-1]).without(self._tree.told(path))
        return self._prior(path[:-1]).after(others.seen, others.yes)

    def _doubt_above(self, path: Path) -> float:
        return self._habit.doubt(path[0]) if len(path) == 1 else self._above(path).variance ** 0.5

    def _narrowest(self, cell: Cell) -> tuple[Path, float, float]:
        paths = [cell.path[:length] for length in (4, 3, 2, 1)]
        found = next((path for path in paths if self._seen.get(path, (0, 0))[0]), paths[-1])
        return found, *self._seen.get(found, (0.0, 0.0))


def learn(counts: Counts, weights: Counts | None = None, *, shared_doubt: float = 0.0) -> Likelihoods:
    """`weights`: how much the counts are worth as evidence, where that is less than their number: positions of one set are alike,
    old jobs fade. `shared_doubt`: variance, on the normal scale, of what all of it has in common, as it comes from few sets.
    ValueError where more was replaced than seen.
    """
    for cell, (seen, replaced) in counts.items():
        if not 0 <= replaced <= seen:
            raise ValueError(f"{replaced} replaced of {seen} seen can't be ({cell.role}).")
    return Likelihoods(counts, counts if weights is None else weights, shared_doubt)


def _sums(counts: Counts) -> dict[Path, tuple[float, float]]:
    sums: dict[Path, tuple[float, float]] = defaultdict(lambda: (0.0, 0.0))
    for cell, (seen, replaced) in sorted(counts.items()):
        for length in (1, 2, 3, 4):
            before = sums[cell.path[:length]]
            sums[cell.path[:length]] = before[0] + seen, before[1] + replaced
    return dict(sums)


def _strength(path: Path) -> float:
    return _strengths()[len(path) - 2]


@cache
def _strengths() -> tuple[float, ...]:
    rows = figures("levels")
    return tuple(rows[level] for level in LEVELS)


def _shift(path: Path) -> float:
    return family_shifts().get(path[1], 0.0) if len(path) == 2 else 0.0


class _Tree:
    """What was seen at each node, told upward."""

    def __init__(self, weights: Counts) -> None:
        self._children: dict[Path, list[Path]] = defaultdict(list)
        self._evidence: dict[Path, _Evidence] = {cell.path: _Evidence(*weights[cell]) for cell in sorted(weights)}
        paths: set[Path] = {path[:length] for path in self._evidence for length in (1, 2, 3, 4)}
        for path in sorted(paths):
            self._children[path[:-1]].append(path)
        for length in (3, 2, 1):
            for path in sorted(one for one in paths if len(one) == length):
                self._evidence[path] = _together(self.told(child) for child in self._children[path])

    @property
    def roles(self) -> list[str]:
        return [path[0] for path in self._children.get((), [])]

    def evidence(self, path: Path) -> _Evidence:
        return self._evidence.get(path, _Evidence())

    def told(self, path: Path) -> _Evidence:
        """What a node tells about the one above it: never more than its strength, as it may be unlike its siblings."""
        own, strength = self.evidence(path), _strength(path)
        if not own.seen:
            return own
        worth = own.seen * (strength + 1) / (own.seen + strength)
        share = own.yes / own.seen
        if shift := _shift(path):
            edge = 1 / (2 * own.seen + 2)
            share = shifted(min(max(share, edge), 1 - edge), -shift)
        return _Evidence(worth, worth * share)


def _together(parts: Iterable[_Evidence]) -> _Evidence:
    listed = list(parts)
    return _Evidence(sum(one.seen for one in listed), sum(one.yes for one in listed))


@dataclass(slots=True)
class _Habit:
    """How much more or less than usual this shop replaces: a shift on the normal scale, the same for all roles."""

    tree: _Tree
    shared_doubt: float
    _fits: dict[str, list[float]] = field(init=False)
    _roles: dict[str, tuple[Beta, float]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._fits = {role: self._fit(role) for role in self.tree.roles}

    def role(self, role: str) -> Beta:
        return self._of(role)[0]

    def doubt(self, role: str) -> float:
        """Standard deviation of the role's chance that is doubt about the habit."""
        return self._of(role)[1]

    def _of(self, role: str) -> tuple[Beta, float]:
        if role not in self._roles:
            weights = self._weights(but=role)
            means = _shifted_means(role)
            mean = sum(weight * one for weight, one in zip(weights, means, strict=True))
            between = sum(weight * (one - mean) ** 2 for weight, one in zip(weights, means, strict=True))
            within = (mean * (1 - mean) - min(between, mean * (1 - mean))) / (role_prior(role).strength + 1)
            self._roles[role] = of_moments(mean, between + within), between**0.5
        return self._roles[role]

    def _weights(self, but: str) -> list[float]:
        """How probable each shift is after what all other roles show."""
        logs = [0.0] * len(_shifts())
        for role, fit in self._fits.items():
            if role != but:
                logs = [log + one for log, one in zip(logs, fit, strict=True)]
        top = max(logs)
        spread = self.shared_doubt
        raw = [usual * exp(log - top) for usual, log in zip(_usual_weights(), logs, strict=True)]
        return _blurred(_scaled(raw), spread) if spread and self._fits else _scaled(raw)

    def _fit(self, role: str) -> list[float]:
        own, strength = self.tree.evidence((role,)), role_prior(role).strength
        return [_log_seen(of_mean(mean, strength), own) for mean in _shifted_means(role)]


def _log_seen(prior: Beta, own: _Evidence) -> float:
    """Logarithm of how probable the evidence is: beta-binomial, without the part that doesn't depend on the prior."""
    after = prior.after(own.seen, own.yes)
    return _log_beta(after) - _log_beta(prior)


def _log_beta(one: Beta) -> float:
    return lgamma(one.alpha) + lgamma(one.beta) - lgamma(one.alpha + one.beta)


@cache
def _shifts() -> tuple[float, ...]:
    habit = figures("shop")["habit"]
    return tuple(habit * step / 4 for step in range(-14, 15))


@cache
def _usual_weights() -> tuple[float, ...]:
    return tuple(_scaled([NORMAL.pdf(step / 4) for step in range(-14, 15)]))


@cache
def _shifted_means(role: str) -> tuple[float, ...]:
    """The role's chance under each habit; their mean is the row of priors.toml (an identity of the normal distribution)."""
    middle = probit(role_prior(role).chance) * (1 + figures("shop")["habit"] ** 2) ** 0.5
    return tuple(bounded(NORMAL.cdf(middle + shift)) for shift in _shifts())


def _scaled(raw: list[float]) -> list[float]:
    total = sum(raw)
    return [one / total for one in raw]


def _blurred(weights: list[float], variance: float) -> list[float]:
    """The same weights with `variance` more doubt about the shift, where the usual range allows it."""
    shifts = _shifts()
    kernel = [exp(-((shifts[step] - shifts[0]) ** 2) / (2 * variance)) for step in range(len(shifts))]
    return _scaled([sum(one * kernel[abs(here - there)] for there, one in enumerate(weights)) for here in range(len(shifts))])


def _words(path: Path, seen: float, replaced: float) -> str:
    place = _place(path[0])
    if not seen:
        return f"None seen here yet; the chance is what is usual in the trade for: {place}."
    more = [one.replace("_", " ") for one in path[1:] if one]
    kind = f"{place} ({', '.join(more)})" if more else place
    return f"Here {_count(replaced)} of {_count(seen)} were replaced: {kind}."


def _place(role: str) -> str:
    return ROLES[role].place if role in ROLES else "other part"


def _count(number: float) -> str:
    return f"{number:.0f}" if number == round(number) else f"{number:.1f}"
