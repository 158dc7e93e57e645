"""Models made after the demo's with the same called-for list, and the sets of them that customers own."""

from random import Random
from typing import Any

from jobs.models import CalledFor, RadioModel, RadioSet, SupplyFigures
from tests.speed.twenty_years.bulk import Store, columns
from tests.speed.twenty_years.patterns import as_text

MAKERS = [
    "Aldermoor",
    "Brackwell",
    "Corvane",
    "Dunholm",
    "Elvestad",
    "Farthingay",
    "Gallowmere",
    "Hesselby",
    "Inverlune",
    "Jorvane",
    "Kettlewick",
    "Lindqvarn",
    "Merrowgate",
    "Nordhollow",
    "Ostrand",
    "Pellworth",
    "Quernstone",
    "Ravensole",
    "Sundermark",
    "Thornleaf",
    "Ulvesund",
    "Vantorre",
    "Wexcombe",
    "Yarrowby",
]
NAMES = [
    "Concord",
    "Lyric",
    "Minstrel",
    "Herald",
    "Rondo",
    "Vesper",
    "Cadence",
    "Beacon",
    "Sonata",
    "Tempo",
    "Chorus",
    "Ballad",
    "Aria",
    "Prelude",
    "Nocturne",
    "Fanfare",
]


def write_models(store: Store, of_each: int, originals: list[int]) -> dict[int, list[int]]:
    """Keys of the models by the model of the demo that each is made after; that one stands first."""
    made: dict[int, list[int]] = {}
    for number, pk in enumerate(originals):
        one = RadioModel.objects.get(pk=pk)
        keys = store.keys(RadioModel, of_each - 1)
        made[pk] = [pk, *keys]
        for at, key in enumerate(keys):
            _write_model(
                store,
                one,
                key,
                f"{NAMES[at % len(NAMES)]} {number + 1}{at // len(NAMES):02d}",
                MAKERS[(at * 7 + number) % len(MAKERS)],
            )
    store.flush()
    return made


def _write_model(store: Store, like: RadioModel, key: int, name: str, maker: str) -> None:
    changed = {"id": key, "name": name, "maker": maker, "key": RadioModel.key_of(maker, name)}
    store.add(RadioModel, [_copied(like, changed)])
    rows = list(CalledFor.objects.filter(model=like))
    keys = store.keys(CalledFor, len(rows))
    store.add(CalledFor, [_copied(row, {"id": pk, "model_id": key}) for row, pk in zip(rows, keys, strict=True)])
    figures = SupplyFigures.objects.filter(model=like).first()
    if figures is not None:
        store.add(SupplyFigures, [_copied(figures, {"id": store.keys(SupplyFigures, 1)[0], "model_id": key})])


def _copied(row: Any, changed: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(changed.get(one.column, as_text(getattr(row, one.attname))) for one in row._meta.concrete_fields)


class Sets:
    """Which set a job is on: often one that was here before."""

    def __init__(self, store: Store, customers: range, first_of: list[int], rng: Random) -> None:
        self.store, self.customers, self.first_of, self.rng = store, customers, first_of, rng
        self.known: dict[int, list[int]] = {}
        self.free_from: dict[int, int] = {}
        self.owner: dict[int, int] = {}
        self.model: dict[int, int] = {}
        self.used_customers = 0
        self.names = columns(RadioSet)

    def for_job(self, original: int, models: list[int], like: dict[str, Any], begins: int, ends: int) -> tuple[int, int]:
        """Keys of the set and of its owner for a stay from one day to another."""
        known = self.known.setdefault(original, [])
        for _ in range(3):
            if known and self.rng.random() < 0.75:
                one = self.rng.choice(known)
                if self.free_from[one] <= begins:
                    self.free_from[one] = ends + 1
                    return one, self.owner[one]
        return self._new(known, models, like, begins, ends)

    def _new(self, known: list[int], models: list[int], like: dict[str, Any], begins: int, ends: int) -> tuple[int, int]:
        key = self.store.keys(RadioSet, 1)[0]
        # The few models that everybody had, and the many that come once (Zipf).
        at = min(int(len(models) ** self.rng.random()) - 1, len(models) - 1)
        customer = self._customer(begins)
        serial = f"{chr(65 + at % 26)}{self.rng.randrange(1000, 99999)}" if self.rng.random() < 0.9 else ""
        changed = {"id": key, "customer_id": customer, "model_id": models[at], "serial": serial, "version": 1}
        self.store.add(RadioSet, [tuple(changed.get(one, like.get(one)) for one in self.names)])
        known.append(key)
        self.free_from[key], self.owner[key] = ends + 1, customer
        return key, customer

    def _customer(self, day: int) -> int:
        """The next one who comes for the first time that day, or one who is known."""
        while self.used_customers < len(self.customers) and self.first_of[self.used_customers] <= day:
            self.used_customers += 1
            return self.customers[self.used_customers - 1]
        return self.customers[self.rng.randrange(max(self.used_customers, 1))]
