"""Body, end and dot: what a bare place of an old resistor stands for, and when its two ends can't be told apart.

Source: RMA code (radioremembered.org/rescode.htm): without a dot, or without a coloured end, the body colour counts there.
"""

from inventory.components.colours.names import NONE

BODY, END, DOT, OTHER = range(4)
_TOLERANCES = ("gold", "silver", NONE)


def filled(colours: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The four colours that count, and a sentence for each that was taken from the body. A bare body stays as it is.

    An end in the colour of the body, or of the other end, is no tolerance mark.
    """
    body, end, dot, other = (*colours, *(NONE,) * 4)[:4]
    notes = []
    if end == NONE:
        end = body
        notes.append(f"The end has no colour of its own, so the body's {body} counts there.")
    if dot == NONE:
        dot = body
        notes.append(f"There is no dot to be seen, so the body's {body} counts there.")
    if other in (body, end) and other not in _TOLERANCES:
        other = NONE
        notes.append("The other end bears no tolerance colour of its own.")
    return (body, end, dot, other), tuple(notes)


def either_end(colours: tuple[str, ...]) -> bool:
    """Whether both ends bear figure colours that differ, so that nobody can say which end is the second figure."""
    if len(colours) < 4 or colours[END] in _TOLERANCES:
        return False
    return colours[OTHER] not in (*_TOLERANCES, colours[BODY], colours[END])


def swapped(colours: tuple[str, ...]) -> tuple[str, ...]:
    """The resistor turned round: its ends change places."""
    body, end, dot, other = (*colours, *(NONE,) * 4)[:4]
    return (body, other, dot, end)
