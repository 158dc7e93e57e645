"""A value that can be read in more than one way, said as this shop writes values."""

from inventory.components.notation import NotationError, write_spec
from inventory.components.writing import said_in
from shop.profile import farads_liked


def ways_to_read(error: NotationError) -> tuple[str, list[tuple[str, str]]]:
    """The sentence, and each reading written out with why it may be meant. What was typed stays in it as it was typed."""
    farads = farads_liked()
    return said_in(farads, error.message), [(write_spec(one.spec, farads=farads), one.why) for one in error.readings]
