"""Reading estimates: totals of both ends of the range, and the private link."""

import hashlib
from datetime import datetime
from decimal import Decimal

from jobs.models import ApprovalLink, Estimate, EstimateLine
from jobs.models.estimate import EstimateState
from jobs.queries.exposure import tax_key
from shop.models import TaxRounding
from shop.totals import Line, Totals, total


def estimate_totals(estimate: Estimate, lines: list[EstimateLine] | None = None) -> tuple[Totals, Totals]:
    """Totals of the low and the high end."""
    listed = list(estimate.lines.all()) if lines is None else lines
    per_line = estimate.tax_rounding == TaxRounding.LINE

    def reckon(end: str) -> Totals:
        rows = [Line(Decimal(1), Decimal(getattr(line, end)), tax_key(line.tax_bp)) for line in listed]
        return total(rows, prices_include_tax=estimate.prices_include_tax, round_per_line=per_line)

    return reckon("low_minor"), reckon("high_minor")


def link_for(token: str, at: datetime) -> ApprovalLink | None:
    """The live link behind a token, or None for whatever reason it isn't good: all bad links look the same from outside."""
    hashed = hashlib.sha256(token.encode(errors="replace")).hexdigest()
    link = ApprovalLink.objects.select_related("estimate__job__radio__model", "estimate__job__customer").filter(token_hash=hashed).first()
    if link is None or link.revoked_at is not None or link.expires_at <= at:
        return None
    return link if link.estimate.state in (EstimateState.SENT, EstimateState.AGREED, EstimateState.DECLINED) else None
