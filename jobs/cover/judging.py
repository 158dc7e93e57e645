"""Judging a claim: the case in, a proposal with its reasons out. A person decides; the proposal only says what the log shows.

Sets of rules have names, so that a verdict of years ago is judged again by the rules of its day.
"""

from collections.abc import Callable, Mapping

from jobs.cover import rules_2026_11
from jobs.cover.case import ClaimCase
from jobs.cover.reasons import Proposal

RULES: Mapping[str, Callable[[ClaimCase], Proposal]] = {rules_2026_11.NAME: rules_2026_11.judge_2026_11}
TODAY = rules_2026_11.NAME


def judge(case: ClaimCase, rules: str = TODAY) -> Proposal:
    """Raises KeyError where no set of rules has that name."""
    return RULES[rules](case)
