"""Jobs of the demo as patterns: every row that belongs to one, with what changes when it is told again."""

import hashlib
import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from django.apps import apps
from django.db import models

from billing.models import Invoice
from inventory.models import Drawer, Hold, Lot, Movement, Part
from jobs.models import (
    ApprovalLink,
    BadLotLetter,
    Claim,
    ClaimDecision,
    ClaimFinding,
    Consent,
    CoveredPlace,
    Estimate,
    Job,
    Photo,
    RadioSet,
    WarrantyTransfer,
)
from shop.models import Customer
from tests.speed.twenty_years.days import number_of_text, seconds_of

# What came of a job later, or lies in a file: such rows stay the demo's own.
LEFT_OUT = {Claim, ClaimFinding, ClaimDecision, CoveredPlace, BadLotLetter, Photo, WarrantyTransfer}
A_DAY = re.compile(r"\b20\d\d-\d\d-\d\d\b")
Model_ = type[models.Model]


@dataclass(slots=True)
class Telling:
    """One telling of a pattern: whose job, when, under which numbers and keys."""

    shift: int
    """Days later than the pattern; before it, as a rule."""
    customer: int
    radio: int
    parts: dict[int, int]
    lots: Sequence[int]
    drawers: Sequence[int]
    keys: dict[Model_, Sequence[int]]
    days: Sequence[str]
    says: tuple[tuple[str, str], ...]
    """Numbers of papers in the pattern, and the new ones."""
    digests: dict[str, str]
    mark: str
    given: dict[str, Sequence[Any]]
    """Columns of invoices: their numbers."""

    def said(self, text: str) -> str:
        for old, new in self.says:
            text = text.replace(old, new)
        return text


Change = Callable[[Telling], Sequence[Any]]


@dataclass(slots=True)
class Sheet:
    """The rows of one table: columns as they stand, and those that change with how."""

    model: Model_
    size: int
    columns: list[Sequence[Any]]
    changes: list[tuple[int, Change]] = field(default_factory=list)

    def told(self, telling: Telling) -> "zip[tuple[Any, ...]]":
        columns = self.columns.copy()
        for place, change in self.changes:
            columns[place] = change(telling)
        return zip(*columns, strict=True)


@dataclass(slots=True)
class Pattern:
    """One job of the demo."""

    number: str
    radio_row: dict[str, Any]
    model: int
    stage: str
    is_open: bool
    begins: int
    """Number of the day on which it came in."""
    stays: int
    """Days until its last row."""
    sheets: list[Sheet]
    day_numbers: list[int]
    lots: list[int]
    invoices: list[tuple[str, str, int]]
    """Number, series and second of the pattern's own bills."""
    moves: list[tuple[int, int, int]]
    """Second, place in `lots`, count of its movements."""
    move_rows: list[tuple[str, str, int]]
    """Kind, reason and person of each of its movements."""
    estimates: list[tuple[str, str]]
    """Fingerprint, and what it was made of after the job's number."""
    held: dict[int, int]
    """Open holds by place in `lots`."""
    log_size: int

    def sheet(self, model: Model_) -> Sheet | None:
        return next((one for one in self.sheets if one.model is model), None)


def read_pattern(job: Job) -> Pattern:
    return _Reader(job).pattern()


def as_text(value: Any) -> Any:
    """Moments and days as SQLite writes them."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).replace(tzinfo=None).isoformat(sep=" ")
    return value.isoformat() if isinstance(value, date) else value


class _Reader:
    """Collects the rows of one job, then says column by column what changes."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.rows: dict[Model_, list[models.Model]] = {}
        self._collect()
        self.place = {model: {row.pk: at for at, row in enumerate(rows)} for model, rows in self.rows.items()}
        self.days: dict[int, int] = {}
        lots = {getattr(row, "lot_id", None) for rows in self.rows.values() for row in rows if row._meta.app_label != "billing"}
        self.lots = sorted(one for one in lots if one is not None)
        self.numbers = [job.number, *(one.number for one in self.rows.get(Invoice, []))]  # type: ignore[attr-defined]

    def _collect(self) -> None:
        """Every row that names the job, or names a row that does."""
        self.rows[Job] = [self.job]
        for model in (Movement, Hold):
            self._keep(model, model._default_manager.filter(reference=self.job.number))
        tables = [one for name in ("jobs", "billing") for one in apps.get_app_config(name).get_models() if one not in LEFT_OUT]
        while any([self._collect_from(one) for one in tables]):
            pass

    def _collect_from(self, model: Model_) -> bool:
        """Whether a row was found that wasn't known."""
        known = len(self.rows.get(model, []))
        asked = models.Q()
        for one in model._meta.concrete_fields:
            owner = one.related_model
            if one.is_relation and owner in self.rows and owner is not model and owner not in (Movement, Hold):
                asked |= models.Q(**{f"{one.name}__in": [row.pk for row in self.rows[owner]]})
        if asked and model is not Job:
            self._keep(model, model._default_manager.filter(asked))
        return len(self.rows.get(model, [])) > known

    def _keep(self, model: Model_, found: Any) -> None:
        rows = list(found.order_by("pk"))
        if rows:
            self.rows[model] = rows

    def pattern(self) -> Pattern:
        job = self.job
        sheets = [self._sheet(model, rows) for model, rows in self.rows.items()]
        days = sorted(self.days, key=lambda day: self.days[day])
        begins = number_of_text(as_text(job.taken_in_at))
        moves = self.rows.get(Movement, [])
        papers = self.rows.get(Invoice, [])
        place = {lot: at for at, lot in enumerate(self.lots)}
        held: dict[int, int] = {}
        for hold in self.rows.get(Hold, []):
            if hold.ended_at is None:  # type: ignore[attr-defined]
                held[place[hold.lot_id]] = held.get(place[hold.lot_id], 0) + hold.count  # type: ignore[attr-defined]
        radio = job.radio
        return Pattern(
            number=job.number,
            radio_row={one.attname: getattr(radio, one.attname) for one in RadioSet._meta.concrete_fields},
            model=radio.model_id,
            stage=job.stage,
            is_open=job.is_open,
            begins=begins,
            stays=max(days) - begins if not job.is_open else 0,
            sheets=sheets,
            day_numbers=days,
            lots=self.lots,
            invoices=[(one.number, one.series, seconds_of(as_text(one.at))) for one in papers],  # type: ignore[attr-defined]
            moves=[(seconds_of(as_text(one.at)), place[one.lot_id], one.count) for one in moves],  # type: ignore[attr-defined]
            move_rows=[(one.kind, one.reason, one.person_id) for one in moves],  # type: ignore[attr-defined]
            estimates=[self._fingerprinted(one) for one in self.rows.get(Estimate, []) if one.digest],  # type: ignore[attr-defined]
            held=held,
            log_size=job.log_seq,
        )

    def _fingerprinted(self, estimate: Any) -> tuple[str, str]:
        """What the fingerprint was made of begins with the job's number; refused where keys are part of it."""
        from jobs.services.estimates import sending

        whole = _what_is_hashed(sending, estimate)
        if hashlib.sha256(whole.encode()).hexdigest() != estimate.digest or not whole.startswith(self.job.number):
            raise ValueError(f"the fingerprint of {estimate} can't be told again")
        return estimate.digest, whole.removeprefix(self.job.number)

    def _sheet(self, model: Model_, rows: list[models.Model]) -> Sheet:
        columns: list[Sequence[Any]] = []
        sheet = Sheet(model, len(rows), columns)
        for place, one in enumerate(model._meta.concrete_fields):
            values = tuple(_written(one, getattr(row, one.attname)) for row in rows)
            columns.append(values)
            change = self._change(model, one, values, rows)
            if change is not None:
                sheet.changes.append((place, change))
        return sheet

    def _change(self, model: Model_, one: Any, values: tuple[Any, ...], rows: list[models.Model]) -> Change | None:
        if one.primary_key:
            return lambda telling: telling.keys[model]
        if all(value is None or value == "" for value in values):
            return None
        if one.is_relation:
            return self._reference(one, values, rows)
        if isinstance(one, models.DateField):
            return self._dated(values)
        if (model, one.attname) in ((Invoice, "number"), (Invoice, "year"), (Invoice, "sequence")):
            name = one.attname
            return lambda telling: telling.given[name]
        if one.attname == "digest" and model in (Estimate, Consent):
            return lambda telling: [telling.digests.get(value, value) for value in values]
        if (model, one.attname) == (ApprovalLink, "token_hash"):
            return lambda telling: [hashlib.sha256(f"{telling.mark}.{at}".encode()).hexdigest() for at in range(len(values))]
        return self._worded(values)

    def _reference(self, one: Any, values: tuple[Any, ...], rows: list[models.Model]) -> Change | None:
        owner = one.related_model
        if owner in self.rows:
            places = [None if value is None else self.place[owner][value] for value in values]
            return lambda telling: _keyed(telling.keys[owner], places)
        if owner is Customer:
            return lambda telling: [telling.customer] * len(values)
        if owner is RadioSet:
            return lambda telling: [telling.radio] * len(values)
        if owner is Part:
            return lambda telling: [telling.parts.get(value, value) for value in values]
        if owner is Lot:
            lots = [None if value is None else self.lots.index(value) for value in values]
            return lambda telling: _keyed(telling.lots, lots)
        if owner is Drawer:
            drawers = [self.lots.index(row.lot_id) for row in rows]  # type: ignore[attr-defined]
            return lambda telling: _keyed(telling.drawers, drawers)
        return None

    def _dated(self, values: tuple[Any, ...]) -> Change:
        parts = [None if value is None else (self._day(value[:10]), value[10:]) for value in values]
        return lambda telling: [None if part is None else telling.days[part[0]] + part[1] for part in parts]

    def _day(self, text: str) -> int:
        return self.days.setdefault(number_of_text(text), len(self.days))

    def _worded(self, values: tuple[Any, ...]) -> Change | None:
        words = [value for value in values if isinstance(value, str)]
        dated = sorted({day for value in words for day in A_DAY.findall(value)})
        named = any(number in value for value in words for number in self.numbers)
        if not dated and not named:
            return None
        places = {day: self._day(day) for day in dated}

        def say(telling: Telling, value: Any) -> Any:
            if not isinstance(value, str):
                return value
            said = telling.said(value)
            return A_DAY.sub(lambda found: telling.days[places[found[0]]], said) if places else said

        return lambda telling: [say(telling, value) for value in values]


def _keyed(keys: Sequence[int], places: Sequence[int | None]) -> list[int | None]:
    return [None if place is None else keys[place] for place in places]


def _written(one: Any, value: Any) -> Any:
    """As the database keeps it."""
    if isinstance(one, models.JSONField):
        return json.dumps(value)
    if isinstance(one, models.FileField):
        return value.name or ""
    return as_text(value)


def _what_is_hashed(sending: Any, estimate: Any) -> str:
    """The text that `fingerprint` takes the hash of."""
    heard: list[str] = []

    class Hashes:
        @staticmethod
        def sha256(data: bytes) -> Any:
            heard.append(data.decode())
            return hashlib.sha256(data)

    kept, sending.hashlib = sending.hashlib, Hashes
    try:
        sending.fingerprint(estimate)
    finally:
        sending.hashlib = kept
    return heard[0]
