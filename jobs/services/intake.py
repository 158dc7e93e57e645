"""Taking a set in: customer, set and job in one act."""

from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction
from django.utils.timezone import localdate

from jobs.models import CameWith, Goal, Job, JobAct, Moment, PhotoConsent, RadioModel, RadioSet, SetClass, Stage
from jobs.models.estimate import ConsentHow
from jobs.services.called_for import copy_to_job
from jobs.services.claims import open_claim
from jobs.services.consents import Answer, agree_sum, take_deposit
from jobs.services.log import profile
from jobs.services.photos import add_photo
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.customers import CustomerFacts, add_customer
from shop.models import Customer, Staff
from shop.money import show
from shop.numbers import next_number
from shop.pictures import Picture

EARLIEST_YEAR = 1895


@dataclass(frozen=True, slots=True)
class SetFacts:
    """The set as the counter writes it down. Maker and model meet an existing model under any spelling of case and accents."""

    maker: str
    model: str
    supply_kind: str
    serial: str = ""
    year: int | None = None
    lineup: str = ""


@dataclass(frozen=True, slots=True)
class ModelFacts:
    """A maker's design, as the shop keeps it for all its sets."""

    maker: str
    name: str
    supply_kind: str
    year: int | None = None
    lineup: str = ""
    traps: str = ""
    set_class: SetClass | None = None


@dataclass(frozen=True, slots=True)
class JobFacts:
    fault: str
    goal: str = Goal.WORKING
    cabinet: str = ""
    came_with: tuple[tuple[str, int], ...] = ()
    may_drill: bool = False
    may_rewire: bool = False
    may_fit_polarised_plug: bool = False
    may_fit_fuse: bool = False
    old_parts_back: bool = False
    photo_consent: str = PhotoConsent.UNASKED
    promised_on: date | None = None
    stands_at: str = ""
    warranty_of: Job | None = None


@dataclass(frozen=True, slots=True)
class Intake:
    """Everything the intake page sends. `customer` and `radio` are given when they are known already."""

    job: JobFacts
    customer: Customer | None = None
    new_customer: CustomerFacts | None = None
    radio: RadioSet | None = None
    new_set: SetFacts | None = None
    deposit_minor: int = 0
    deposit_how: str = ""
    inspection_fee_minor: int = 0
    minimum_fee_minor: int = 0
    decline_fee_minor: int = 0
    photos: tuple[Picture, ...] = field(default=(), repr=False)


@transaction.atomic
def take_in(intake: Intake, *, person: Staff, at: datetime) -> Job:
    """Take in a set. The called-for list of its model is copied to the job, so the second set of a model starts with it typed."""
    customer = intake.customer or _new_customer(intake, at)
    if customer.erased_at is not None:
        raise Refused("What this card said was erased. Write a new card for whoever brings the set.", field="customer")
    radio = intake.radio or _new_set(intake, customer)
    if radio.customer_id != customer.pk:
        raise Refused("This set belongs to another customer. Choose the set again.", field="radio")
    if not intake.job.fault.strip():
        raise Refused("Write the fault in the customer's own words.", field="fault")
    _check_set_is_out(radio)
    job = Job.objects.create(
        number=str(next_number("J", at.year)),
        radio=radio,
        customer=customer,
        stage=Stage.TAKEN_IN,
        taken_in_at=at,
        taken_in_by=person,
        minimum_fee_minor=intake.minimum_fee_minor,
        decline_fee_minor=intake.decline_fee_minor,
        **_job_values(intake.job, at),
    )
    JobAct.objects.create(job=job, act="take_in", to_stage=Stage.TAKEN_IN, at=at, person=person)
    CameWith.objects.bulk_create([CameWith(job=job, what=what[:80], count=count) for what, count in intake.job.came_with])
    copy_to_job(job)
    if intake.job.warranty_of is not None:
        open_claim(job, intake.job.warranty_of, claimed_on=localdate(at), person=person, at=at)
    _money(job, intake, customer, person, at)
    for picture in intake.photos:
        add_photo(job, picture, person=person, at=at, caption="at intake", moment=Moment.FOUND)
    return job


def _new_customer(intake: Intake, at: datetime) -> Customer:
    if intake.new_customer is None:
        raise Refused("Choose the customer, or enter a new one.", field="customer")
    return add_customer(intake.new_customer, at=at)


def _new_set(intake: Intake, customer: Customer) -> RadioSet:
    facts = intake.new_set
    if facts is None:
        raise Refused("Choose the set, or enter a new one.", field="radio")
    if not facts.maker.strip() or not facts.model.strip():
        raise Refused("Write the maker and the model; “unknown” will do.", field="maker" if not facts.maker.strip() else "model")
    model = model_named(facts)
    return RadioSet.objects.create(
        customer=customer, model=model, serial=facts.serial[:60], year=facts.year, lineup=facts.lineup[:300]
    )


def model_named(facts: SetFacts) -> RadioModel:
    defaults = {
        "maker": facts.maker.strip()[:80],
        "name": facts.model.strip()[:80],
        "year": facts.year,
        "supply_kind": facts.supply_kind,
        "lineup": facts.lineup[:300],
    }
    model, _ = RadioModel.objects.get_or_create(key=RadioModel.key_of(facts.maker, facts.model), defaults=defaults)
    return model


def _check_set_is_out(radio: RadioSet) -> None:
    RadioSet.objects.select_for_update().get(pk=radio.pk)
    here = radio.jobs.open().first()  # type: ignore[attr-defined]
    if here is not None:
        raise Refused(f"This set is in the workshop already, as job {here.number}.", field="radio")


def _job_values(facts: JobFacts, at: datetime) -> dict[str, object]:
    if facts.promised_on is not None and facts.promised_on < at.date():
        raise Refused("The promised date has passed already.", field="promised_on")
    return {
        "fault": facts.fault.strip(),
        "goal": facts.goal,
        "cabinet": facts.cabinet[:300],
        "may_drill": facts.may_drill,
        "may_rewire": facts.may_rewire,
        "may_fit_polarised_plug": facts.may_fit_polarised_plug,
        "may_fit_fuse": facts.may_fit_fuse,
        "old_parts_back": facts.old_parts_back,
        "photo_consent": facts.photo_consent,
        "promised_on": facts.promised_on,
        "stands_at": facts.stands_at[:80],
        "warranty_of": facts.warranty_of,
    }


def _money(job: Job, intake: Intake, customer: Customer, person: Staff, at: datetime) -> None:
    if intake.deposit_minor:
        take_deposit(job, intake.deposit_minor, intake.deposit_how, person=person, at=at)
    agreed_minor = max(intake.inspection_fee_minor, intake.minimum_fee_minor) + intake.decline_fee_minor
    if agreed_minor:
        spoken = Answer(True, ConsentHow.IN_PERSON, customer.name, person=person)
        agree_sum(job, agreed_minor, _fee_words(intake), spoken, at=at)


def _fee_words(intake: Intake) -> str:
    """What the fees agreed at the counter are for. Inspection counts towards the minimum; the fee for declining stands beside."""
    terms = profile()

    def told(minor: int) -> str:
        return show(minor, terms.currency, terms.locale)

    words = ["inspection fee agreed at the counter"] if intake.inspection_fee_minor else ["agreed at the counter"]
    if intake.inspection_fee_minor and (intake.minimum_fee_minor or intake.decline_fee_minor):
        words = [f"agreed at the counter: inspection up to {told(intake.inspection_fee_minor)}"]
    if intake.minimum_fee_minor:
        words.append(f"at least {told(intake.minimum_fee_minor)} for the bench, credited to the work")
    if intake.decline_fee_minor:
        words.append(f"{told(intake.decline_fee_minor)} more if the estimate is declined")
    return "; ".join(words)


@transaction.atomic
def change_job(job: Job, facts: JobFacts, *, seen: int, at: datetime) -> Job:
    """Correct what was written at intake. Two people can't overwrite each other: the second is told."""
    current = open_job(job, seen)
    if not facts.fault.strip():
        raise Refused("Write the fault in the customer's own words.", field="fault")
    keep_promise = facts.promised_on == current.promised_on
    values = _job_values(facts, at if not keep_promise else datetime.min.replace(tzinfo=at.tzinfo))
    values.pop("warranty_of")
    for name, value in values.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    current.came_with.all().delete()
    CameWith.objects.bulk_create([CameWith(job=current, what=what[:80], count=count) for what, count in facts.came_with])
    return current


@transaction.atomic
def change_set(radio: RadioSet, facts: SetFacts, *, seen: int) -> RadioSet:
    """Correct a set's data. A changed maker or model moves the set to that model; jobs keep the positions they have."""
    current = RadioSet.objects.select_for_update().get(pk=radio.pk)
    if current.version != seen:
        raise Stale("The set was changed by somebody else since you opened it. Compare, then send again.")
    current.model = model_named(facts)
    current.serial, current.year, current.lineup = facts.serial[:60], facts.year, facts.lineup[:300]
    current.version += 1
    current.save()
    return current


@transaction.atomic
def add_model(facts: ModelFacts) -> RadioModel:
    """A model written down before the first set of it comes in."""
    return _keep_model(RadioModel(version=0), facts)


@transaction.atomic
def change_model(model: RadioModel, facts: ModelFacts, *, seen: int) -> RadioModel:
    current = RadioModel.objects.select_for_update().get(pk=model.pk)
    if current.version != seen:
        raise Stale("The model was changed by somebody else since you opened it. Compare, then send again.")
    return _keep_model(current, facts)


def _keep_model(model: RadioModel, facts: ModelFacts) -> RadioModel:
    if not facts.maker.strip() or not facts.name.strip():
        raise Refused("Write the maker and the model.", field="maker" if not facts.maker.strip() else "name")
    other = RadioModel.objects.filter(key=RadioModel.key_of(facts.maker, facts.name)).exclude(pk=model.pk).first()
    if other is not None:
        raise Refused(f"{other} is written down already. Open that model, or give this one another name.", field="name")
    model.maker, model.name, model.year = facts.maker.strip()[:80], facts.name.strip()[:80], facts.year
    model.supply_kind, model.lineup, model.traps = facts.supply_kind, facts.lineup.strip()[:300], facts.traps.strip()
    model.set_class = facts.set_class
    model.version += 1
    model.save()
    return model
