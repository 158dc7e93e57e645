"""What the counter's papers print: claim check and tag, filled from a job."""

from django.utils import timezone
from moneyed import Money

from jobs.documents.claim_check import ClaimCheck, Permission
from jobs.documents.facts import Counted, SetFacts
from jobs.documents.tag import Tag
from jobs.models import Job, RadioSet
from jobs.models.estimate import ConsentAnswer
from shop.letterhead_of import address_lines, letterhead
from shop.models import Customer, Profile
from shop.money import as_money
from shop.paper import Party

PERMISSIONS = (
    ("may_drill", "Drill the chassis or cabinet"),
    ("may_rewire", "Rewire"),
    ("may_fit_polarised_plug", "Fit a polarised plug"),
    ("may_fit_fuse", "Add a fuse"),
)


def party_of(customer: Customer) -> Party:
    return Party(customer.name, address_lines(customer.address), customer.phone, customer.email)


def set_facts_of(radio: RadioSet) -> SetFacts:
    """The set as papers name it; its own line-up and year where they were noted, otherwise the model's."""
    model = radio.model
    return SetFacts(
        maker=model.maker,
        model=model.name,
        serial=radio.serial,
        year=radio.year or model.year,
        supply=model.get_supply_kind_display(),
        lineup=radio.lineup or model.lineup,
    )


def deposit_of(job: Job) -> int:
    """Minor units taken as deposit and not given back."""
    return sum(-one.amount_minor if one.given_back else one.amount_minor for one in job.deposits.all())  # type: ignore[attr-defined]


def inspection_fee_of(job: Job) -> int:
    """Minor units that may be charged before an estimate is agreed to, as told at the counter; 0 where nothing was."""
    agreed = job.consents.filter(estimate__isnull=True, answer=ConsentAnswer.AGREED).first()  # type: ignore[attr-defined]
    return max(agreed.ceiling_minor - job.decline_fee_minor, 0) if agreed else 0


def _sum(minor: int, currency: str) -> Money | None:
    return as_money(minor, currency) if minor else None


def claim_check_of(job: Job, job_url: str) -> ClaimCheck:
    """`job_url` is absolute: the QR code carries it."""
    profile = Profile.current()
    head = letterhead(profile)
    return ClaimCheck(
        letterhead=head,
        job_number=job.number,
        taken_in_at=timezone.localtime(job.taken_in_at),
        received_by=str(job.taken_in_by),
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        fault=job.fault,
        goal=job.get_goal_display(),
        job_url=job_url,
        cabinet=job.cabinet,
        came_with=tuple(Counted(thing.what, thing.count) for thing in job.came_with.all()),  # type: ignore[attr-defined]
        permissions=tuple(Permission(what, getattr(job, name)) for name, what in PERMISSIONS),
        old_parts_back=job.old_parts_back,
        photos=job.get_photo_consent_display() if job.photo_consent else "",
        deposit=_sum(deposit_of(job), head.currency),
        inspection_fee=_sum(inspection_fee_of(job), head.currency),
        minimum_fee=_sum(job.minimum_fee_minor, head.currency),
        decline_fee=_sum(job.decline_fee_minor, head.currency),
        promised_on=job.promised_on,
        terms=profile.terms if profile else "",
    )


def tag_of(job: Job, job_url: str) -> Tag:
    head, radio = letterhead(), job.radio
    return Tag(
        shop_name=head.shop_name,
        job_number=job.number,
        customer_short=job.customer.name,
        set_line=", ".join(word for word in (str(radio.model), radio.serial) if word),
        job_url=job_url,
        taken_in_on=timezone.localdate(job.taken_in_at),
        promised_on=job.promised_on,
        stands_at=job.stands_at,
        transformerless=job.is_transformerless,
        locale=head.locale,
    )
