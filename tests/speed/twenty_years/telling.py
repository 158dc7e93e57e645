"""The stays written down: each pattern told with its own customer, set, lots, days and numbers."""

import hashlib
from collections.abc import Callable, Sequence

from billing.models import Invoice
from inventory.models import Movement
from jobs.models import Job
from tests.speed.twenty_years.bulk import Store
from tests.speed.twenty_years.models_and_sets import Sets
from tests.speed.twenty_years.patterns import Telling
from tests.speed.twenty_years.stays import Stay, day_texts


def tell(
    store: Store,
    stays: Sequence[Stay],
    sets: Sets,
    models: dict[int, list[int]],
    parts: Sequence[dict[int, int]],
    tick: Callable[[], None],
) -> None:
    """In the order in which they came in."""
    jobs = store.keys(Job, len(stays))
    for key, stay in zip(jobs, stays, strict=True):
        telling = _telling(store, key, stay, sets, models, parts)
        for sheet in stay.pattern.sheets:
            if sheet.model is not Movement:
                store.add(sheet.model, sheet.told(telling))
        tick()
    store.flush()


def _telling(
    store: Store, key: int, stay: Stay, sets: Sets, models: dict[int, list[int]], parts: Sequence[dict[int, int]]
) -> Telling:
    pattern = stay.pattern
    radio, customer = sets.for_job(pattern.model, models[pattern.model], pattern.radio_row, stay.begins, stay.ends)
    own = {Job: (key,), Movement: stay.moves, Invoice: stay.invoices}
    keys = {
        sheet.model: own[sheet.model] if sheet.model in own else store.keys(sheet.model, sheet.size) for sheet in pattern.sheets
    }
    numbers = zip((one for one, _, _ in pattern.invoices), stay.given["number"], strict=True)
    return Telling(
        shift=stay.shift,
        customer=customer,
        radio=radio,
        parts=parts[stay.sister],
        lots=stay.lots,
        drawers=stay.drawers,
        keys=keys,
        days=day_texts(stay),
        says=((pattern.number, stay.number), *numbers),
        digests={old: hashlib.sha256((stay.number + rest).encode()).hexdigest() for old, rest in pattern.estimates},
        mark=f"twenty years {key}",
        given=stay.given,
    )
