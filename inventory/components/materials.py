"""What a part is made of: as recorded, or as its marking tells, and whether that suits the position."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache

from inventory.components.answers import Candidate, Question, Reason, source_of
from inventory.components.tables import toml_table

_LONGEST_MARKING = 200
_UNPOLARISED = re.compile(r"\b(?:np|bp|bipolar|non[- ]?polari[sz]ed|unpolari[sz]ed)\b")


@dataclass(frozen=True, slots=True)
class Technology:
    """A material. `of` is the broader one it belongs to or "", `note` why it may be wrong somewhere."""

    code: str
    name: str
    words: tuple[str, ...] = ()
    of: str = ""
    note: str = ""


@cache
def technologies() -> Mapping[str, Technology]:
    """Every material of substitution.toml by its code."""
    rows = toml_table("inventory.components", "substitution.toml")["technology"]
    return {row["code"]: Technology(**{**row, "words": tuple(row.get("words", ()))}) for row in rows}


@cache
def _word_pattern() -> tuple["re.Pattern[str]", Mapping[str, str]]:
    words = {word: one.code for one in technologies().values() for word in one.words}
    longest_first = sorted(words, key=len, reverse=True)
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first))})\b"), words


def technology_of(candidate: Candidate) -> str:
    """The code of what it is made of, as closely as record and marking together tell; "" where neither does."""
    text = candidate.spec.text if candidate.spec is not None else ""
    return _told_by(candidate.technology[:40], text[:_LONGEST_MARKING]) if text else candidate.technology


def told_in(text: str) -> str:
    """The code of the material that a bare text names, the broad one it belongs to; "" where it names none."""
    told = _told_by("", text[:_LONGEST_MARKING])
    made_of = technologies().get(told)
    return made_of.of or told if made_of else ""


@lru_cache(maxsize=1024)
def _told_by(recorded: str, text: str) -> str:
    pattern, words = _word_pattern()
    told = recorded
    for found in pattern.findall(text.casefold()):
        code = words[found]
        if not told or technologies()[code].of == told:
            told = code
    return told


def is_polarised(candidate: Candidate, technology: str) -> bool:
    """As recorded; a bare marking that says electrolytic counts as polarised unless it says otherwise."""
    if candidate.polarised or candidate.technology or technology not in ("electrolytic", "tantalum") or candidate.spec is None:
        return candidate.polarised
    return not _UNPOLARISED.search(candidate.spec.text[:_LONGEST_MARKING].casefold())


def judge_material(ask: Question) -> Iterator[Reason]:
    """Whether what the part is made of suits the position. Where it matters, not knowing is a caution."""
    code, role = ask.technology, ask.role
    if not code:
        if role.materials:
            yield Reason("material_unknown", "warn", _UNKNOWN, source_of("material"))
        return
    made_of = technologies().get(code)
    broader = made_of.of if made_of else ""
    if code in role.refused_materials or broader in role.refused_materials:
        yield Reason("material", "no", _text(code, f"does not do as {role.place}"), source_of("material"))
    elif _is_second_choice(ask, code, broader):
        yield Reason("material", "warn", _text(code, f"is second choice as {role.place}"), source_of("material"))


_UNKNOWN = (
    "What it is made of is not recorded, and a tuned circuit needs it stable: silver mica, C0G (NP0) ceramic or polystyrene."
)


def _is_second_choice(ask: Question, code: str, broader: str) -> bool:
    role = ask.role
    if code in role.materials:
        return False
    return bool(role.materials) or code in role.cautioned_materials or broader in role.cautioned_materials


def _text(code: str, verdict: str) -> str:
    made_of = technologies().get(code, Technology(code, code.replace("_", " ")[:40]))
    name = made_of.name[:1].upper() + made_of.name[1:]
    return f"{name} {verdict}: {made_of.note}." if made_of.note else f"{name} {verdict}."
