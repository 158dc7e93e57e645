"""Readings of a valve tester. They are worth something only with the tester, its calibration and the day beside them."""

import re
from decimal import Decimal
from typing import Any

from inventory.components.tables import toml_table
from jobs.bench.readings import Judgement

_NUMBER = r"(\d{1,6}(?:[.,]\d{1,4})?)"
_WORDS = r"(?:tester|valve|tube|reads?|gm|emission|em|mutual conductance|transconductance|ma/v|µmho|umho|µs|ms|ma|:|=|\s)*"
_PERCENT = re.compile(rf"{_WORDS}{_NUMBER}\s*(?:%|per ?cent\b).*")
_MARK = re.compile(rf"{_WORDS}{_NUMBER}{_WORDS}[,;/(]?\s*(?:reject|minimum|min\.?|at least|limit){_WORDS}{_NUMBER}.*")
_OF_NEW = re.compile(rf"{_WORDS}{_NUMBER}{_WORDS}(?:of|/|for){_WORDS}{_NUMBER}.*")
_ALONE = re.compile(rf"{_WORDS}{_NUMBER}{_WORDS}")
# A fault that the tester did not show: "no shorts", "leak: none".
_ABSENT = re.compile(
    r"\b(?:no|not|without)\s+(?:shorts?|shorted|leaks?|leakage|leaky|gas|gassy)\b|\b(?:shorts?|leaks?|leakage|gas)\s*[:=]\s*(?:none|no|ok|0)\b"
)
_FAULTS = {
    "shorted": ("short", "shorts", "shorted", "heater cathode", "heater-cathode", "h-k", "k-h"),
    "open": ("open", "no emission", "dead", "burnt out", "burned out"),
    "leaky": ("gas", "gassy", "leak", "leaks", "leaky", "leakage"),
}
_WORN = (
    "not good",
    "no good",
    "not ok",
    "n.g.",
    "bad",
    "weak",
    "low",
    "poor",
    "tired",
    "worn",
    "reject",
    "rejects",
    "fail",
    "fails",
    "replace",
    "doubtful",
    "?",
)
_SOUND = ("good", "strong", "as new", "ok", "passes", "passed", "not bad")
WITH_WHAT = "A reading counts with its tester, the tester's calibration and the day: write them into the note."
HOW_TO = "Write the tester's reading like 72 %, 4.2 of 5.5, or 72, reject 60; or give the verdict by hand."


def judge_tester(text: str) -> Judgement:
    """The verdict of "72 %", "Gm 4.2 of 5.5", "72, reject 60", "weak", "heater-cathode short"; not measured where none follows.

    A fault that is named goes before any figure. Percent of a new one is held against the shop's reject figure (limits.toml), a
    reading against the tester's own reject mark where that is given.
    """
    said = _ABSENT.sub(" ", " ".join(text.lower().split())[:120])
    said = " ".join(said.split()).strip(" ,;")
    return _fault(said) or _figure(said) or _worded(said) or _undecided(said, " ".join(text.split()))


def _fault(said: str) -> Judgement | None:
    verdict = next((verdict for verdict, words in _FAULTS.items() if _holds(said, words)), None)
    return Judgement(verdict, None, None, (f"The tester says: {said[:60]}.", WITH_WHAT)) if verdict else None


def _figure(said: str) -> Judgement | None:
    marked, percent, of_new = (one.fullmatch(said) for one in (_MARK, _PERCENT, _OF_NEW))
    if marked:
        return _against_mark(_decimal(marked.group(1)), _decimal(marked.group(2)))
    if percent:
        return _against_new(_decimal(percent.group(1)))
    if of_new and _decimal(of_new.group(2)):
        return _against_new(_decimal(of_new.group(1)) / _decimal(of_new.group(2)) * 100)
    return None


def _decimal(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def _against_mark(reading: Decimal, mark: Decimal) -> Judgement:
    good = reading >= mark
    text = f"The tester shows {reading:f}; it rejects below {mark:f}: {'it may stay' if good else 'it is worn out'}."
    return Judgement("within" if good else "drifted", None, None, (text, WITH_WHAT))


def _against_new(percent: Decimal) -> Judgement:
    table: dict[str, Any] = toml_table("jobs.bench", "limits.toml")["valve_tester"]
    reject, weak = Decimal(table["reject_percent"]), Decimal(table["weak_percent"])
    shown, off = f"{percent:.0f} % of a new one", (percent - 100).quantize(Decimal("0.01"))
    if percent < reject:
        why = str(table["source"]).partition(":")[0].lower()
        text = f"It shows {shown}; below {reject} % it is worn out ({why})."
        return Judgement("drifted", off, None, (text, WITH_WHAT))
    ending = f"weak, but not below {reject} %: watch it in the soak" if percent < weak else "it may stay"
    return Judgement("within", off, None, (f"It shows {shown}: {ending}.", WITH_WHAT))


def _worded(said: str) -> Judgement | None:
    for verdict, words in (("within", ("not bad",)), ("drifted", _WORN), ("within", _SOUND)):
        if _holds(said, words):
            return Judgement(verdict, None, None, (f"The tester says: {said[:60]}.", WITH_WHAT))
    return None


def _undecided(said: str, typed: str) -> Judgement:
    text = HOW_TO
    if _ALONE.fullmatch(said):
        text = (
            f"{typed[:30]} alone says little: write what a new one reads with it, like 4.2 of 5.5, "
            "or the reject mark: 72, reject 60."
        )
    return Judgement("not_measured", None, None, (text,))


def _holds(said: str, words: tuple[str, ...]) -> bool:
    return any(re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", said) for word in words)
