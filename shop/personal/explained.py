"""What the keys of a copy's data mean: written beside the data, so that another program can be made to read it."""

FORM = "held-of-a-person/1"
CONVENTIONS = (
    "data.json is UTF-8 text by RFC 8259. Keys are sorted; the same data makes the same file.",
    "Days are written 2026-03-02, moments with their offset, 2026-03-02T09:30:00+00:00 (ISO 8601).",
    "Sums are decimal texts in the currency named beside them, or in the shop's (key “currency”).",
    "People of the shop stand as their role: counter, bench, owner. “customer” is you.",
    "null: there is none. An empty text: nothing was written.",
)
KEYS = {
    "form": "name and version of this form",
    "as_of": "the day for which it was drawn",
    "currency": "the shop's currency, ISO 4217",
    "shop": "who holds the data, and how to reach them",
    "customer": "your card",
    "sets": "the sets that are written down as yours",
    "own_parts": "parts that you brought",
    "jobs": "each stay of a set in the workshop",
    "papers": "invoices and credit notes as they were issued, with their payments",
    "sales": "sets that weren't collected and were sold",
    "requests": "what was asked about this data before, and answered",
    "jobs.number": "the number on the claim check",
    "jobs.set": "the set",
    "jobs.stage": "how far it is",
    "jobs.taken_in_at": "when it was taken in",
    "jobs.fault": "the fault in your words",
    "jobs.goal": "what it was to become",
    "jobs.cabinet": "condition of the cabinet",
    "jobs.came_with": "what came with it, counted",
    "jobs.allowed": "what you allowed",
    "jobs.promised_on": "the day promised",
    "jobs.stands_at": "where it stands",
    "jobs.waits_for": "what it waits for",
    "jobs.acts": "each step that moved it on",
    "jobs.log": "the change log: what was found, measured, decided and fitted, in the order of writing",
    "jobs.labour": "work by step: the day, minutes worked, the sum charged",
    "jobs.estimates": "estimates by version",
    "jobs.answers": "what you agreed to or declined",
    "jobs.deposits": "deposits taken and given back",
    "jobs.safety_checks": "electrical safety checks",
    "jobs.photos": "photos; “file” is the file's place in this copy, null where it was erased",
    "jobs.hand_over": "who received it, and how",
    "jobs.warranty": "what is covered until when",
    "jobs.claim": "what was decided when it came back",
    "jobs.notices": "notices to collect, with proof that they went out",
    "jobs.disputes": "what was disputed, and settled",
    "jobs.letters": "letters about parts that turned out bad",
}


def explained() -> str:
    """`data-explained.txt`."""
    width = max(map(len, KEYS))
    rows = [f"{key.ljust(width)}  {meaning}" for key, meaning in KEYS.items()]
    return "\n".join([FORM, "", *CONVENTIONS, "", *rows, ""])
