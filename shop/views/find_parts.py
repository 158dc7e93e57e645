"""What a search finds in the drawers: parts by value and by words, valves under all their names, drawers, lots, suppliers."""

from collections.abc import Iterator

from django.db.models import Case, F, Q, Value, When
from django.db.models.functions import Replace

from inventory.components.notation import Spec
from inventory.components.valves import equivalent, family, names_in_common, plain_type
from inventory.models import Drawer, Kind, Lot, Part, Supplier
from inventory.queries.parts import near
from shop.search_text import compact, fold
from shop.views.found import Asked, Group, Hit

FEWEST_OF_A_CODE = 2
LONGEST_CODE = 12
FEWEST_OF_A_DATE_CODE = 3
MOST_VALVES = 100
STANDS = {"same": "the same valve as {}", "base": "{} on another base", "near": "near {}, look at the data"}


def in_the_drawers(asked: Asked, readings: list[Spec]) -> Iterator[Group | None]:
    yield _parts(asked, readings)
    yield _valves(asked)
    yield _drawers(asked)
    yield _lots(asked)
    yield _suppliers(asked)


def _parts(asked: Asked, readings: list[Spec]) -> Group | None:
    """What says the words first, then what only has the value."""
    words = _words(asked)
    found = Part.objects.filter(near(readings) | words).with_stock()
    found = found.order_by("-in_use", Case(When(words, then=Value(0)), default=Value(1)), "kind", "value_si", "volts", "pk")
    return asked.group("parts", "Parts", found, lambda one: part_hit(asked, one), asked.url("inventory:parts", q=asked.text))


def _words(asked: Asked) -> Q:
    wanted = Q() if asked.has_words else Q(pk__in=())
    for word in fold(asked.text).split():
        wanted &= Q(search__contains=word)
    return wanted


def part_hit(asked: Asked, one: Part, how: str = "") -> Hit:
    held = f", {one.held} held" if one.held else ""  # type: ignore[attr-defined]
    words = f"{how + ': ' if how else ''}{one.on_hand} in the drawers{held}"  # type: ignore[attr-defined]
    return Hit(one, asked.url("inventory:part", one.pk), one.title, words)


def _valves(asked: Asked) -> Group | None:
    """Cards under the type's other names, and with other envelopes; what the words found already is not among them."""
    typed = plain_type(asked.text) if len(asked.text) <= LONGEST_CODE else ""
    if not typed or typed.isdigit() or typed.isalpha():
        return None
    others = names_in_common().get(typed, ())
    names = list(dict.fromkeys((typed, family(typed), *others)))
    bare = Replace(Replace(Replace(F("search"), Value("-"), Value("")), Value("/"), Value("")), Value("."), Value(""))
    wanted = Q()
    for name in names:
        wanted |= Q(bare__contains=name.lower())
    named = Part.objects.filter(kind=Kind.VALVE).annotate(bare=bare).filter(wanted)
    found = named.exclude(_words(asked)).with_stock().order_by("-in_use", "marking", "pk")
    rows = [one for one in found[:MOST_VALVES] if _is_one_of(names, one.marking)]
    return asked.few("valves", "Valves by another name", rows, lambda one: part_hit(asked, one, _stands(asked.text, one, names)))


def _is_one_of(names: list[str], marking: str) -> bool:
    """Whether a word of the marking is one of the types, in whatever envelope: 80 is no part of EABC80."""
    families = {family(name) for name in names}
    return any(family(word) in families for word in marking.split())


def _stands(text: str, part: Part, names: list[str]) -> str:
    offered = part.marking.split()[0] if part.marking.split() else part.marking
    found = equivalent(text, offered)
    if found is None:
        return ""
    said = STANDS[found.how].format(text.upper())
    return f"{said} (from memory)" if found.from_memory else said


def _drawers(asked: Asked) -> Group | None:
    """By code, whatever stands between its parts; a beginning will do."""
    wanted = compact(asked.text)
    if not FEWEST_OF_A_CODE <= len(wanted) <= LONGEST_CODE:
        return None
    rows = [(compact(f"{drawer.cabinet}{drawer.tray}{drawer.compartment}"), drawer) for drawer in Drawer.objects.all()]
    found = [drawer for code, drawer in sorted(rows, key=lambda row: (row[0] != wanted, len(row[0]))) if code.startswith(wanted)]

    def hit(one: Drawer) -> Hit:
        return Hit(one, asked.url("inventory:drawer", one.pk), f"Drawer {one.code}")

    marks = ",".join(str(one.pk) for one in found[:200])
    return asked.few("drawers", "Drawers", found, hit, asked.url("inventory:drawers", mark=marks))


def _dated(text: str) -> Q:
    """A part of a date code, but a code of letters alone in whole: most words that are looked for are names."""
    if any(sign.isdigit() for sign in text):
        return Q(date_code__gt="", date_code__icontains=text)
    return Q(date_code__in={text, text.upper(), text.lower(), text.capitalize()})


def _lots(asked: Asked) -> Group | None:
    """By date code, or by the mark of a valve that is kept one by one."""
    if len(compact(asked.text)) < FEWEST_OF_A_CODE or len(asked.text) > 40:
        return None
    # Few lots have a mark: said so, the index of those that have one answers.
    keys = Lot.objects.exclude(mark="").filter(mark__iexact=asked.text).order_by().values("pk")
    wanted = Q(pk__in=keys)
    if len(asked.text) >= FEWEST_OF_A_DATE_CODE:
        # Asked alone, the index of date codes answers, and lots without one aren't looked at.
        wanted |= Q(pk__in=Lot.objects.filter(_dated(asked.text)).order_by().values("pk"))
    found = Lot.objects.filter(pk__in=Lot.objects.filter(wanted).order_by().values("pk")).select_related("part", "supplier")

    def hit(one: Lot) -> Hit:
        said = [one.mark and f"marked {one.mark}", one.date_code and f"date code {one.date_code}", str(one.supplier or "")]
        return Hit(one, asked.url("inventory:lot", one.pk), f"Lot {one.pk}: {one.part.title}", ", ".join(filter(None, said)))

    all_url = asked.url("inventory:lots", date_code=asked.text, show="all")
    return asked.group("lots", "Lots", found.order_by("-pk"), hit, all_url)


def _suppliers(asked: Asked) -> Group | None:
    words = fold(asked.text).split()
    if not asked.has_words:
        return None
    found = [one for one in Supplier.objects.all() if all(word in fold(one.name) for word in words)]

    def hit(one: Supplier) -> Hit:
        return Hit(one, asked.url("inventory:offers", one.pk), one.name, "what they offer")

    return asked.few("suppliers", "Suppliers", found, hit, asked.url("inventory:suppliers"))
