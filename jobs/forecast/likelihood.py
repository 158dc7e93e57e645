"""How likely a position needs replacing, from what was seen at positions like it.

A tree of kinds: role, then what the part is made of, then the age of the set, then its supply. Each kind has a chance of its own
that scatters around that of the kind above with a stated strength (priors.toml), so a kind seldom seen leans on its siblings and
one often seen stands by itself. On top stands the shop's own habit, how much more or less than usual it replaces in all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from inventory.components.roles import ROLES
from jobs.forecast.betas import bounded
from jobs.forecast.kinds import Kinds, Path, Tied


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


class Likelihoods:
    """What the log says of every kind of position. `of` answers for kinds that were never seen, too."""

    def __init__(self, counts: Counts, weights: Counts, shared_doubt: float) -> None:
        self._seen = _sums(counts)
        self._chances: dict[Cell, Chance] = {}
        self._kinds = Kinds({cell.path: weights[cell] for cell in sorted(weights)}, shared_doubt)

    def of(self, cell: Cell) -> Chance:
        if cell not in self._chances:
            known = self.tied(cell.path).known
            low, high = known.interval()
            path, seen, replaced = self._narrowest(cell)
            words = _words(path, seen, replaced)
            self._chances[cell] = Chance(bounded(known.mean), known.alpha, known.beta, low, high, seen, replaced, words)
        return self._chances[cell]

    def tied(self, path: Path) -> Tied:
        """What is known of a kind on any level, and how far its doubt is that of the kind above."""
        return self._kinds.tied(path)

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
