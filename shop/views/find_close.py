"""Names with a slip in them: where the exact way finds little, what comes close.

No name is read that shares nothing with the text. The database counts, row by row, how many short pieces of the text a key holds
(`pieces`), gives the BEST_BY_PIECES keys with the most, and only those are compared letter by letter.
"""

from typing import Any

from django.db.models import Case, F, IntegerField, QuerySet, Value, When

from shop.search_text import closeness, fold, pieces

BEST_BY_PIECES = 150
FEWEST_LETTERS = 4


def is_worth_trying(text: str) -> bool:
    """A name: letters, and enough of them."""
    return sum(c.isalpha() for c in text) >= FEWEST_LETTERS and not any(c.isdigit() for c in text)


def close_to(rows: "QuerySet[Any]", key: str, text: str, most: int) -> list[Any]:
    """Rows whose folded text in the field `key` comes close to the text, the closest first."""
    words = fold(text)
    parts = pieces(words)
    if not parts:
        return []
    held: Any = Value(0, output_field=IntegerField())
    for part in parts:
        held = held + Case(When(**{f"{key}__contains": part}, then=Value(1)), default=Value(0), output_field=IntegerField())
    least = max(1, len(parts) // 4)
    likely = rows.order_by().annotate(held=held).filter(held__gte=least).order_by("-held", "pk")
    near = dict(likely.values_list("pk", F(key))[:BEST_BY_PIECES])
    ranked = sorted((-closeness(words.split(), near[pk]), pk) for pk in near)
    chosen = [pk for score, pk in ranked if score][:most]
    found = rows.in_bulk(chosen)
    return [found[pk] for pk in chosen if pk in found]
