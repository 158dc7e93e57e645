"""How positions are marked on a service sheet: one shape, letter and colour a state, for the page and for paper.

A mark hangs beside its place like a tag on a thread, so that what is drawn there can still be read. Shape and letter say the
state without the colour; the colours are the same in light and dark, since the sheet under them stays as it was printed.
"""

import math
from dataclasses import dataclass

Point = tuple[float, float]

RADIUS = 11.0
RING = 4.0
"""Radius of the ring around the place itself."""
THREAD = 19.0
"""How far the mark hangs from its place, along and down, in units of a mark's box (24 wide)."""
WHOLE = 10_000
"""Places are counted in so many parts of the page, as the model does."""
EDGE_LEFT, EDGE_TOP = 800, 1_000
"""Nearer to an edge than these ten-thousandths of the page a mark hangs on the other side, so that it stays on the page."""
DARK, PALE = "#17212a", "#ffffff"


def _circle(radius: float, corners: int = 24, turn: float = 0.0) -> tuple[Point, ...]:
    steps = (turn + 2 * math.pi * step / corners for step in range(corners))
    return tuple((round(radius * math.sin(angle), 2), round(-radius * math.cos(angle), 2)) for angle in steps)


@dataclass(frozen=True, slots=True)
class Look:
    """A state as it is drawn: `points` of its outline around 0, 0 with y downwards; letter and ground by colour."""

    code: str
    letter: str
    label: str
    points: tuple[Point, ...]
    ground: str
    ink: str

    @property
    def path(self) -> str:
        return " ".join(f"{x:g},{y:g}" for x, y in self.points)


LOOKS: dict[str, Look] = {
    one.code: one
    for one in (
        Look("inspect", "I", "to inspect", _circle(RADIUS), PALE, DARK),
        Look("decide", "D", "to decide", _circle(RADIUS + 3, 4), "#ffd76a", DARK),
        Look("fit", "T", "to fit", ((-10, -10), (10, -10), (10, 3), (0, 13), (-10, 3)), "#1b4a79", PALE),
        Look("fitted", "F", "fitted", ((-10, -10), (10, -10), (10, 10), (-10, 10)), "#1d6334", PALE),
        Look("left", "L", "left in", _circle(RADIUS), "#48555f", PALE),
        Look("repaired", "R", "repaired in place", _circle(RADIUS + 1, 6), "#473b8b", PALE),
        Look("removed", "X", "removed", ((0, -13), (10, -3), (10, 10), (-10, 10), (-10, -3)), DARK, PALE),
    )
}


class Flag(Look):
    """A small mark at the upper corner of another: something to know whatever the state."""

    __slots__ = ()


FLAGS: dict[str, Flag] = {
    one.code: one
    for one in (
        Flag("bad", "!", "bad verdict", ((0, -8), (8, 6), (-8, 6)), "#97211a", PALE),
        Flag("wiring", "w", "wiring finding", ((-8, -6), (8, -6), (5, 6), (-5, 6)), "#f3efd9", DARK),
    )
}


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in ten-thousandths of a page, and how a mark hangs there."""

    x: int
    y: int

    @property
    def left(self) -> str:
        """For an attribute: per cent of the width."""
        return f"{self.x / 100:.2f}%"

    @property
    def top(self) -> str:
        return f"{self.y / 100:.2f}%"

    @property
    def across(self) -> float:
        """To the left: names and values are mostly printed to the right of what they name."""
        return THREAD if self.x < EDGE_LEFT else -THREAD

    @property
    def down(self) -> float:
        return THREAD if self.y < EDGE_TOP else -THREAD

    @property
    def name_down(self) -> float:
        """Where the position's name stands: on the far side of the mark."""
        return 27.0 if self.down > 0 else -17.0

    @property
    def hangs(self) -> str:
        """For a transform."""
        return f"translate({self.across:g} {self.down:g})"
