"""Make a value from what is in the drawers, for anybody who asks."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.components.combining import CombiningError, Made, Needed, make_up
from inventory.forms.make_up import WantedForm
from inventory.pricing import price_terms
from inventory.queries.making_up import Piece, lying, pieces_of, stock_values
from shop.access import EVERYBODY, role_required


@dataclass(frozen=True, slots=True)
class Found:
    """One way to make it, and where its pieces lie."""

    made: Made
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """One heading of the page; `none` is said where nothing was found."""

    heading: str
    none: str
    found: tuple[Found, ...]


@role_required(*EVERYBODY)
def wanted(request: HttpRequest) -> HttpResponse:
    form = WantedForm(request.GET if "wanted" in request.GET else None)
    asked = form.is_bound and form.is_valid()
    context = {"form": form, "asked": asked, "shown": _shown(form) if asked else ()}
    return render(request, "inventory/make_up.html", context, status=422 if form.is_bound and form.errors else 200)


def _shown(form: WantedForm) -> tuple[Shown, ...]:
    try:
        return _made(form.needed)
    except CombiningError as error:
        form.add_error("wanted", error.message)
        return ()


def _made(needed: Needed) -> tuple[Shown, ...]:
    making = make_up(needed, stock_values(needed.kind))
    lines, prices = lying(making.every), price_terms()

    def found(ways: tuple[Made, ...]) -> tuple[Found, ...]:
        return tuple(Found(made, pieces) for made in ways if (pieces := pieces_of(made, lines, prices)))

    return (
        Shown("One part", "No single part in the drawers comes near enough with the rating it needs.", found(making.single)),
        Shown("Two in series", "No two make it in series.", found(making.series)),
        Shown("Two in parallel", "No two make it in parallel.", found(making.parallel)),
    )
