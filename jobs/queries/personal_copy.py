"""What jobs hold of a customer, as plain data for a copy: keys in English, days and moments ISO 8601, sums as decimal texts.

People of the shop stand as their role; nothing in it is about another customer.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.utils import timezone

from jobs.models import (
    BadLotLetter,
    Claim,
    CollectionNotice,
    DisputeStep,
    Estimate,
    HandOver,
    Job,
    NoticeService,
    Photo,
    RadioSet,
    SafetyCheck,
    Stage,
    Warranty,
    WarrantyTransfer,
)
from jobs.queries.sheet import in_words
from shop.models import Customer, Staff
from shop.money import plain

Data = dict[str, Any]


def role_of(person: Staff | None) -> str:
    """Who of the shop did something; None is the customer by the private link."""
    return str(person.role) if person is not None else "customer"


def moment(at: datetime | None) -> str | None:
    return timezone.localtime(at).isoformat(timespec="seconds") if at else None


def sets_held(customer: Customer) -> list[Data]:
    rows = RadioSet.objects.filter(customer=customer).select_related("model").order_by("pk")
    return [
        {
            "maker": one.model.maker,
            "model": one.model.name,
            "serial": one.serial,
            "year": one.year,
            "lineup": one.lineup,
            "note": one.note,
        }
        for one in rows
    ]


def jobs_of(customer: Customer) -> list[Job]:
    return list(Job.objects.filter(customer=customer).with_heads().order_by("pk"))


def job_held(job: Job, currency: str) -> Data:
    """One stay of a set in the workshop, with everything that was written of it."""
    return {
        "number": job.number,
        "set": str(job.radio),
        "stage": job.get_stage_display(),
        "taken_in_at": moment(job.taken_in_at),
        "fault": job.fault,
        "goal": job.get_goal_display(),
        "cabinet": job.cabinet,
        "came_with": [{"what": one.what, "count": one.count} for one in job.came_with.all()],  # type: ignore[attr-defined]
        "allowed": {
            "drill": job.may_drill,
            "rewire": job.may_rewire,
            "polarised_plug": job.may_fit_polarised_plug,
            "fuse": job.may_fit_fuse,
            "old_parts_back": job.old_parts_back,
            "photos": job.get_photo_consent_display(),
        },
        "promised_on": _day(job.promised_on),
        "stands_at": job.stands_at,
        "waits_for": ": ".join(word for word in (job.waits_for, job.waits_note) if word),
        "acts": [_act(one) for one in job.acts.select_related("person").order_by("pk")],  # type: ignore[attr-defined]
        "log": [_entry(one) for one in _log(job)],
        "labour": [_labour(one, currency) for one in job.labour.order_by("pk") if not one.withdrawn],  # type: ignore[attr-defined]
        "estimates": [_estimate(one) for one in _estimates(job)],
        "answers": [_consent(one, currency) for one in job.consents.select_related("person").order_by("pk")],  # type: ignore[attr-defined]
        "deposits": [_deposit(one, currency) for one in job.deposits.order_by("pk")],  # type: ignore[attr-defined]
        "safety_checks": [_check(one) for one in SafetyCheck.objects.filter(job=job).order_by("pk")],
        "photos": [_photo(one) for one in Photo.objects.filter(job=job).select_related("position").order_by("pk")],
        "hand_over": next((_hand_over(one) for one in HandOver.objects.filter(job=job).select_related("job")), None),
        "warranty": next((_warranty(one) for one in Warranty.objects.filter(job=job)), None),
        "claim": next((_claim(one) for one in Claim.objects.filter(job=job).select_related("warranty__job")), None),
        "notices": [_notice(one) for one in CollectionNotice.objects.filter(job=job)],
        "disputes": [{"on": _day(one.on), "opens": one.opens, "text": one.text} for one in DisputeStep.objects.filter(job=job)],
        "letters": [_letter(one) for one in BadLotLetter.objects.filter(entry__job=job)],
    }


def _day(on: Any) -> str | None:
    return on.isoformat() if on else None


def _log(job: Job) -> Iterable[Any]:
    return job.entries.select_related("position", "person", "part").order_by("seq")  # type: ignore[attr-defined]


def _estimates(job: Job) -> Iterable[Estimate]:
    return job.estimates.prefetch_related("lines", "alternatives").order_by("number")  # type: ignore[attr-defined]


def _act(one: Any) -> Data:
    return {
        "act": one.act.replace("_", " "),
        "to": one.get_to_stage_display(),
        "at": moment(one.at),
        "by": role_of(one.person),
        "note": "" if one.act == "sell_uncollected" else one.note,
    }


def _entry(one: Any) -> Data:
    place = one.position.designator if one.position else ""
    return {"seq": one.seq, "position": place, "words": in_words(one), "at": moment(one.at), "by": role_of(one.person)}


def _labour(one: Any, currency: str) -> Data:
    charged = plain(one.billed_minor, currency)
    return {"step": one.get_step_display(), "on": _day(one.worked_on), "minutes": one.minutes, "charged": charged}


def _estimate(one: Estimate) -> Data:
    lines = [
        {"text": line.text, "from": plain(line.low_minor, one.currency), "to": plain(line.high_minor, one.currency)}
        for line in one.lines.all()  # type: ignore[attr-defined]
    ]
    offered = [
        {"name": way.name, "text": way.text, "to": plain(way.high_minor, one.currency)}
        for way in one.alternatives.all()  # type: ignore[attr-defined]
    ]
    return {
        "version": one.number,
        "state": one.get_state_display(),
        "sent_at": moment(one.sent_at),
        "currency": one.currency,
        "from": plain(one.low_minor, one.currency),
        "to": plain(one.high_minor, one.currency),
        "note": one.note,
        "because": one.because,
        "lines": lines,
        "alternatives": offered,
    }


def _consent(one: Any, currency: str) -> Data:
    return {
        "answer": one.get_answer_display(),
        "how": one.get_how_display(),
        "who": one.who,
        "number_called": one.number_called,
        "to_what": one.to_what,
        "up_to": plain(one.ceiling_minor, currency),
        "told_of_right_to_cancel": one.cancellation_told,
        "asked_to_begin_at_once": one.begin_at_once,
        "note": one.note,
        "at": moment(one.at),
        "taken_by": role_of(one.person),
    }


def _deposit(one: Any, currency: str) -> Data:
    sum_said = plain(one.amount_minor, currency)
    return {"sum": sum_said, "given_back": one.given_back, "how": one.get_how_display(), "at": moment(one.at)}


def _check(one: SafetyCheck) -> Data:
    return {"practice": one.practice, "passed": one.passed, "findings": one.findings, "at": moment(one.at)}


def _photo(one: Photo) -> Data:
    return {
        "file": photo_name(one) if one.image else None,
        "shows": one.get_moment_display(),
        "position": one.position.designator if one.position else "",
        "caption": one.caption,
        "at": moment(one.at),
        "sha256": one.digest,
        "set_aside": one.set_aside_why,
    }


def photo_name(photo: Photo) -> str:
    """The name of its file in the copy."""
    return f"photos/{photo.job.number}-{photo.pk}.jpg"


def _hand_over(one: HandOver) -> Data:
    """Who bought a set that nobody collected is somebody else's data (GDPR article 15(4))."""
    is_sold = one.job.stage == Stage.SOLD
    return {
        "kind": one.get_kind_display(),
        "received_by": "the buyer" if is_sold else one.received_by,
        "how_disabled": one.how_disabled,
        "money": one.money,
        "at": moment(one.at),
    }


def _warranty(one: Warranty) -> Data:
    lines = [
        {"text": line.text, "covered": line.covered, "until": _day(line.until_on), "note": line.note}
        for line in one.lines.all()  # type: ignore[attr-defined]
    ]
    moved = [{"on": _day(step.moved_on), "goes_along": step.goes_along, "note": step.note} for step in _moved(one)]
    return {"from": _day(one.starts_on), "lines": lines, "set_changed_hands": moved}


def _moved(warranty: Warranty) -> Iterable[WarrantyTransfer]:
    return WarrantyTransfer.objects.filter(warranty=warranty)


def _claim(one: Claim) -> Data:
    findings = [
        {"text": found.text, "cause": found.get_cause_display(), "same_fault": found.get_same_fault_display()}
        for found in one.findings.all()  # type: ignore[attr-defined]
        if not found.withdrawn
    ]
    decided = [
        {"answer": made.get_decided_display(), "goodwill": made.goodwill, "why": made.why, "at": moment(made.at)}
        for made in one.decisions.all()  # type: ignore[attr-defined]
    ]
    return {"on": _day(one.claimed_on), "warranty_of": one.warranty.job.number, "findings": findings, "decisions": decided}


def _notice(one: CollectionNotice) -> Data:
    proofs = [
        {"kind": step.get_kind_display(), "on": _day(step.on), "proof": step.proof}
        for step in NoticeService.objects.filter(notice=one)
    ]
    return {
        "kind": one.get_kind_display(),
        "sent_on": _day(one.sent_on),
        "how": one.how,
        "to_whom": one.to_whom,
        "names_day_on": _day(one.names_day_on),
        "note": one.note,
        "service": proofs,
    }


def _letter(one: BadLotLetter) -> Data:
    return {"sent_on": _day(one.sent_on), "how": one.how, "to_whom": one.to_whom, "answer": one.answer}
