"""What the shop bears itself on a job that came back: the newest decision on its claim, place by place."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from jobs.models import Claim, ClaimAnswer, ClaimDecision, CoveredPlace, Job, Position

BORNE_BY_US = " % borne by us: "


@dataclass(frozen=True, slots=True)
class Share:
    """`percent` of a price that isn't charged, and the reason as the bill prints it."""

    percent: int
    reason: str

    @property
    def is_all(self) -> bool:
        return self.percent == 100

    @property
    def words(self) -> str:
        """As it stands beside a lowered price: `50 % borne by us: warranty of job J-2026-0004`."""
        return f"{self.percent}{BORNE_BY_US}{self.reason}"

    def left_of(self, minor: int) -> int:
        """What is still charged, rounded in the customer's favour."""
        return minor * (100 - self.percent) // 100


@dataclass(frozen=True, slots=True)
class Borne:
    """`places` by key of the position, None for the work. `wholly`: all of the job is covered, so it needs no estimate."""

    wholly: bool = False
    places: Mapping[int | None, Share] = field(default_factory=dict)

    def at(self, position: Position | None) -> Share | None:
        return self.places.get(position.pk if position else None)

    @property
    def work(self) -> Share | None:
        return self.places.get(None)


NOTHING = Borne()


def newest_decision(job: Job) -> ClaimDecision | None:
    """The decision that counts; None where the job is no claim, or nothing is decided."""
    if job.warranty_of_id is None:
        return None
    claim = Claim.objects.filter(job=job).first()
    return claim.decisions.order_by("-pk").first() if claim else None  # type: ignore[attr-defined, no-any-return]


def borne_on(job: Job) -> Borne:
    """No query for a job that is no claim."""
    decision = newest_decision(job)
    if decision is None:
        return NOTHING
    places = CoveredPlace.objects.filter(decision=decision)
    shares = {one.position_id: Share(one.share_percent, one.reason) for one in places}
    return Borne(decision.decided == ClaimAnswer.COVERED, shares)
