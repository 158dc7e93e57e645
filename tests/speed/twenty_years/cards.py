"""Cards of parts, drawers, suppliers: those that sets are repaired with, and the many that lie there."""

from random import Random
from typing import Any

from inventory.components.writing import write_value
from inventory.models import Balance, Drawer, Offer, Part, Supplier
from shop.search_text import fold
from tests.speed.twenty_years.bulk import Store, columns
from tests.speed.twenty_years.models_and_sets import MAKERS, _copied

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
VOLTS = (25, 50, 63, 100, 160, 250, 400, 500, 630, 1000)
WATTS = ("1/8", "1/4", "1/2", "1", "2", "5")
FILM = ("film", "ceramic", "mica")
CARBON = ("carbon_film", "carbon_composition", "metal_oxide")
VALVES = [
    "12SK7",
    "12SQ7",
    "12SA7",
    "50L6GT",
    "35Z5GT",
    "6V6GT",
    "6SL7GT",
    "5Y3GT",
    "6X4",
    "12AX7",
    "6BA6",
    "6BE6",
    "EL84",
    "ECC83",
    "ECH81",
    "EF89",
    "EABC80",
    "EZ80",
    "UCH42",
    "UF41",
    "UL41",
    "UY41",
]
TRADE = ("Bauteile", "Components", "Electrical Stores", "Valve Merchants", "Radio Spares", "Surplus")


def write_drawers(store: Store, count: int) -> list[int]:
    keys = store.keys(Drawer, count)
    named = {key: (f"S{at // 120 + 1}", str(at // 4 % 30 + 1), "abcd"[at % 4]) for at, key in enumerate(keys)}
    store.write(Drawer, ((key, *place) for key, place in named.items()))
    return list(keys)


def write_suppliers(store: Store, count: int) -> list[int]:
    like = Supplier.objects.order_by("pk")[0]
    there = list(Supplier.objects.values_list("pk", flat=True))
    keys = store.keys(Supplier, max(count - len(there), 0))
    for at, key in enumerate(keys):
        name = f"{MAKERS[at % len(MAKERS)]} {TRADE[at % len(TRADE)]}" + (f" {at // len(MAKERS) + 1}" if at >= len(MAKERS) else "")
        store.add(
            Supplier, [_copied(like, {"id": key, "name": name, "email": f"orders@s{key}.example", "our_number": f"W{key}"})]
        )
    store.flush()
    return there + list(keys)


class Sisters:
    """Parts like those of the demo, of other makes: the k-th sister of each, and the drawer she lies in."""

    def __init__(self, store: Store, count: int, drawers: list[int], used: set[int], rng: Random) -> None:
        self.home: dict[int, int] = {}
        self.of: list[dict[int, int]] = [{} for _ in range(count)]
        held_in = dict(Balance.objects.order_by("-pk").values_list("lot__part_id", "drawer_id"))
        for part in Part.objects.filter(pk__in=used).order_by("pk"):
            self.of[0][part.pk] = part.pk
            self.home[part.pk] = held_in.get(part.pk, drawers[0])
            keys = store.keys(Part, count - 1)
            for at, key in enumerate(keys, 1):
                self.of[at][part.pk] = key
                self.home[key] = rng.choice(drawers)
                description = f"{part.description} {MAKERS[at % len(MAKERS)]} {at}".strip()
                changed = {"id": key, "description": description, "search": _search(part, description), "version": 1}
                store.add(Part, [_copied(part, changed)])
        store.flush()


def _search(part: Any, description: str) -> str:
    return fold(f"{part.marking} {description} {part.get_kind_display()} {part.get_technology_display()}")[:400]


def write_parts(store: Store, count: int, rng: Random) -> range:
    """Cards that no set of the demo asks for."""
    keys = store.keys(Part, count)
    names = columns(Part)
    store.write(Part, (_row(names, key, at, rng) for at, key in enumerate(keys)))
    return keys


def _row(names: list[str], key: int, at: int, rng: Random) -> tuple[Any, ...]:
    part = Part(pk=key, **_facts(at, rng))
    part.search = _search(part, part.description)
    return tuple(getattr(part, name) for name in names)


def _facts(at: int, rng: Random) -> dict[str, Any]:
    """Half capacitors, a third resistors, valves for the rest."""
    make = f"{MAKERS[at // 24 % len(MAKERS)]} {at}"
    sort = rng.random()
    shared = {"description": make, "minimum": rng.choice((0, 0, 5, 10, 20))}
    if sort < 0.5:
        value, volts = float(f"{rng.choice(E24)}e{rng.randrange(-12, -5)}"), rng.choice(VOLTS)
        electrolytic = value >= 1e-6
        made_of = "electrolytic" if electrolytic else rng.choice(FILM)
        marking = f"{write_value(value, 'capacitance')} {volts} V"
        return shared | {
            "kind": "capacitance",
            "marking": marking,
            "value_si": value,
            "volts": float(volts),
            "technology": made_of,
            "polarised": electrolytic,
        }
    if sort < 0.85:
        value, watts, percent = (
            float(f"{rng.choice(E24)}e{rng.randrange(0, 6)}"),
            rng.choice(WATTS),
            rng.choice((1, 2, 5, 10, 20)),
        )
        over, _, under = watts.partition("/")
        figures = {"value_si": value, "watts": int(over) / int(under or 1), "tolerance_low": -float(percent)}
        marking = f"{write_value(value, 'resistance')} {watts} W ±{percent} %"
        more = {"kind": "resistance", "marking": marking, "technology": rng.choice(CARBON), "tolerance_high": float(percent)}
        return shared | figures | more
    return shared | {"kind": "valve", "marking": rng.choice(VALVES)}


def write_offers(store: Store, parts: range, suppliers: list[int], count: int, rng: Random) -> None:
    keys = store.keys(Offer, count)
    texts: dict[int, str] = {}
    for first in range(0, min(count, len(parts)), 5000):
        some = Part.objects.filter(pk__in=parts[first : first + 5000])
        texts |= {one.pk: one.title[:200] for one in some}
        if len(texts) >= count:
            break
    listed = list(texts)
    store.write(Offer, (_offer(key, at, listed, texts, suppliers, rng) for at, key in enumerate(keys)))


def _offer(key: int, at: int, listed: list[int], texts: dict[int, str], suppliers: list[int], rng: Random) -> tuple[Any, ...]:
    part = listed[at % len(listed)]
    supplier = suppliers[(at // len(listed) * 7 + at) % len(suppliers)]
    code, each = f"W{key:07d}", rng.randrange(2_000, 400_000)
    row = {
        "id": key,
        "supplier_id": supplier,
        "code": code,
        "text": texts[part],
        "part_id": part,
        "currency": "GBP",
        "breaks": f"[[1, {each}], [10, {each * 9 // 10}], [100, {each * 3 // 4}]]",
        "unit_milli": each,
        "pack_size": 1,
        "least_count": 1,
        "lead_days": None,
        "is_offered": True,
        "price_list_id": None,
        "search": fold(f"{code} {texts[part]}")[:260],
    }
    return tuple(row[name] for name in columns(Offer))
