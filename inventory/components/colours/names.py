"""The names of the colours, however they are written: `Grey`, `gray`, `GY`, `(none)`."""

from collections.abc import Iterable, Sequence

from inventory.components.colours.faults import ColourError
from inventory.components.tables import toml_table

NONE = "none"
MOST_COLOURS = 12
LONGEST_NAME = 24


def colour_names() -> tuple[str, ...]:
    """Every colour of the code, in the order of its figure; "none" is not among them."""
    return tuple(_colours()["code"])


def named(text: str | None) -> str:
    """The colour's own name, or "none" for an absent one. Raises ColourError for what is no colour."""
    if text is None:
        return NONE
    if len(text) > 2 * LONGEST_NAME:
        raise ColourError("too_long", f"“{text[:LONGEST_NAME]}…” is too long for a colour. {_accepted()}")
    word = " ".join(text.replace("(", " ").replace(")", " ").casefold().split())
    table = _colours()
    if word in table["code"] or word == NONE:
        return word
    if word in table["also"]:
        return str(table["also"][word])
    for name, code in table["code"].items():
        if word == code.casefold():
            return str(name)
    raise ColourError("unreadable", f"“{text[:LONGEST_NAME]}” is no colour of the code. {_accepted()}")


def all_named(colours: Sequence[str | None]) -> tuple[str, ...]:
    """Each colour by its own name. Raises ColourError for one that is none, and where there are too many."""
    if isinstance(colours, str):
        raise ColourError("unreadable", "Give the colours one by one, in order.")
    if len(colours) > MOST_COLOURS:
        raise ColourError("too_long", f"{len(colours)} colours are more than any marking has: six are the most.")
    return tuple(named(one) for one in colours)


def in_words(colours: Iterable[str]) -> str:
    """`red, violet, gold`."""
    return ", ".join(colours)


def _accepted() -> str:
    return f"Use {in_words(colour_names())}, or none for an absent one."


def _colours() -> dict[str, dict[str, str]]:
    table: dict[str, dict[str, str]] = toml_table("inventory.components.colours", "colours.toml")["colour"]
    return table
