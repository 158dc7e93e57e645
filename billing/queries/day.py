"""Whether the computer's day can be right: papers are numbered one after another, so no day may lie before the last paper's."""

from datetime import date

from django.utils.formats import date_format

from billing.models import Invoice


def day_is_behind(today: date) -> str:
    """A caution in words where the newest paper bears a later day than today; empty otherwise."""
    newest = Invoice.objects.order_by("-issued_on", "-pk").values_list("number", "issued_on").first()
    if newest is None or newest[1] <= today:
        return ""
    said, last = (date_format(day, "j F Y") for day in (today, newest[1]))
    return (
        f"The clock of the shop’s computer says {said}, but {newest[0]} bears the date {last}. "
        "If the clock is wrong, set it right first: a paper keeps its date and its number."
    )
