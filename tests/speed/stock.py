"""A scratch database with a hundred thousand stock lines, made for measuring and thrown away after."""

import os
import random
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from itertools import product
from typing import Any

STOCK_LINES = 100_000
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
DRAWERS = 400
FIRST_DAY = date(2022, 1, 3)
TYPES = (
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
)


@contextmanager
def scratch_database() -> Iterator[str]:
    """Django on an empty, migrated database of its own: SQLite in a folder that goes away, or DATABASE_URL's server.

    Gives the name of the database's kind.
    """
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SHOP_FOLDER"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
        import django  # the settings are read from the environment made here

        django.setup()
        from django.db import connection

        named = connection.settings_dict["NAME"]
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            yield connection.vendor
        finally:
            connection.creation.destroy_test_db(named, verbosity=0)


def _parts() -> list[Any]:
    """Cards of capacitors, resistors and valves: every E24 value in several voltages, wattages and makes."""
    from inventory.components.writing import write_value
    from inventory.models import Part

    found = []
    for figure, decade, volts, made in product(E24, range(-12, -5), (160, 250, 400, 630), ("film", "ceramic")):
        value = float(f"{figure}e{decade}")
        marking = f"{write_value(value, 'capacitance')} {volts} V"
        found.append(Part(kind="capacitance", marking=marking, value_si=value, volts=volts, technology=made))
    for figure, decade, watts, percent in product(E24, range(0, 6), (0.25, 0.5, 1, 2), (5, 10)):
        value = float(f"{figure}e{decade}")
        marking = f"{write_value(value, 'resistance')} {watts:g} W {percent} %"
        found.append(
            Part(kind="resistance", marking=marking, value_si=value, watts=watts, tolerance_low=-percent, tolerance_high=percent)
        )
    return found + [Part(kind="valve", marking=name) for name in TYPES]


def fill_drawers(lines: int = STOCK_LINES, seed: int = 3) -> None:
    """`lines` lots, each in one drawer, spread evenly over the cards; a tenth is all held, a fiftieth blocked."""
    from inventory.models import Balance, Drawer, Lot, Part

    chance = random.Random(seed)
    Part.objects.bulk_create(_parts(), batch_size=2000)
    Drawer.objects.bulk_create([Drawer(cabinet=f"C{n // 40}", tray=str(n % 40)) for n in range(DRAWERS)])
    parts = list(Part.objects.values_list("pk", flat=True))
    drawers = list(Drawer.objects.values_list("pk", flat=True))
    lots = [
        Lot(
            part_id=parts[n % len(parts)],
            received_on=FIRST_DAY + timedelta(days=chance.randrange(1500)),
            unit_cost_milli=chance.randrange(1, 400) * 1000,
            blocked_reason="bad seals" if chance.random() < 0.02 else "",
        )
        for n in range(lines)
    ]
    Lot.objects.bulk_create(lots, batch_size=5000)
    balances = []
    for pk in Lot.objects.values_list("pk", flat=True):
        count = chance.randrange(1, 30)
        balances.append(
            Balance(lot_id=pk, drawer_id=chance.choice(drawers), on_hand=count, held=count if chance.random() < 0.1 else 0)
        )
    Balance.objects.bulk_create(balances, batch_size=5000)
    analyse()


def analyse() -> None:
    """PostgreSQL looks at the tables by itself sooner or later; an SQLite file of a shop has no statistics, nor has this one."""
    from django.db import connection

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
