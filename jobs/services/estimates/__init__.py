"""Estimates' only writer: drafted from the log, edited as a draft, frozen when sent, revised by a new version."""

from jobs.services.estimates.alternatives import add_alternative, change_alternative, offer, place, remove_alternative
from jobs.services.estimates.drafting import draft, redraw
from jobs.services.estimates.findings import add_finding, draft_from, remove_finding, set_because
from jobs.services.estimates.hours import LearntHours, take_hours_off, type_hours
from jobs.services.estimates.lines import FROM_LOG, TypedLine, add_line, remove_line, set_note
from jobs.services.estimates.links import make_link, restore_link, revoke_link
from jobs.services.estimates.sending import fingerprint, recall, send

__all__ = [
    "FROM_LOG",
    "LearntHours",
    "TypedLine",
    "add_alternative",
    "add_finding",
    "add_line",
    "change_alternative",
    "draft",
    "draft_from",
    "fingerprint",
    "make_link",
    "offer",
    "place",
    "recall",
    "redraw",
    "remove_alternative",
    "remove_finding",
    "remove_line",
    "restore_link",
    "revoke_link",
    "send",
    "set_because",
    "set_note",
    "take_hours_off",
    "type_hours",
]
