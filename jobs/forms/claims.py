"""Forms of a set that came back: that it is a claim, what was found, what is decided."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from jobs.forms.entries import Remembering
from jobs.models import Cause, Claim, ClaimAnswer, ClaimFinding, Job, LogEntry, Position, SameFault, Warranty, WarrantyLine
from jobs.queries.claim_case import lines_of, place_of
from jobs.queries.claims import Judged
from jobs.queries.sheet import Sheet, in_words, standing
from jobs.services.claim_decisions import Decided
from jobs.services.claims import FindingFacts, void_rules_of
from shop.web.forms import DayField, SeenForm

WORK = "share_work"
SAME_WORDS = {
    SameFault.YES: "Yes: the fault that was repaired",
    SameFault.NO: "No: another fault",
    SameFault.UNSURE: "It can't be told yet",
}


class OpenClaimForm(Remembering):
    """Under the warranty of which earlier job of the set, and since when it is claimed."""

    warranty = forms.ChoiceField(label="Under the warranty of")
    claimed_on = DayField(label="Claimed on", help_text="The day the customer told you; it counts against the last day of cover.")

    def __init__(self, *args: Any, warranties: Sequence[Warranty], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {str(one.pk): one for one in warranties}
        listed = [(key, f"job {one.job.number}, began on {one.starts_on:%d %b %Y}") for key, one in self.known.items()]
        self.fields["warranty"].choices = listed  # type: ignore[attr-defined]

    def earlier(self) -> Job:
        return self.known[self.cleaned_data["warranty"]].job


class FindingForm(Remembering):
    """One thing found. What is chosen comes from the claim's own warranty and from this job's own log."""

    text = forms.CharField(
        label="What was found", max_length=300, help_text="In a few words: it leaks when warm; a joint was cold; dropped."
    )
    position = forms.ChoiceField(label="At which position", required=False)
    line = forms.ChoiceField(
        label="Which line of the warranty is it about",
        required=False,
        help_text="Left empty, it is the line at that position, if there is just one.",
    )
    same_fault = forms.ChoiceField(
        label="Is it the fault that was repaired?",
        choices=[(one, words) for one, words in SAME_WORDS.items()],
        initial=SameFault.UNSURE,
        widget=forms.RadioSelect,
    )
    cause = forms.ChoiceField(label="Why it came back", choices=Cause.choices, initial=Cause.UNKNOWN)
    void_rule = forms.ChoiceField(label="Has something happened that ends the cover?", required=False)
    entry = forms.ChoiceField(label="Which entry of this job's log shows it", required=False)

    def __init__(self, *args: Any, claim: Claim, sheet: Sheet, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = {str(one.pk): one for one in lines_of(claim)}
        self.positions = {str(row.position.pk): row.position for row in sheet.rows}
        self.entries = {str(one.pk): one for one in standing(sheet.entries)}
        designators = {position.pk: position.designator for position in self.positions.values()}
        self._offer("position", "the set as a whole", {key: one.designator for key, one in self.positions.items()})
        self._offer("line", "none named", {key: _line_words(one) for key, one in self.lines.items()})
        self._offer("void_rule", "no, as far as can be seen", {rule: rule for rule in void_rules_of(claim.warranty)})
        shown = {key: _entry_words(one, designators) for key, one in self.entries.items()}
        self._offer("entry", "none yet", dict(reversed(shown.items())))

    def _offer(self, field: str, nothing: str, words: Mapping[str, str]) -> None:
        self.fields[field].choices = [("", nothing), *words.items()]  # type: ignore[attr-defined]

    def facts(self) -> FindingFacts:
        typed = self.cleaned_data
        return FindingFacts(
            typed["text"],
            typed["same_fault"],
            typed["cause"],
            self.lines.get(typed["line"]),
            self.positions.get(typed["position"]),
            self.entries.get(typed["entry"]),
            typed["void_rule"],
        )


def _line_words(line: WarrantyLine) -> str:
    place = place_of(line)
    text = line.text.removeprefix(f"{place}: ")
    until = f"covered to {line.until_on:%d %b %Y}" if line.covered and line.until_on else "not covered"
    return f"{place}: {text} ({until})" if place else f"{text} ({until})"


def _entry_words(entry: LogEntry, designators: Mapping[int, str]) -> str:
    place = f"{designators.get(entry.position_id, '')}, " if entry.position_id else ""
    return f"no. {entry.seq}: {place}{in_words(entry)}"[:120]


def finding_values(finding: ClaimFinding) -> dict[str, object]:
    """What a correction starts with."""
    keys = {name: getattr(finding, f"{name}_id") or "" for name in ("position", "line", "entry")}
    return {**keys, **{name: getattr(finding, name) for name in ("text", "same_fault", "cause", "void_rule")}}


class DecideForm(Remembering, SeenForm):
    """A person's decision; the shares count only where it is partly covered."""

    answer = forms.ChoiceField(label="It is", choices=ClaimAnswer.choices, widget=forms.RadioSelect)
    goodwill = forms.BooleanField(label="Goodwill: the shop bears what it doesn't owe", required=False)
    why = forms.CharField(
        label="Why",
        max_length=300,
        required=False,
        help_text="Where it is decided otherwise than proposed, before all is known, or as goodwill. The customer reads it.",
    )

    def __init__(self, *args: Any, judged: Judged, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places: dict[str, Position] = {
            f"share_{one.position.pk}": one.position for one in judged.findings if one.position is not None
        }
        proposed = {one.designator: one.share for one in judged.proposal.places}
        for name, position in self.places.items():
            self._ask(name, f"The shop bears at {position.designator}", proposed.get(position.designator, 0))
        if judged.findings:
            self._ask(WORK, "The shop bears of the work", proposed.get("", 0))

    def _ask(self, name: str, label: str, proposed: int) -> None:
        self.fields[name] = forms.IntegerField(label=label, min_value=0, max_value=100, required=False)
        self.initial.setdefault(name, proposed)

    def share_fields(self) -> list[Any]:
        return [self[name] for name in self.fields if name.startswith("share_")]

    def decided(self) -> Decided:
        typed = self.cleaned_data
        shares: dict[int | None, int] = {position.pk: typed.get(name) or 0 for name, position in self.places.items()}
        shares[None] = typed.get(WORK) or 0
        return Decided(typed["answer"], typed["why"], typed["goodwill"], shares)
