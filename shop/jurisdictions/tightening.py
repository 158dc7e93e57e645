"""A shop may hold itself to more than the rules of its place want, never to less.

`tightened` is plain data as a profile keeps it: `allowance_bp`, `retention_years`, `wait_days`, `notice_days` (whole numbers) and
`consent` (codes beyond those of the place). What isn't stricter than the place's rule has no effect.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from shop.jurisdictions import codes
from shop.jurisdictions.loading import place
from shop.jurisdictions.rules import Rules

LONGEST_YEARS = 50
LONGEST_DAYS = 3650


class TooLoose(ValueError):
    """`key` of `tightened` would be looser than the place's rule; the text says what holds and what to do."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key = key


def _whole(tightened: Mapping[str, Any], key: str) -> int | None:
    value = tightened.get(key)
    return value if type(value) is int and value >= 0 else None


def effective(code: str, tightened: Mapping[str, Any]) -> Rules:
    """The rules a shop works by: of each the stricter of the place's and its own."""
    rules = place(code)
    most, wished = rules.overrun.allowance_bp, _whole(tightened, "allowance_bp")
    least = [figure for figure in (most, wished) if figure is not None]
    clock = rules.uncollected
    extra = [one for one in tightened.get("consent", ()) if one in codes.CONSENT and one not in rules.consent.codes]
    return replace(
        rules,
        overrun=replace(rules.overrun, allowance_bp=min(least) if least else None),
        consent=replace(rules.consent, codes=(*rules.consent.codes, *extra)),
        retention=replace(rules.retention, years=max(rules.retention.years, _whole(tightened, "retention_years") or 0)),
        uncollected=replace(
            clock,
            wait_days=max(clock.wait_days, _whole(tightened, "wait_days") or 0),
            notice_days=max(clock.notice_days, _whole(tightened, "notice_days") or 0),
        ),
    )


def tightened_by(code: str, wished: Mapping[str, Any]) -> dict[str, Any]:
    """`wished` as it is kept: only what is stricter than the place. TooLoose for a figure that loosens a rule."""
    rules, kept = place(code), {}
    most, allowance = rules.overrun.allowance_bp, _whole(wished, "allowance_bp")
    if most is not None and allowance is not None and allowance > most:
        raise TooLoose(
            "allowance_bp",
            f"{rules.name} allows {most / 100:g} % above the agreed sum; a shop may hold itself to less, not to more.",
        )
    if allowance is not None and allowance != most:
        kept["allowance_bp"] = allowance
    clock = rules.uncollected
    for key, floor, what in (
        ("retention_years", rules.retention.years, "years for which records are kept"),
        ("wait_days", clock.wait_days, "days before a notice of sale"),
        ("notice_days", clock.notice_days, "days from the notice to the day it names"),
    ):
        figure = _whole(wished, key)
        if figure is not None and figure < floor:
            raise TooLoose(key, f"{rules.name} wants at least {floor} {what}; a shop may take more, not fewer.")
        if figure is not None and figure != floor:
            kept[key] = figure
    extra = sorted(one for one in wished.get("consent", ()) if one in codes.CONSENT and one not in rules.consent.codes)
    return {**kept, **({"consent": extra} if extra else {})}
