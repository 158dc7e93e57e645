"""The drawings of an outlook: what drawn jobs come to, and what past ones came to."""

from collections.abc import Callable

from django.urls import reverse

from jobs.models import Job
from jobs.queries.learned import SetOutlook
from jobs.queries.learned.past import Finished, alike_by
from shop.models import Profile
from shop.paper.charts import BarChart, BarSeries, Spot, Strip, StripChart
from shop.paper.charts.sums import exact_sums, round_sums

A_BAR = 2
"""Bins of the forecast that one bar shows: twenty columns are more than a phone can bear."""


def price_chart(found: SetOutlook, profile: Profile) -> BarChart:
    """How many of 100 sets come to how much; what lies outside the range is hatched otherwise."""
    told = found.outlook
    write = round_sums(profile.currency, profile.locale, [one.to_minor for one in told.bins])
    bars = [told.bins[start : start + A_BAR] for start in range(0, len(told.bins), A_BAR)]
    inside, outside = [], []
    for bar in bars:
        middle = (bar[0].from_minor + bar[-1].to_minor) / 2
        share = 100 * sum(one.share for one in bar)
        is_inside = told.low_minor <= middle <= told.high_minor
        inside.append(share if is_inside else None)
        outside.append(None if is_inside else share)
    return BarChart(
        "What such a set may come to, with tax",
        "From",
        "sets of 100",
        [write(bar[0].from_minor) for bar in bars],
        [BarSeries("within the range of 8 in 10", inside, "sets"), BarSeries("beyond it", outside, "sets", 2)],
        write=lambda value: f"{value:.0f}",
        upright=True,
    )


def past_chart(found: SetOutlook, job: Job, profile: Profile) -> StripChart:
    """Jobs that are done, a dot a job, under the range that this set is expected in."""
    came_to = [one for one in found.lesson.jobs if one.came_to_minor and one.pk != job.pk]
    write = exact_sums(profile.currency, profile.locale)
    band = (float(found.outlook.low_minor), float(found.outlook.high_minor))
    own = [one for one in came_to if one.model_pk == job.radio.model_id]
    alike = [one for one in came_to if one.alike == alike_by(job) and one.model_pk != job.radio.model_id]
    rest = [one for one in came_to if one not in own and one not in alike]
    rows = (("sets of this model", own), ("same supply and age", alike), ("all other sets", rest))
    strips = [Strip(label, [_spot(one, write) for one in jobs], band, _counted(jobs)) for label, jobs in rows if jobs]
    highest = max([band[1], *(float(one.came_to_minor or 0) for one in came_to)])
    whole = round_sums(profile.currency, profile.locale, [highest])
    return StripChart(
        "What your finished jobs came to, beside the range for this set",
        "Sets",
        "the customer paid, with tax",
        strips,
        span=(0.0, highest * 1.05),
        write=whole,
        band_name="the range",
        empty="No job is finished yet that this set could be held against.",
    )


def _spot(one: Finished, write: Callable[[float], str]) -> Spot:
    came_to = one.came_to_minor or 0
    return Spot(float(came_to), f"{one.number}, {one.model}: {write(came_to)}", reverse("jobs:job", args=[one.pk]))


def _counted(jobs: list[Finished]) -> str:
    return f"{len(jobs)} job{'' if len(jobs) == 1 else 's'}"
