"""Customers of twenty years: names in several scripts, telephone numbers that are kept for inventions, invented towns."""

from collections.abc import Sequence
from random import Random

from shop.models import Customer
from shop.search_text import fold
from tests.speed.twenty_years.bulk import Store
from tests.speed.twenty_years.days import TEXTS

FIRST = [
    "Iwona",
    "Łucja",
    "Orla",
    "Tamsin",
    "Halvard",
    "Mireille",
    "Anselm",
    "Birgit",
    "Cosmo",
    "Delphine",
    "Ewart",
    "Fenna",
    "Gisela",
    "Hamish",
    "Ilona",
    "Jorunn",
    "Kasimir",
    "Lenore",
    "Matthias",
    "Nerys",
    "Odile",
    "Piran",
    "Quentin",
    "Rosalind",
    "Siobhán",
    "Torvald",
    "Ursula",
    "Vaughan",
    "Wilhelmina",
    "Yannick",
    "Zdenka",
    "Åsa",
    "Öykü",
    "Νεφέλη",
    "Олеся",
    "Ünal",
]
LAST_A = [
    "Brack",
    "Heron",
    "Pettle",
    "Quill",
    "Ferrul",
    "Marrow",
    "Thistle",
    "Wend",
    "Alder",
    "Corn",
    "Dun",
    "Elm",
    "Farth",
    "Gall",
    "Hollow",
    "Inkpen",
    "Jarrow",
    "Kestle",
    "Lind",
    "Moor",
]
LAST_B = [
    "wick",
    "mere",
    "combe",
    "ham",
    "ford",
    "stead",
    "by",
    "thorpe",
    "ley",
    "worth",
    "gate",
    "holm",
    "den",
    "shaw",
    "more",
    "brook",
    "field",
    "cote",
    "hurst",
    "dale",
]
ROADS = (
    "Heron Steps",
    "Mill Parade",
    "Pettiwick Row",
    "Ferrule Lane",
    "Gasworks Terrace",
    "Quarry Rise",
    "Old Ropewalk",
    "Chapel Reach",
)
TOWNS = ("Wendlemere", "Quillham", "Thornby Sands", "Upper Marrow", "Kestle Bridge")


def write_customers(store: Store, since: Sequence[int], rng: Random) -> range:
    """One for each day number of `since`; their keys."""
    keys = store.keys(Customer, len(since))
    store.write(Customer, (_row(key, day, rng) for key, day in zip(keys, since, strict=True)))
    return keys


def _row(key: int, day: int, rng: Random) -> tuple[object, ...]:
    first, last = rng.choice(FIRST), rng.choice(LAST_A) + rng.choice(LAST_B)
    name = f"{first} {last}"
    # Ofcom keeps 01632 960000 to 960999 for plays and films (https://www.ofcom.org.uk, "numbers for use in TV and radio drama").
    phone = f"+44 1632 960{rng.randrange(1000):03d}"
    email = f"{fold(last)}.{key}@letters.example" if rng.random() < 0.7 else ""
    address = f"{rng.randrange(1, 140)} {rng.choice(ROADS)}\n{rng.choice(TOWNS)}"
    digits = "".join(c for c in phone if c.isdigit())
    search = fold(f"{name} {email} {digits} {phone}")[:600]
    row = {
        "id": key,
        "name": name,
        "phone": phone,
        "email": email,
        "address": address,
        "country": "",
        "tax_id": "",
        "buyer_reference": "",
        "note": "",
        "search": search,
        "created_at": f"{TEXTS[day]} 08:30:00",
        "erased_at": None,
        "version": 1,
    }
    return tuple(row[one.column] for one in Customer._meta.concrete_fields)
