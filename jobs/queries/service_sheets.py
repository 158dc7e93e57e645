"""A model's service sheet: its pages, where positions stand on them, and a job's log seen on them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

from inventory.components.roles import role as role_of
from jobs.documents.sheet_marks import FLAGS, LOOKS, Flag, Look, Spot
from jobs.models import Decision, Position, RadioModel, SheetPage, SheetPlace, Verdict
from jobs.queries.sheet import PositionState, Sheet

BAD = (Verdict.OPEN, Verdict.SHORTED, Verdict.LEAKY, Verdict.WRONG_PART)
_STEPS = {"to inspect": "inspect", "to decide": "decide", "to fit": "fit"}
_DECIDED = {Decision.KEEP: "left", Decision.REPAIR: "repaired", Decision.REMOVE: "removed"}


def pages_of(model: RadioModel) -> list[SheetPage]:
    """The pages that stand, in their order."""
    return list(SheetPage.objects.filter(model=model, set_aside_at=None).select_related("person"))


def pages_set_aside(model: RadioModel) -> list[SheetPage]:
    return list(SheetPage.objects.filter(model=model).exclude(set_aside_at=None))


def places_of(pages: Sequence[SheetPage]) -> list[SheetPlace]:
    """All places on these pages, each with its page, in one query."""
    by_key = {page.pk: page for page in pages}
    found = list(SheetPlace.objects.filter(page__in=by_key))
    for place in found:
        place.page = by_key[place.page_id]
    return found


def spot_of(place: SheetPlace) -> Spot:
    return Spot(place.x, place.y)


@dataclass(frozen=True, slots=True)
class Named:
    """A position that can have a place, as the model's list or one of its jobs names it."""

    designator: str
    role: str
    called: str

    @property
    def words(self) -> str:
        return " ".join(part for part in (self.designator, role_of(self.role).label, self.called) if part)


def named_positions(model: RadioModel) -> list[Named]:
    """The called-for list in circuit order, then what the jobs of this model have besides."""
    listed = [Named(*row) for row in model.called_for.values_list("designator", "role", "called")]  # type: ignore[attr-defined]
    known = {one.designator for one in listed}
    besides = Position.objects.filter(job__radio__model=model).exclude(designator__in=known).order_by("designator", "pk")
    more = {row[0]: Named(*row) for row in besides.values_list("designator", "role", "called")}
    return [*listed, *more.values()]


@dataclass(frozen=True, slots=True)
class Placed:
    """A place on the page that is shown; `named` is None where no list names the position any more."""

    place: SheetPlace
    named: Named | None

    @property
    def designator(self) -> str:
        return self.place.designator

    @property
    def spot(self) -> Spot:
        return spot_of(self.place)


def nameable(page: SheetPage) -> list[Named]:
    """What may have a place on this page: what a list names, and what stands there though none names it any more."""
    named = named_positions(page.model)
    there = set(page.places.values_list("designator", flat=True))  # type: ignore[attr-defined]
    return [*named, *_strays(named, there)]


def _strays(named: Sequence[Named], there: Collection[str]) -> list[Named]:
    return [Named(designator, "other", "") for designator in sorted(set(there) - {one.designator for one in named})]


@dataclass(frozen=True)
class Placing:
    """One page while places are put on it. `named` can have a place; `current` is the one whose place comes next."""

    page: SheetPage
    named: Sequence[Named]
    placed: Sequence[Placed]
    unplaced: Sequence[Named]
    current: Named | None

    @property
    def current_place(self) -> SheetPlace | None:
        """Where the current position stands on this page already."""
        name = self.current.designator if self.current else ""
        return next((one.place for one in self.placed if one.designator == name), None)

    @property
    def skipped_to(self) -> Named | None:
        """The unplaced position after the current one."""
        after = _after(self.named, self.unplaced, self.current.designator if self.current else "")
        return after if after != self.current else None


def placing_of(page: SheetPage, wanted: str = "", after: str = "") -> Placing:
    """The page with its places. Current is the position wanted, or the first unplaced one that follows `after`."""
    named = named_positions(page.model)
    by_name = {one.designator: one for one in named}
    places = places_of([page, *SheetPage.objects.filter(model=page.model_id, set_aside_at=None).exclude(pk=page.pk)])
    here = [Placed(place, by_name.get(place.designator)) for place in places if place.page_id == page.pk]
    strays = {one.designator: one for one in _strays(named, [one.designator for one in here])}
    anywhere = {place.designator for place in places}
    unplaced = [one for one in named if one.designator not in anywhere]
    current = (by_name | strays).get(wanted) or _after(named, unplaced, after)
    return Placing(page, [*named, *strays.values()], here, unplaced, current)


def _after(named: Sequence[Named], unplaced: Sequence[Named], designator: str) -> Named | None:
    """The first unplaced position behind this one in circuit order, from the beginning again where none is."""
    order = {one.designator: at for at, one in enumerate(named)}
    behind = [one for one in unplaced if order[one.designator] > order.get(designator, -1)]
    return next(iter(behind or unplaced), None)


def look_of(row: PositionState) -> Look:
    """How the log leaves a position, as a mark."""
    if not row.is_resolved:
        return LOOKS[_STEPS[row.next_step]]
    return LOOKS["fitted" if row.fitted else _DECIDED.get(Decision(row.decision), "left")]


def flags_of(row: PositionState) -> list[Flag]:
    """A bad verdict counts while the part that was judged is still in there."""
    bad = row.verdict in BAD and not row.fitted and row.decision not in (Decision.REPAIR, Decision.REMOVE)
    return [FLAGS[code] for code, stands in (("bad", bad), ("wiring", bool(row.wiring))) if stands]


@dataclass(frozen=True)
class Marked:
    """A position of a job with its mark; `place` is None where no page shows it, `page_number` which page does (from 1)."""

    row: PositionState
    look: Look
    flags: Sequence[Flag]
    place: SheetPlace | None
    page_number: int = 0
    is_next: bool = False

    @property
    def position(self) -> Position:
        return self.row.position

    @property
    def spot(self) -> Spot:
        assert self.place is not None
        return spot_of(self.place)

    @property
    def words(self) -> str:
        """What somebody who can't see the mark is told."""
        flagged = "".join(f", {flag.label}" for flag in self.flags)
        lead = "next: " if self.is_next else ""
        return f"{lead}{self.position.designator}, {self.row.role_label}: {self.look.label}{flagged}"


@dataclass(frozen=True)
class JobSheet:
    """A job on its model's service sheet: the page that is shown, all marks, and what has no place."""

    pages: Sequence[SheetPage]
    page: SheetPage | None
    marked: Sequence[Marked]

    @property
    def number(self) -> int:
        """Which of the pages is shown, counted from 1; 0 where there is none."""
        return self.pages.index(self.page) + 1 if self.page else 0

    @cached_property
    def here(self) -> list[Marked]:
        return [one for one in self.marked if one.place and self.page and one.place.page_id == self.page.pk]

    @cached_property
    def elsewhere(self) -> list[Marked]:
        return [one for one in self.marked if one.place and self.page and one.place.page_id != self.page.pk]

    @cached_property
    def without_place(self) -> list[Marked]:
        return [one for one in self.marked if one.place is None]

    @cached_property
    def next(self) -> Marked | None:
        return next((one for one in self.marked if one.is_next), None)

    @property
    def legend(self) -> list[tuple[Look, int]]:
        return [(look, sum(one.look is look for one in self.marked)) for look in LOOKS.values()]

    @property
    def flag_legend(self) -> list[tuple[Flag, int]]:
        return [(flag, sum(flag in one.flags for one in self.marked)) for flag in FLAGS.values()]


def job_sheet(sheet: Sheet, number: int | None = None) -> JobSheet:
    """The job's log on a page of its model: the page of that number, or the one that shows what comes next."""
    pages = pages_of(sheet.job.radio.model)
    place_of: dict[str, SheetPlace] = {}
    wanted = pages[number - 1] if number and 1 <= number <= len(pages) else None
    for place in places_of(pages):
        # A position may stand on several pages; the page that is shown comes first.
        if place.designator not in place_of or (wanted and place.page_id == wanted.pk):
            place_of[place.designator] = place
    upcoming = sheet.next_unresolved
    numbers = {page.pk: at for at, page in enumerate(pages, 1)}
    marked = []
    for row in sheet.rows:
        place_there = place_of.get(row.position.designator)
        at = numbers[place_there.page_id] if place_there else 0
        marked.append(Marked(row, look_of(row), flags_of(row), place_there, at, row is upcoming))
    first = next((one.place.page for one in marked if one.is_next and one.place), None) or next(iter(pages), None)
    return JobSheet(pages, wanted or first, marked)


def place_on_sheet(model: RadioModel, designator: str) -> SheetPlace | None:
    """Where a position stands on the model's sheet: on the first of its pages that shows it."""
    standing = SheetPlace.objects.filter(page__model=model, page__set_aside_at=None, designator=designator)
    return standing.select_related("page").order_by("page__order", "page__pk").first()


CUT_WIDTH, CUT_HEIGHT = 520, 340
"""Pixels of the kept drawing that a cut-out shows, on a drawing of 4,000; smaller drawings show the same share."""
CUT_OF = 4_000


@dataclass(frozen=True, slots=True)
class Cut:
    """A part of a drawing around a place: its box in pixels, and where in it the place is."""

    box: tuple[int, int, int, int]
    spot: Spot

    @property
    def width(self) -> int:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> int:
        return self.box[3] - self.box[1]


def cut_around(place: SheetPlace) -> Cut:
    """The part of the page around a place, moved inwards at the page's edges."""
    page = place.page
    scale = max(page.width, page.height) / CUT_OF
    width, height = (
        max(1, min(most, round(size * scale))) for most, size in ((page.width, CUT_WIDTH), (page.height, CUT_HEIGHT))
    )
    x, y = place.x * page.width / 10_000, place.y * page.height / 10_000
    left = round(min(max(0.0, x - width / 2), page.width - width))
    top = round(min(max(0.0, y - height / 2), page.height - height))
    spot = Spot(round((x - left) / width * 10_000), round((y - top) / height * 10_000))
    return Cut((left, top, left + width, top + height), spot)
