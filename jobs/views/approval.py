"""The customer's private page: read the estimate, answer it. No signing in; a link that isn't good says nothing but that."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from jobs.documents.estimate_data import NOT_INCLUDED
from jobs.forms.consents import AgreeForm, ApprovalForm, DeclineForm
from jobs.models import ApprovalLink
from jobs.models.estimate import ConsentAnswer, ConsentHow
from jobs.queries.estimates import Version, link_for, version_of
from jobs.queries.evidence import photo_shown
from jobs.queries.revisions import revision_of
from jobs.services.consents import Answer, answer_by_link
from shop import acts
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile
from shop.money import show
from shop.place import rules_of
from shop.web.pages import go
from shop.web.picture import LEAVES, picture_answer
from shop.web.private import note_bad_link, private


@login_not_required
@private("GET", "HEAD", "POST")
def approve(request: HttpRequest, token: str) -> HttpResponse:
    """Looking decides nothing; only a sent form does. Whatever is wrong with a link, the answer is one and the same page."""
    link = link_for(token, now())
    if link is None:
        return _dead(request)
    if request.method == "POST":
        return _answer(request, token, link)
    return _page(request, token, link)


@login_not_required
@private("GET", "HEAD")
def approve_photo(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    """A photo that the version behind this link shows as evidence. Any other picture, like any other link, isn't there."""
    link = link_for(token, now())
    photo = photo_shown(link.estimate, pk) if link else None
    if photo is None:
        return _dead(request)
    return picture_answer(request, photo.image, "middle", LEAVES)


@login_not_required
@private("GET", "HEAD", "POST")
def approve_nothing(request: HttpRequest, rest: str) -> HttpResponse:
    """An address that only looks like a private one, such as one that broke in an e-mail."""
    return _dead(request)


def _dead(request: HttpRequest) -> HttpResponse:
    note_bad_link(request, "estimate", at=now())
    return render(request, "jobs/approval_dead.html", status=404)


def _up_to(version: Version) -> str:
    profile = Profile.current()
    return show(version.high.gross_minor, version.estimate.currency, profile.locale if profile else "en_GB")


def _agree_form(version: Version, data: QueryDict | None = None, **more: Any) -> AgreeForm:
    profile = Profile.current()
    locale = profile.locale if profile else "en_GB"
    rules = rules_of(profile)
    return AgreeForm(data, prefix="agree", rules=rules, up_to=_up_to(version), choices=version.choices, locale=locale, **more)


def _page(request: HttpRequest, token: str, link: ApprovalLink, sent: ApprovalForm | None = None) -> HttpResponse:
    version = version_of(link.estimate, now())
    hidden = {"digest": link.estimate.digest}
    agree = _agree_form(version, initial={**hidden, "answer": ConsentAnswer.AGREED})
    decline = DeclineForm(prefix="decline", initial={**hidden, "answer": ConsentAnswer.DECLINED})
    context = {
        "version": version,
        "estimate": link.estimate,
        "job": link.estimate.job,
        "agree": sent if isinstance(sent, AgreeForm) else agree,
        "decline": sent if isinstance(sent, DeclineForm) else decline,
        "sent": sent,
        "token": token,
        "revision": revision_of(link.estimate),
        "not_included": NOT_INCLUDED,
        "rules": rules_of(Profile.current()),
    }
    return render(request, "jobs/approval.html", context, status=sent.status if sent else 200)


def _sent_form(request: HttpRequest, link: ApprovalLink) -> ApprovalForm:
    if "decline-digest" in request.POST:
        return DeclineForm(request.POST, prefix="decline")
    return _agree_form(version_of(link.estimate, now()), request.POST)


def _answer(request: HttpRequest, token: str, link: ApprovalLink) -> HttpResponse:
    form = _sent_form(request, link)
    if not form.is_valid():
        return _page(request, token, link, form)
    data = form.cleaned_data
    # Which of the two forms came decides, not the value a stranger may have put into it.
    tier, begin = data.get("tier") or 0, data.get("begin_at_once", False)
    answer = Answer(
        isinstance(form, AgreeForm), ConsentHow.LINK, data["who"], note=data.get("note", ""), tier=tier, begin_at_once=begin
    )
    address = reverse("approve", args=[token])

    def work() -> str:
        answer_by_link(link, answer, at=now(), digest=data["digest"])
        # The once-mark must not keep the address: it holds the token.
        return link.estimate.job.number

    try:
        acts.once(data["once"], "answer by link", work)
    except Stale as stale:
        if stale.code != "changed":
            return go(request, address)  # answered, replaced or dead meanwhile: the page itself says which may be said
        form.take_refusal(stale)
        return _page(request, token, link, form)
    except Refused as refused:
        form.take_refusal(refused)
        return _page(request, token, link, form)
    return go(request, address)
