"""Lots, movements and balances: what stays took out of the drawers, and the long life of all the rest, in the order of time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

import numpy as np

from inventory.models import Balance, Lot, Movement
from tests.speed.twenty_years.bulk import Store, columns
from tests.speed.twenty_years.cards import Sisters
from tests.speed.twenty_years.days import TEXTS, moment
from tests.speed.twenty_years.stays import A_DAY, Stay

PIECES_A_LOT = 60
RECEIVED, COUNTED, SCRAPPED, MOVED_OUT, MOVED_IN = "received", "counted", "scrapped", "moved_out", "moved_in"
REASONS = {
    COUNTED: "counted anew",
    SCRAPPED: "cracked",
    MOVED_OUT: "nearer to the bench",
    MOVED_IN: "nearer to the bench",
    RECEIVED: "",
}


@dataclass(slots=True)
class OpenLot:
    """A lot that is being used up: `out` left it so far, `net` of these for good."""

    key: int
    part: int
    drawer: int
    like: int
    first: int
    out: int = 0
    net: int = 0
    held: int = 0


@dataclass(slots=True)
class Ledger:
    """Events before they are put in the order of time. A place of a stay's movement is its number among them."""

    when: list[int] = field(default_factory=list)
    lot: list[int] = field(default_factory=list)
    drawer: list[int] = field(default_factory=list)
    kind: list[str] = field(default_factory=list)
    count: list[int] = field(default_factory=list)
    stay: list[int] = field(default_factory=list)
    """The stay's number, -1 where none."""
    place: list[int] = field(default_factory=list)

    def add(self, when: int, lot: int, drawer: int, kind: str, count: int, stay: int = -1, place: int = -1) -> None:
        self.when.append(when)
        self.lot.append(lot)
        self.drawer.append(drawer)
        self.kind.append(kind)
        self.count.append(count)
        self.stay.append(stay)
        self.place.append(place)


class Taken:
    """Which lots the stays take from: the one that is open of the part, until it is used up."""

    def __init__(self, store: Store, sisters: Sisters, lot_parts: dict[int, int]) -> None:
        self.store, self.sisters, self.lot_parts = store, sisters, lot_parts
        self.open: dict[int, OpenLot] = {}
        self.all: list[OpenLot] = []

    def serve(self, stays: Sequence[Stay], ledger: Ledger) -> None:
        events = _in_order(stays)
        for when, at, place in events:
            stay = stays[at]
            _, lot_place, count = stay.pattern.moves[place]
            one = self._lot_for(stay, lot_place, when)
            one.out += max(-count, 0)
            one.net += count
            ledger.add(when, one.key, one.drawer, "", count, at, place)
        for stay in stays:
            self._rest(stay)

    def _rest(self, stay: Stay) -> None:
        """Lots that were held or named, but that nothing moved of."""
        if not stay.lots:
            stay.lots, stay.drawers = [0] * len(stay.pattern.lots), [0] * len(stay.pattern.lots)
        for place in range(len(stay.pattern.lots)):
            if not stay.lots[place]:
                self._lot_for(stay, place, (stay.begins + 3) * A_DAY)
        for place, count in stay.pattern.held.items():
            self._by_key(stay.lots[place]).held += count

    def _by_key(self, key: int) -> OpenLot:
        return self.all[key - self.all[0].key]

    def _lot_for(self, stay: Stay, place: int, when: int) -> OpenLot:
        if not stay.lots:
            stay.lots, stay.drawers = [0] * len(stay.pattern.lots), [0] * len(stay.pattern.lots)
        if stay.lots[place]:
            return self._by_key(stay.lots[place])
        like = stay.pattern.lots[place]
        part = self.sisters.of[stay.sister].get(self.lot_parts[like], self.lot_parts[like])
        one = self.open.get(part)
        if one is None or one.out >= PIECES_A_LOT:
            one = OpenLot(self.store.keys(Lot, 1)[0], part, self.sisters.home[part], like, when)
            self.open[part] = one
            self.all.append(one)
        one.first = min(one.first, when)
        stay.lots[place], stay.drawers[place] = one.key, one.drawer
        return one

    def write(self, ledger: Ledger, rng: Random) -> None:
        """Each lot with its receipt, some days before the first part of it was needed, and what is left of it."""
        likes: dict[int, dict[str, Any]] = {
            row["id"]: dict(row) for row in Lot.objects.filter(pk__in={one.like for one in self.all}).values()
        }
        names, left = columns(Lot), []
        for one in self.all:
            came = one.first - rng.randrange(1, 40) * A_DAY
            count = max(one.out + one.held + rng.choice((0, 0, 0, 1, 2, 5, 8)), 1)
            ledger.add(came, one.key, one.drawer, RECEIVED, count)
            left.append((one, count + one.net))
            day = TEXTS[came // A_DAY]
            changed = {"id": one.key, "part_id": one.part, "received_on": day, "return_until_on": None, "order_line_id": None}
            self.store.add(Lot, [tuple(changed.get(name, likes[one.like][name]) for name in names)])
        self.store.flush()
        keys = self.store.keys(Balance, len(left))
        rows = (
            {"id": key, "lot_id": one.key, "drawer_id": one.drawer, "on_hand": on_hand, "held": one.held}
            for key, (one, on_hand) in zip(keys, left, strict=True)
        )
        self.store.write(Balance, (tuple(row[name] for name in columns(Balance)) for row in rows))


def _in_order(stays: Sequence[Stay]) -> Iterator[tuple[int, int, int]]:
    """Second, stay and place of every movement of theirs, by time."""
    when, which, places = [], [], []
    for at, stay in enumerate(stays):
        shift = stay.shift * A_DAY
        for place, (second, _, _) in enumerate(stay.pattern.moves):
            when.append(second + shift)
            which.append(at)
            places.append(place)
    order = np.argsort(np.array(when, dtype=np.int64), kind="stable").tolist()
    return ((when[one], which[one], places[one]) for one in order)


@dataclass(slots=True)
class LyingLots:
    """Lots that no set took from, by key: their part, supplier, moment and count."""

    keys: range
    parts: Any
    suppliers: Any
    came: Any
    counts: Any


def lying_lots(store: Store, parts: range, suppliers: list[int], count: int, first: int, last: int, seed: int) -> LyingLots:
    rng = np.random.default_rng(seed)
    came = np.sort(rng.integers(first, last - A_DAY, count))
    return LyingLots(
        store.keys(Lot, count),
        np.array(parts)[rng.integers(0, len(parts), count)],
        np.array(suppliers)[rng.integers(0, len(suppliers), count)],
        came,
        rng.integers(5, 60, count),
    )


def live(store: Store, lots: LyingLots, movements: int, drawers: list[int], ledger: Ledger, last: int, seed: int) -> None:
    """Their life: received, counted, scrapped, moved. What leaves is in what was received, so nothing falls below nothing."""
    rng = np.random.default_rng(seed)
    size = len(lots.keys)
    home = np.array(drawers)[rng.integers(0, len(drawers), size)]
    rest = max(movements - size, 0)
    which = rng.integers(0, size, rest - rest // 3)
    when = (lots.came[which] + (last - lots.came[which]) * rng.random(len(which)) ** 1.5).astype(np.int64) + 1
    kinds = rng.random(len(which))
    targets = np.array(drawers)[rng.integers(0, len(drawers), len(which))]
    needed = lots.counts.copy()
    on_hand: dict[tuple[int, int], int] = {}
    key_of, homes = lots.keys, home.tolist()
    for at, second, kind, target in zip(which.tolist(), when.tolist(), kinds.tolist(), targets.tolist(), strict=True):
        key, drawer = key_of[at], homes[at]
        if kind < 0.5 and target != drawer:
            needed[at] += 2
            ledger.add(second, key, drawer, MOVED_OUT, -2)
            ledger.add(second, key, target, MOVED_IN, 2)
            on_hand[key, target] = on_hand.get((key, target), 0) + 2
            on_hand[key, drawer] = on_hand.get((key, drawer), 0) - 2
        else:
            needed[at] += 1
            ledger.add(second, key, drawer, COUNTED if kind < 0.85 else SCRAPPED, -1)
            on_hand[key, drawer] = on_hand.get((key, drawer), 0) - 1
    for key, drawer, came, count in zip(key_of, homes, lots.came.tolist(), needed.tolist(), strict=True):
        ledger.add(came, key, drawer, RECEIVED, count)
        on_hand[key, drawer] = on_hand.get((key, drawer), 0) + count
    lots.counts = needed
    keys = store.keys(Balance, len(on_hand))
    rows = (
        {"id": pk, "lot_id": lot, "drawer_id": drawer, "on_hand": count, "held": 0}
        for pk, ((lot, drawer), count) in zip(keys, on_hand.items(), strict=True)
    )
    names = columns(Balance)
    store.write(Balance, (tuple(row[name] for name in names) for row in rows))


def write_lying(store: Store, lots: LyingLots, order_lines: dict[int, int], rng: Random) -> None:
    """`order_lines` by the place of the lot."""
    like = Lot.objects.order_by("pk").values()[0]
    names = columns(Lot)
    plain = {"condition": "new", "blocked_reason": "", "note": "", "mark": "", "return_until_on": None, "split_from_id": None}
    found = zip(lots.keys, lots.parts.tolist(), lots.suppliers.tolist(), lots.came.tolist(), strict=True)
    store.write(Lot, (_lot(names, like | plain, at, order_lines, one, rng) for at, one in enumerate(found)))


def _lot(
    names: list[str], plain: dict[str, Any], at: int, lines: dict[int, int], one: tuple[int, int, int, int], rng: Random
) -> tuple[Any, ...]:
    key, part, supplier, came = one
    row = plain | {
        "id": key,
        "part_id": part,
        "supplier_id": supplier,
        "received_on": TEXTS[came // A_DAY],
        "date_code": f"{rng.randrange(10, 26)}{rng.randrange(1, 53):02d}",
        "unit_cost_milli": 1_000 + key % 397 * 731,
        "order_line_id": lines.get(at),
        "owner_id": None,
        "matched_id": None,
    }
    return tuple(row[name] for name in names)


def write_movements(store: Store, ledger: Ledger, stays: Sequence[Stay], person: int) -> None:
    """All in the order of time. Afterwards each stay knows the keys of its own."""
    # Stable and receipts first within a second, so nothing leaves before it came.
    late = np.array([0 if kind == RECEIVED else 1 for kind in ledger.kind], dtype=np.int64)
    order = np.lexsort((late, np.array(ledger.when, dtype=np.int64))).tolist()
    keys = store.keys(Movement, len(order))
    for stay in stays:
        stay.moves = [0] * len(stay.pattern.moves)
    store.write(Movement, (_movement(key, ledger, at, stays, person) for key, at in zip(keys, order, strict=True)))


def _movement(key: int, ledger: Ledger, at: int, stays: Sequence[Stay], person: int) -> tuple[Any, ...]:
    kind, count, reference, reason, who = ledger.kind[at], ledger.count[at], "", "", person
    if ledger.stay[at] >= 0:
        stay, place = stays[ledger.stay[at]], ledger.place[at]
        stay.moves[place] = key  # type: ignore[index]
        kind, reason, who = stay.pattern.move_rows[place]
        reference = stay.number
    else:
        reason = REASONS[kind]
    return (key, ledger.lot[at], ledger.drawer[at], kind, count, reference, reason, moment(ledger.when[at]), who)
