"""The cheapest basket for picked parts: offers and suppliers' terms go to the optimiser, its answer comes back for a page.

A line's amount is rounded to the smallest coin, as on the order that will be written.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.buying import SECONDS, Basket, Choice, Line, Source, SupplierOrder, SupplierTerms, Want, cheapest
from inventory.models import Offer, Part, Supplier
from inventory.queries.exchange import amount_minor, carriage_by_terms, exchanged, rate_of, whole
from inventory.queries.offers_of import offers_for

Days = tuple[tuple[int, date | None], ...]


@dataclass(frozen=True, slots=True)
class Pick:
    """A part that somebody wants to buy: how many by which day (None: whenever), and for what."""

    part: Part
    days: Days
    for_what: str = ""

    @property
    def count(self) -> int:
        return sum(count for count, _ in self.days)

    @property
    def needed_on(self) -> date | None:
        return min((day for _, day in self.days if day), default=None)


@dataclass(frozen=True, slots=True)
class BasketLine:
    """`from_count`: where the price begins that it is bought at. `surplus`: pieces beyond what is wanted."""

    part: Part
    offer: Offer
    count: int
    packs: int
    unit_milli: int
    from_count: int
    arrives_on: date
    needed_on: date | None
    surplus: int
    for_what: str

    @property
    def amount_minor(self) -> int:
        return amount_minor(self.count, self.unit_milli)

    @property
    def shown(self) -> str:
        """How a form says what was on the page: offer, count, price of one."""
        return f"{self.offer.pk}:{self.count}:{self.unit_milli}"


@dataclass(frozen=True, slots=True)
class BasketOrder:
    """What one supplier would be asked for, in their money; `total_shop_minor` in the shop's."""

    supplier: Supplier
    currency: str
    shop_currency: str
    lines: tuple[BasketLine, ...]

    @property
    def goods_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)

    @property
    def carriage_minor(self) -> int:
        return carriage_by_terms(self.supplier, self.goods_minor)

    @property
    def total_minor(self) -> int:
        return self.goods_minor + self.carriage_minor

    @property
    def is_foreign(self) -> bool:
        return self.currency != self.shop_currency

    @property
    def total_shop_minor(self) -> int:
        return whole(exchanged(self.total_minor, self.currency, self.shop_currency, self.supplier.exchange_ppm))

    @property
    def is_free_of_carriage(self) -> bool:
        return self.supplier.carriage_minor > 0 and self.carriage_minor == 0


@dataclass(frozen=True, slots=True)
class PlainWay:
    """A way of buying that needs no search, and what it costs more than the cheapest basket, minor units. None: not possible."""

    way: str
    suppliers: tuple[Supplier, ...] = ()
    total_minor: int | None = None
    more_minor: int = 0

    @property
    def more_percent(self) -> int:
        """Of its own total, whole percents in hundredths of one."""
        return 100 * round(100 * self.more_minor / self.total_minor) if self.total_minor else 0


@dataclass(frozen=True, slots=True)
class LatePart:
    part: Part
    count: int
    needed_on: date
    arrives_on: date

    @property
    def days(self) -> int:
        return (self.arrives_on - self.needed_on).days


@dataclass(frozen=True, slots=True)
class UnboughtPart:
    """`why`: no_offer, no_price, or currency where the offer is in another money than the supplier's card."""

    part: Part
    count: int
    why: str


@dataclass(frozen=True)
class BasketPage:
    orders: tuple[BasketOrder, ...]
    plain: tuple[PlainWay, ...]
    late: tuple[LatePart, ...]
    unbought: tuple[UnboughtPart, ...]
    is_proved: bool

    @property
    def total_minor(self) -> int:
        return sum(order.total_shop_minor for order in self.orders)

    @property
    def lines(self) -> list[BasketLine]:
        return [line for order in self.orders for line in order.lines]

    @property
    def has_surplus(self) -> bool:
        return any(line.surplus for line in self.lines)


def basket_for(picks: Sequence[Pick], today: date, shop_currency: str, seconds: float = SECONDS) -> BasketPage:
    """The cheapest basket for these picks. One query."""
    offers = {offer.pk: offer for found in offers_for({pick.part.pk for pick in picks}).values() for offer in found}
    usable = [offer for offer in offers.values() if _is_in_their_money(offer, shop_currency) and offer.breaks]
    wants = [Want(pick.part.pk, count, day) for pick in picks for count, day in pick.days]
    suppliers = {offer.supplier_id: offer.supplier for offer in usable}
    terms = [terms_of(supplier, shop_currency) for supplier in suppliers.values()]
    choice = cheapest(wants, [source_of(offer) for offer in usable], terms, today, seconds)
    drawn = _Drawn(picks, offers, suppliers, today, shop_currency)
    return BasketPage(
        drawn.orders(choice.best),
        drawn.plain(choice),
        drawn.late(choice.best),
        drawn.unbought(choice),
        choice.is_proved,
    )


def _is_in_their_money(offer: Offer, shop_currency: str) -> bool:
    return offer.currency == (offer.supplier.currency or shop_currency)


def source_of(offer: Offer) -> Source:
    lead = offer.supplier.lead_days if offer.lead_days is None else offer.lead_days
    breaks = tuple(sorted(dict(offer.breaks).items()))
    return Source(offer.part_id or 0, offer.pk, offer.supplier_id, breaks, offer.pack_size, offer.least_count, lead)


def terms_of(supplier: Supplier, shop_currency: str) -> SupplierTerms:
    free = supplier.carriage_free_from_minor
    return SupplierTerms(
        supplier.pk,
        supplier.minimum_order_minor * 1000,
        supplier.carriage_minor * 1000,
        None if free is None else free * 1000,
        exchanged(1, supplier.currency or shop_currency, shop_currency, rate_of(supplier, shop_currency)),
    )


@dataclass(frozen=True)
class _Drawn:
    """The optimiser's keys turned back into what they stand for."""

    picks: Sequence[Pick]
    offers: Mapping[int, Offer]
    suppliers: Mapping[int, Supplier]
    today: date
    shop_currency: str

    def _own(self, part_pk: int) -> list[Pick]:
        return [pick for pick in self.picks if pick.part.pk == part_pk]

    def orders(self, basket: Basket) -> tuple[BasketOrder, ...]:
        left = dict(basket.surplus)
        return tuple(self._order(order, left) for order in basket.orders)

    def _order(self, order: SupplierOrder, left: dict[int | str, int]) -> BasketOrder:
        supplier = self.suppliers[int(order.terms.key)]
        lines = tuple(self._line(line, left) for line in order.lines)
        return BasketOrder(supplier, supplier.currency or self.shop_currency, self.shop_currency, lines)

    def _line(self, line: Line, left: dict[int | str, int]) -> BasketLine:
        source, own = line.source, self._own(int(line.source.want_key))
        surplus = min(left.get(source.want_key, 0), line.count)
        left[source.want_key] = left.get(source.want_key, 0) - surplus
        return BasketLine(
            own[0].part,
            self.offers[int(source.offer_key)],
            line.count,
            line.packs,
            line.unit_milli,
            source.break_at(line.count),
            source.arrives_on(self.today),
            min((pick.needed_on for pick in own if pick.needed_on), default=None),
            surplus,
            ", ".join(dict.fromkeys(word for pick in own for word in pick.for_what.split(", ") if word)),
        )

    def plain(self, choice: Choice) -> tuple[PlainWay, ...]:
        total = sum(order.total_shop_minor for order in self.orders(choice.best))
        return self._way("single", choice.single, total), self._way("each", choice.each, total)

    def _way(self, way: str, basket: Basket | None, cheapest_minor: int) -> PlainWay:
        if basket is None:
            return PlainWay(way)
        orders = self.orders(basket)
        total = sum(order.total_shop_minor for order in orders)
        return PlainWay(way, tuple(order.supplier for order in orders), total, max(total - cheapest_minor, 0))

    def late(self, basket: Basket) -> tuple[LatePart, ...]:
        return tuple(
            LatePart(self._own(int(one.want.key))[0].part, one.want.count, one.want.needed_on, one.arrives_on)
            for one in basket.late
            if one.want.needed_on is not None
        )

    def unbought(self, choice: Choice) -> tuple[UnboughtPart, ...]:
        counts: dict[tuple[int, str], int] = {}
        for one in choice.unbought:
            key = int(one.want.key), self._why(int(one.want.key), one.why)
            counts[key] = counts.get(key, 0) + one.want.count
        return tuple(UnboughtPart(self._own(pk)[0].part, count, why) for (pk, why), count in counts.items())

    def _why(self, part_pk: int, why: str) -> str:
        offered: Iterable[Offer] = (offer for offer in self.offers.values() if offer.part_id == part_pk)
        return "currency" if why == "no_offer" and any(offered) else why
