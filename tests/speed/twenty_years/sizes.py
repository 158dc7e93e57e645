"""How much of everything a shop of twenty years has, at full size and in proportion."""

from dataclasses import dataclass

YEARS = 20
OPEN_JOBS = 40
SUPPLIERS = 30


@dataclass(frozen=True, slots=True)
class Sizes:
    """Rows of each kind at `scale`; at 1.0 the shop has 100,000 jobs. Jobs that are open don't grow with the years."""

    scale: float

    def of(self, at_full_size: int, least: int = 1) -> int:
        return max(round(at_full_size * self.scale), least)

    @property
    def jobs(self) -> int:
        return self.of(100_000, 60)

    @property
    def customers(self) -> int:
        return self.of(20_000, 30)

    @property
    def models_of_each(self) -> int:
        """Models made after each of the demo's."""
        return self.of(375, 2)

    @property
    def sisters(self) -> int:
        """Parts of the same value beside each one of the demo's that sets are repaired with."""
        return self.of(100)

    @property
    def parts(self) -> int:
        return self.of(100_000)

    @property
    def lots(self) -> int:
        """Of parts that no set took, yet."""
        return self.of(300_000)

    @property
    def movements(self) -> int:
        return self.of(3_000_000)

    @property
    def drawers(self) -> int:
        return self.of(8_000, 60)

    @property
    def orders(self) -> int:
        return self.of(24_000, 2)

    @property
    def offers(self) -> int:
        return self.of(150_000)
