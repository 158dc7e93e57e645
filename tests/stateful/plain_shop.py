"""What a shop's stock and bills should be, kept in plain Python: the model that the services are held against."""

from dataclasses import dataclass, field

Place = tuple[int, int]  # lot, drawer


@dataclass
class Bill:
    """An invoice of the model: which fitted parts and labour stand on it, its sum, what was paid, whether it was credited."""

    job: int
    entries: frozenset[int]
    labour: frozenset[int]
    gross_minor: int
    paid_minor: int = 0
    credited: bool = False

    @property
    def due_minor(self) -> int:
        return (0 if self.credited else self.gross_minor) - self.paid_minor


@dataclass
class Fitted:
    job: int
    position: str
    place: Place
    count: int
    price_minor: int


@dataclass
class PlainShop:
    """`on_hand` by lot and drawer; `holds` are open ones; `planned` names the hold that a position's last decision made."""

    on_hand: dict[Place, int] = field(default_factory=dict)
    holds: dict[int, tuple[Place, int]] = field(default_factory=dict)
    planned: dict[tuple[int, str], int] = field(default_factory=dict)
    fitted: dict[int, Fitted] = field(default_factory=dict)
    labour: dict[int, tuple[int, int]] = field(default_factory=dict)
    bills: dict[str, Bill] = field(default_factory=dict)
    credit_notes: int = 0
    movements: int = 0

    def held(self, place: Place) -> int:
        return sum(count for where, count in self.holds.values() if where == place)

    def free(self, place: Place) -> int:
        return self.on_hand.get(place, 0) - self.held(place)

    def move(self, place: Place, count: int) -> None:
        self.on_hand[place] = self.on_hand.get(place, 0) + count
        self.movements += 1

    def standing_bill(self, job: int) -> Bill | None:
        return next((bill for bill in self.bills.values() if bill.job == job and not bill.credited), None)

    def to_bill(self, job: int) -> tuple[frozenset[int], frozenset[int], int]:
        """Entries, labour and sum of what stands on no bill."""
        entries = {key: one for key, one in self.fitted.items() if one.job == job}
        labour = {key: amount for key, (whose, amount) in self.labour.items() if whose == job}
        total = sum(one.price_minor * one.count for one in entries.values()) + sum(labour.values())
        return frozenset(entries), frozenset(labour), total
