"""Requests made to hurt: what stands in a form's fields, how a form is torn, how its body is written and where it is sent."""

import json
import random
from dataclasses import dataclass, field
from urllib.parse import quote_from_bytes

from tests.journeys.forms import ShownForm

Pairs = list[tuple[str, str]]

VALUES: tuple[str, ...] = (
    "-1", "0", "-0", "00", "1", "2", "9" * 20, "9" * 40, "1" * 5_000, "2147483648", "9223372036854775807",
    "9223372036854775808",
    "-9223372036854775809", "1e5", "1e999", "1e-999", "1E+400", "NaN", "-nan", "sNaN", "inf", "-Infinity", "0x10",
    "1_000", "1,5", "1.5.5",
    "0,0,0", "1'000.50", ".", "-", "+", ",", "½", "²", "⅔", "１２", "٣٤٥", "१२३", "一二三", "𝟘𝟙", "Ⅻ", "−5", "+5", " 7 ",
    "7\u00a0000",
    "1/0", "0/0", "50%", "£5", "5 €", "1e3 kΩ", "10k" * 40, "4K7", "0.1 µF 630 V", "leaky 2 M", "V1", "C3", "C1,C2",
    "R1-R9999999",
    "2026-02-30", "0000-00-00", "0001-01-01", "9999-12-31", "10000-01-01", "2026-13-01", "31/12/2026",
    "2026-03-02T25:61",
    "9999-12-31T23:59", "0001-01-01T00:00", "2026-03-29T02:30", "2026-W09", "today", "-1-1-1", "24:00", "99:99",
    "12:60:61", "-1:30", "P1D",
    "true", "false", "on", "off", "None", "null", "undefined", "[]", "{}", "[1,2]", '{"a":1}', "{'$gt': ''}", "()",
    "\x00", "a\x00b", "\x01\x02\x1b[31m\x7f", "\u200b", "\u200b\u2060\ufeff", "\u202eabc", "\u2066x\u2069", "שלום",
    "مرحبا", "漢字", "e\u0301" * 50,
    "\ud800", "x\udfff", "\ufffe\uffff", "\U0010ffff", "😀👩‍👩‍👧‍👦", "ﷺ" * 30, "İıſK", "ﬀ", "\r\n", "\n\n\n", "\t",
    "a\r\nSet-Cookie: x=1",
    "\x85", "\u2028", "' OR 1=1 --", "'; DROP TABLE jobs_job; --", '" OR ""="', "%", "%%", "%s", "%(id)s", "%00", "_",
    "\\", "\\x00", "'", '"', "`id`", "$(id)",
    "<script>alert(1)</script>", "<b>'\"", "</textarea><img src=x onerror=alert(1)>", "&lt;&#0;", "{{ 7|add:7 }}",
    "{% debug %}", "${7*7}",
    "../../etc/passwd", "/etc/passwd", "C:\\con", "file:///etc/passwd", "http://127.0.0.1:9/", "//example.org",
    "/\\example.org", "javascript:alert(1)",
    "=1+1", "@x", "a@b", "a@" + "b" * 300, "x@[::1]", "GBP", "XXX", "gbp", "after-", "before-", "after-e30", "last",
    "after-" + "A" * 900, "-pk", "name,-name",
    "pk__in", "password", "__class__", "id;", "?", "#", "&", "=", "a=b&c=d", "(" * 500, "[" * 500,
    "((((a+)+)+)+)" + "a" * 40, "*" * 60, "a*b*c*" * 50, "x" * 300, "x" * 20_000,
    "", " ", "\u3000", "00000000-0000-0000-0000-000000000000", "not-a-token", "INV-9999", "job 0",
)  # fmt: skip
HUGE: tuple[str, ...] = (
    "x" * 1_000_000, "9" * 1_000_000, "<" * 1_000_000, "\n" * 1_000_000, "a " * 500_000, "é" * 500_000, "1,2;" * 250_000,
    "(" * 1_000_000,
)  # fmt: skip
COUNTS = ("1000000000", "-1", "", "x", "1e9", "9" * 30, "1001", "0", "2", "\x00", "１")
FORM, PARTS = "application/x-www-form-urlencoded", "multipart/form-data"
KINDS = (
    FORM, PARTS, "application/json", "text/plain", "", f"{PARTS}; boundary=", f"{FORM}; charset=utf-16",
    f"{FORM}; charset=nonesuch",
    f"{PARTS}; boundary=\"a'b\"", "a/b/c;;;=", "multipart/mixed; boundary=x",
)  # fmt: skip
FILE_NAMES = (
    "a.png", "../../x.png", "a\x00.png", "", "x" * 3_000 + ".png", "con.csv", "a.csv", "a.xlsx", "a.pdf", "é😀\u202egnp.png",
    'a";x="b', "a.svg", ".",
)  # fmt: skip
FILES: tuple[bytes, ...] = (
    b"", b"\x00", b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n" + b"\x00" * 60, b"PK\x03\x04" + b"\x00" * 90, b"a,b\n1,2\n", 
    b"\xff\xfe\x00" * 99,
    b"GIF89a" + b"\xff" * 40, b"<svg onload='x'/>", b"a;b\r\n" * 9_000, b"\xff\xd8\xff\xe1" + b"E" * 70_000, b'"' * 5_000,
    b"BEGIN:VCARD\n", b"{" * 9_000,
)  # fmt: skip
NAMES = (
    "q", "page", "sort", "id", "pk", "person", "next", "", "once", "form-TOTAL_FORMS", "__proto__", "a[]", "a[b]", "\x00",
    "\ud800",
    "x" * 2_000, "é", "lines-0-x",
)  # fmt: skip
SPLINTERS = (b"\x00", b"\xff\xfe", b"%", b"%zz", b"%ed%a0%80", b"\r\n--edge-of-a-part", b"&" * 20_000)
BOUNDARY = "edge-of-a-part"


@dataclass
class Sent:
    """One request. `sort` says how it was made."""

    method: str
    path: str
    sort: str
    body: bytes = b""
    kind: str = ""
    headers: dict[str, str] = field(default_factory=dict)


def a_value(dice: random.Random) -> str:
    roll = dice.random()
    if roll < 0.01:
        return dice.choice(HUGE)
    if roll < 0.15:
        return "".join(dice.choice(VALUES)[: dice.choice((3, 20, 400))] for _ in range(dice.randint(2, 6)))
    if roll < 0.25:
        numbers = (dice.randint(-3, 60), dice.randint(-(10**6), 10**6), round(dice.uniform(-1e4, 1e4), 3), dice.getrandbits(80))
        return str(dice.choice(numbers))
    return dice.choice(VALUES)


def quoted(text: str, safe: str = "") -> str:
    """Half a pair is written as the three bytes that it would have: whoever reads must bear it."""
    return quote_from_bytes(text.encode("utf-8", "surrogatepass"), safe)


def encoded(pairs: Pairs) -> bytes:
    return "&".join(f"{quoted(name)}={quoted(value)}" for name, value in pairs).encode()


def parts(pairs: Pairs, files: list[tuple[str, str, bytes]]) -> bytes:
    edge = f"--{BOUNDARY}\r\nContent-Disposition: form-data; name="
    made = [f'{edge}"{name}"\r\n\r\n{value}\r\n'.encode("utf-8", "surrogatepass") for name, value in pairs]
    for name, called, content in files:
        head = f'{edge}"{name}"; filename="{called}"\r\nContent-Type: image/png\r\n\r\n'
        made.append(head.encode("utf-8", "surrogatepass") + content + b"\r\n")
    return b"".join(made) + f"--{BOUNDARY}--\r\n".encode()


def plausible(form: ShownForm, dice: random.Random) -> dict[str, list[str]]:
    """As it stands on the page, or filled in as a person might, so that what is wrong lies deeper than an empty field."""
    values = {name: list(some) for name, some in form.values.items()}
    usual = {"number": "1", "date": "2026-03-02", "datetime-local": "2026-03-02T09:00", "time": "09:00", "email": "a@example.org"}
    for name, kind in form.kinds.items():
        if kind != "hidden" and values.get(name) in ([], [""], None) and dice.random() < 0.7:
            choices = [one for one in form.choices.get(name, []) if one]
            values[name] = [
                dice.choice(choices) if choices else usual.get(kind) or dice.choice(("1", "10k", "C3", "a word", "5.00"))
            ]
    return values


def is_token(name: str) -> bool:
    return name.rpartition("-")[2] in ("once", "csrfmiddlewaretoken")


def a_post(form: ShownForm, others: list[ShownForm], dice: random.Random) -> Sent:
    """A form of a page with something wrong in it; now and then with nothing wrong, which may act."""
    values = plausible(form, dice)
    pairs = [(name, value) for name, some in values.items() for value in some]
    if form.buttons and dice.random() < 0.8:
        pairs += [one for one in [dice.choice(form.buttons)] if one[0]]
    sorts = [dice.choice(list(TORN)) for _ in range(dice.choice((1, 1, 1, 2, 3)))]
    for sort in sorts:
        pairs = TORN[sort](pairs, form, others, dice)
    files = [
        (name, dice.choice(FILE_NAMES), dice.choice(FILES)) for name in form.files for _ in range(dice.choice((0, 1, 1, 2, 9)))
    ]
    sent = _written(form, pairs, files, sorts, dice)
    if dice.random() < 0.1:
        sent.path += ("&" if "?" in sent.path else "?") + encoded([(a_name(dice), a_value(dice)[:3_000])]).decode()
    return sent


def _written(form: ShownForm, pairs: Pairs, files: list[tuple[str, str, bytes]], sorts: list[str], dice: random.Random) -> Sent:
    sent = Sent("POST", form.action, "+".join(sorted(set(sorts))), headers=odd_headers(dice))
    sent.kind = FORM
    sent.body = encoded(pairs)
    roll = dice.random()
    if files or roll < 0.1:
        sent.kind, sent.body = f"{PARTS}; boundary={BOUNDARY}", parts(pairs, files)
    if roll < 0.06:
        sent.sort, sent.body = f"{sent.sort}+cut off or torn", _torn_bytes(sent.body, dice)
    elif roll > 0.97:
        sent.sort, sent.kind = f"{sent.sort}+another kind", dice.choice(KINDS)
    elif roll > 0.94:
        sent.sort, sent.kind = "json", "application/json"
        sent.body = json.dumps(dict(pairs)).encode() if dice.random() < 0.7 else b"[" * 2_000
    return sent


def _torn_bytes(body: bytes, dice: random.Random) -> bytes:
    at = dice.randint(0, len(body))
    match dice.randrange(5):
        case 0:
            return body[:at]
        case 1:
            return body[:at] + dice.choice(SPLINTERS) + body[at:]
        case 2:
            return body[at:]
        case 3:
            return body.replace(b'name="', b"name*=x''", 2).replace(b"form-data", b"x", 1)
        case _:
            return body.replace(b"Content-Disposition", b"Content-Transfer-Encoding: base64\r\nContent-Disposition", 3)


def a_name(dice: random.Random) -> str:
    return dice.choice(NAMES)


def _some_wrong(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    fields = [number for number, (name, _) in enumerate(pairs) if not is_token(name)]
    for number in dice.sample(fields, min(len(fields), dice.choice((1, 1, 2, 4)))):
        pairs[number] = (pairs[number][0], a_value(dice))
    return pairs


def _all_wrong(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    one = a_value(dice) if dice.random() < 0.3 else None
    return [(name, value if is_token(name) else (one or dice.choice(VALUES))[:20_000]) for name, value in pairs]


def _missing(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    gone = {dice.choice(pairs)[0] for _ in range(dice.choice((1, 1, 2, 5)))} if pairs else set()
    return [] if dice.random() < 0.05 else [one for one in pairs if one[0] not in gone]


def _doubled(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    more = [
        (dice.choice(("{}", "{}", "{}[]", "{}[0]")).format(name), dice.choice((value, a_value(dice))))
        for name, value in pairs
        if dice.random() < 0.4
    ]
    return [*pairs, *more] if dice.random() < 0.5 else [*more, *pairs]


def _other_token(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    wrong = [
        "",
        "not-a-token",
        "0",
        "\x00",
        "\ud800",
        "x" * 9_000,
        *(some.values["once"][0] for some in others if some.values.get("once")),
    ]
    return [(name, dice.choice(wrong) if name.rpartition("-")[2] in ("once", "digest") else value) for name, value in pairs]


def _stale(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    wrong = ("0", "1", "-1", "2", "999999", "9" * 30, "", "x", "1.5", "\x00", "１")
    names = ("seen", "version", "digest", "last", "shown", "stage")
    return [(name, dice.choice(wrong) if name.rpartition("-")[2] in names else value) for name, value in pairs]


def _others_ids(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    def swapped(name: str, value: str) -> str:
        number = str(dice.choice((*range(12), 10**6, 2**63, -1, 10**40)))
        chosen = form.kinds.get(name) in ("select", "radio", "checkbox", "hidden") or value.isdecimal()
        return number if chosen and not is_token(name) and dice.random() < 0.6 else value

    return [(name, swapped(name, value)) for name, value in pairs]


def _of_another_form(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    """All fields of another form, or this form's names with the other's words."""
    other = dice.choice(others)
    theirs = [(name, value) for name, some in other.values.items() for value in some]
    if dice.random() < 0.5 or not theirs:
        return theirs
    return [(name, value if is_token(name) else dice.choice(theirs)[1]) for name, value in pairs]


def _counts(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    if not any("_FORMS" in name for name, _ in pairs):
        return _some_wrong([*pairs, (a_name(dice), a_value(dice)[:9_000])], form, others, dice)
    return [(name, dice.choice(COUNTS) if "_FORMS" in name and dice.random() < 0.7 else value) for name, value in pairs]


def _many(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    if dice.random() < 0.8 or not pairs:
        return _some_wrong(pairs, form, others, dice)
    name, value = dice.choice(pairs)
    # A long value so many times would fill the memory of whoever writes it down.
    return [*pairs, *[(name, value[:200])] * dice.choice((300, 9_000, 12_000))]


def _nothing(pairs: Pairs, form: ShownForm, others: list[ShownForm], dice: random.Random) -> Pairs:
    return pairs


TORN = {
    "wrong values": _some_wrong,
    "more wrong values": _some_wrong,
    "all wrong": _all_wrong,
    "missing": _missing,
    "doubled": _doubled,
    "token": _other_token,
    "stale": _stale,
    "others' ids": _others_ids,
    "another form": _of_another_form,
    "counts": _counts,
    "many": _many,
    "as filled": _nothing,
}


def odd_headers(dice: random.Random) -> dict[str, str]:
    if dice.random() < 0.8:
        return {}
    several = {
        "HTTP_HX_REQUEST": "true",
        "HTTP_HX_CURRENT_URL": dice.choice(("", "http://[::1", "javascript:x", "%00", "x" * 5_000, "http://localhost/jobs/")),
        "HTTP_HX_TARGET": "<b>",
        "HTTP_REFERER": dice.choice(
            ("", "http://[", "http://localhost/\x01", "//x", "http://localhost/jobs/?q=%00", "\xff" * 40)
        ),
        "HTTP_ACCEPT_LANGUAGE": dice.choice(("", "x" * 3_000, "de;q=9e999", "zz-ZZ-\xff")),
        "HTTP_ACCEPT": dice.choice(("", "*/*;q=nan", "text/" + "x" * 900)),
        "HTTP_RANGE": dice.choice(("bytes=0-", "bytes=-1", "bytes=9-1,2-3", "x")),
        "HTTP_IF_MODIFIED_SINCE": dice.choice(("never", "Mon, 99 Xxx 99999 99:99:99 GMT")),
        "HTTP_X_FORWARDED_FOR": dice.choice(("1.2.3.4, x", "'--", "\xff", "::1" * 400)),
        "HTTP_USER_AGENT": dice.choice(("", "\x00", "<b>" * 900, "\xff" * 90)),
        "CONTENT_LENGTH": dice.choice(("-1", "", "0")),
    }
    return {name: several[name] for name in dice.sample(list(several), dice.randint(1, 3))}


def a_get(path: str, known: list[str], dice: random.Random) -> Sent:
    """An address with odd words behind it; now and then with odd words in it."""
    pairs = [
        (dice.choice(known) if dice.random() < 0.95 else a_name(dice), a_value(dice)[:20_000])
        for _ in range(dice.choice((1, 1, 2, 3, 8)))
    ]
    if dice.random() < 0.1:
        pairs += pairs
    query = encoded(pairs).decode()
    if dice.random() < 0.05:
        query = dice.choice(
            ("%", "%zz=%", "&" * 9_000, "=" * 900, "%ed%a0%80=%ff", "a" * 60_000, ";;;", query[: len(query) // 2])
        )
    sort = "odd query"
    if dice.random() < 0.1:
        sort, path = "odd path", _odd_path(path, dice)
    method = dice.choice(("GET",) * 18 + ("HEAD", "POST"))
    return Sent(method, f"{path}?{query}", sort, headers=odd_headers(dice))


def _odd_path(path: str, dice: random.Random) -> str:
    steps = path.split("/")
    inner = [number for number, step in enumerate(steps) if step]
    if inner:
        steps[dice.choice(inner)] = quoted(dice.choice(("0", "1", "2", "9" * 18, "9" * 40, "-1", "１", a_value(dice)[:2_000])))
    return "/".join(steps)
