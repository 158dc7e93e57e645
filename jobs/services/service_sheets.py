"""The only writer of a model's service sheet: its pages, and the places of positions on them."""

from dataclasses import dataclass
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Max

from jobs.models import WHOLE, RadioModel, SheetPage, SheetPlace
from jobs.queries.service_sheets import named_positions
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.pictures import Picture

MOST_PAGES = 40
LAST_ORDER = 32_767


@dataclass(frozen=True, slots=True)
class PageFacts:
    """What a person writes about a page. `order` is None for “after the others”."""

    title: str
    source: str = ""
    order: int | None = None


@dataclass(frozen=True, slots=True)
class Where:
    """A place in ten-thousandths of the page's width and height."""

    x: int
    y: int


def _locked(page: SheetPage, seen: int) -> SheetPage:
    current = SheetPage.objects.select_for_update(of=("self",)).select_related("model").get(pk=page.pk)
    if current.version != seen:
        raise Stale("Somebody else changed this page since you opened it. It is shown as it stands now: look, then do it again.")
    return current


def _grown(page: SheetPage, *fields: str) -> SheetPage:
    page.version += 1
    page.save(update_fields=["version", *fields])
    return page


@transaction.atomic
def add_page(model: RadioModel, facts: PageFacts, picture: Picture, *, person: Staff, at: datetime) -> SheetPage:
    """A further page of a model's service sheet."""
    RadioModel.objects.select_for_update().get(pk=model.pk)
    standing = SheetPage.objects.filter(model=model)
    if standing.filter(set_aside_at=None).count() >= MOST_PAGES:
        raise Refused(f"A model has at most {MOST_PAGES} pages. Set one aside that nobody needs any more.", field="file")
    last = standing.aggregate(last=Max("order"))["last"] or 0
    page = SheetPage(model=model, at=at, person=person, order=_order(facts, last))
    page.title, page.source = facts.title.strip()[:80], facts.source.strip()[:160]
    page.image.save(picture.name, ContentFile(picture.content, picture.name), save=False)
    page.save()
    return page


def _order(facts: PageFacts, last: int) -> int:
    return min(last + 1 if facts.order is None else facts.order, LAST_ORDER)


@transaction.atomic
def change_page(page: SheetPage, facts: PageFacts, *, seen: int) -> SheetPage:
    current = _locked(page, seen)
    current.title, current.source = facts.title.strip()[:80], facts.source.strip()[:160]
    current.order = _order(facts, current.order)
    return _grown(current, "title", "source", "order")


@transaction.atomic
def replace_picture(page: SheetPage, picture: Picture, *, person: Staff, at: datetime, seen: int) -> SheetPage:
    """Another picture of the same page; the places stay where they are. The earlier picture's file is kept."""
    current = _locked(page, seen)
    current.image.save(picture.name, ContentFile(picture.content, picture.name), save=False)
    current.person, current.at = person, at
    return _grown(current, "image", "width", "height", "person", "at")


@transaction.atomic
def put_picture_back(page: SheetPage, name: str, *, seen: int) -> SheetPage:
    """Show the earlier picture of that name again; the places stay."""
    current = _locked(page, seen)
    if not current.image.storage.exists(name):
        raise Refused("The earlier picture's file is missing from the shop's folder. Send it in again.")
    current.image = name  # type: ignore[assignment]  # measures the picture, too
    return _grown(current, "image", "width", "height")


@transaction.atomic
def set_aside(page: SheetPage, *, at: datetime, seen: int) -> SheetPage:
    """The page is shown no longer; its places are kept with it."""
    current = _locked(page, seen)
    if current.set_aside_at is not None:
        raise Refused(f"“{current.title}” is set aside already.")
    current.set_aside_at = at
    return _grown(current, "set_aside_at")


@transaction.atomic
def take_back(page: SheetPage, *, seen: int) -> SheetPage:
    current = _locked(page, seen)
    if current.set_aside_at is None:
        raise Refused(f"“{current.title}” isn't set aside.")
    current.set_aside_at = None
    return _grown(current, "set_aside_at")


@transaction.atomic
def place(page: SheetPage, designator: str, where: Where, *, seen: int) -> Where | None:
    """Put a position on the page, or move it; gives where it stood before, None where it had no place."""
    current = _locked(page, seen)
    name = designator.strip().upper()
    if not (0 <= where.x <= WHOLE and 0 <= where.y <= WHOLE):
        raise Refused("That is beside the page. Tap on the drawing itself.", field="across")
    there = SheetPlace.objects.filter(page=current, designator=name).first()
    if there is None and name not in {one.designator for one in named_positions(current.model)}:
        raise Refused(
            f"Neither the called-for list nor a job of this model names {name[:16] or 'this position'}.", field="position"
        )
    before = Where(there.x, there.y) if there else None
    SheetPlace.objects.update_or_create(page=current, designator=name, defaults={"x": where.x, "y": where.y})
    _grown(current)
    return before


@transaction.atomic
def remove_place(page: SheetPage, designator: str, *, seen: int) -> Where:
    """Take a position's place off the page; gives where it stood."""
    current = _locked(page, seen)
    there = SheetPlace.objects.filter(page=current, designator=designator.strip().upper()).first()
    if there is None:
        raise Refused("That position has no place on this page any more.")
    before = Where(there.x, there.y)
    there.delete()
    _grown(current)
    return before
