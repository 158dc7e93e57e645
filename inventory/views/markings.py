"""Markings by colour: colours to a value, and a value to its colours. A page that only answers; nothing is kept."""

from dataclasses import dataclass
from decimal import Decimal
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inventory.components.colours.drawing import marks
from inventory.components.colours.faults import ColourError
from inventory.components.colours.reading import Marking, read_colours, series_of
from inventory.components.colours.schemes import Scheme, scheme_named, scheme_names
from inventory.components.notation import Spec, write_spec, write_value
from inventory.components.preferred import nearest
from inventory.forms.markings import Picker, ValueForm, query_of
from shop.access import EVERYBODY, role_required
from shop.web.pages import show

FIRST_SCHEME = "iec60062"
COARSE = "E24"


@dataclass(frozen=True)
class Shown:
    """A reading as the page says it. `near` is the preferred value beside one that is in no series, with its distance."""

    marking: Marking
    value: str
    series: str
    near: str
    parts: str


@role_required(*EVERYBODY)
def colours(request: HttpRequest) -> HttpResponse:
    query = {name: text for name, text in request.GET.items() if isinstance(text, str)}
    scheme, unknown = _scheme(query.get("scheme", FIRST_SCHEME))
    picker, back = Picker(scheme, query), ValueForm(scheme, query)
    context = {
        "scheme": scheme,
        "schemes": [scheme_named(name) for name in scheme_names()],
        "unknown": unknown,
        "picker": picker,
        "shown": shown(picker.marking) if picker.marking else None,
        "example": scheme.example,
        "example_value": write_spec(read_colours(scheme.name, scheme.example)),
        "example_query": query_of(scheme, scheme.example),
        "marks": marks(scheme, picker.colours if picker.is_begun else ()),
        "ways": [{"value": write_spec(way.spec), "why": way.why} for way in picker.fault.readings] if picker.fault else [],
        "back": back,
        "back_marks": marks(scheme, back.colours)[: len(back.colours)] if back.is_bound and back.is_valid() else (),
        "readings": [(write_spec(one.spec), one.why) for one in back.readings],
    }
    is_refused = unknown or picker.fault or (back.is_bound and back.errors)
    page, piece = "inventory/colours.html", "inventory/_colours_reading.html"
    return show(request, page, piece, context, status=422 if is_refused and not request.headers.get("HX-Request") else 200)


def _scheme(name: str) -> tuple[Scheme, str]:
    """The scheme of that name, or the first one with a sentence on why not."""
    try:
        return scheme_named(name), ""
    except ColourError as fault:
        return scheme_named(FIRST_SCHEME), fault.message


def shown(marking: Marking) -> Shown:
    spec, series = marking.spec, series_of(marking.spec.value)
    plain = write_value(spec.value, spec.kind)
    parts = f"{reverse('inventory:parts')}?{urlencode({'q': plain, 'kind': spec.kind})}"
    return Shown(marking, write_spec(spec), series, "" if series else _near(spec), parts)


def _near(spec: Spec) -> str:
    """`24 kΩ (4 % below)`."""
    beside = nearest(COARSE, spec.value)
    apart = round(beside.deviation_percent, 1)
    way = "above" if apart > 0 else "below"
    return f"{write_value(beside.nearest, spec.kind)} ({abs(apart.normalize() + Decimal(0)):f} % {way})"
