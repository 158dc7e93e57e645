"""Which positions are worth measuring first: where a minute at the meter takes the most doubt out of the price.

Defined by the law of total variance. If a position's state were known, the variance of the price would fall on average by
chance × (1 - chance) × swing², where the swing is how much dearer the job is where that position must be replaced: its part, its
share of the repair, and what it says of the set's other positions. The shop's chances are held while the state varies (a state is
set against the chance of its own draw), since one set more says next to nothing about the shop. What chance alone would give in
as many draws is taken off.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from jobs.forecast.lognormal import Floats

MOST = 8
# Below this share of the variance it's noise of the draws.
LEAST_SHARE = 0.002


@dataclass(frozen=True, slots=True)
class WorthMeasuring:
    """`key` of the position. `share` (0..1) of the price's variance that knowing its state takes away on average.

    `swing_minor` how much dearer the job is where it must be replaced, `minutes` to measure it. Lists run by `share_per_minute`.
    """

    key: str
    chance: float
    share: float
    swing_minor: int
    minutes: float
    share_per_minute: float
    words: str


@dataclass(frozen=True, slots=True)
class Asked:
    """A position, `alike` what it shares with those whose swing must be the same, `minutes` that it takes to measure."""

    key: str
    alike: Hashable
    minutes: float


def most_worth(
    asked: Sequence[Asked], replaced: NDArray[np.bool_], chances: Floats, totals: Floats
) -> tuple[WorthMeasuring, ...]:
    """The best first. `replaced` and `chances` are draws × positions, `totals` the price of each draw."""
    import numpy as np

    off = totals - totals.mean()
    variance = max(float(off @ off) / len(totals), 1e-9)
    own = np.maximum((chances * (1 - chances)).mean(axis=0), 1e-9)
    swings = _levelled(asked, (off @ (replaced - chances)) / len(totals) / own)
    shares = own * swings**2 / variance - 1 / len(totals)
    rows = [
        _row(one, float(chance), float(share), float(swing))
        for one, chance, share, swing in zip(asked, replaced.mean(axis=0), shares, swings, strict=True)
        if share > LEAST_SHARE and swing > 0 and 0 < chance < 1
    ]
    return tuple(sorted(rows, key=lambda row: (-row.share_per_minute, row.key))[:MOST])


def _levelled(asked: Sequence[Asked], swings: Floats) -> Floats:
    """Positions that are alike get one swing: what differs between them is noise of the draws."""
    import numpy as np

    groups = {alike: place for place, alike in enumerate(dict.fromkeys(one.alike for one in asked))}
    place = np.array([groups[one.alike] for one in asked], dtype=int)
    sums = np.bincount(place, weights=swings, minlength=len(groups))
    return np.asarray((sums / np.maximum(np.bincount(place, minlength=len(groups)), 1))[place])


def _row(one: Asked, chance: float, share: float, swing: float) -> WorthMeasuring:
    share = min(share, 1.0)
    words = f"{chance:.0%} likely to need replacing; knowing it takes {share:.1%} of the doubt about the price away."
    return WorthMeasuring(
        one.key, chance, share, round(swing), one.minutes, share / max(one.minutes, 0.5), words.replace("%", " %")
    )
