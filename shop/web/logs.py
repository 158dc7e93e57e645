"""What is written to the log: one JSON object a line, in UTC, with nothing in it that a private address is made of.

Standard library only, as settings name it before anything else is there.
"""

import json
import logging
import re
from datetime import UTC, datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

# A private address is the key of what it leads to; a log is read, copied and sent to others.
_PRIVATE = re.compile(r"/(answer|calendar)/[^/\s\"'?&<>]+")
LARGEST, OLDER_KEPT = 2_000_000, 5
# Below it the fault lies with what was sent, and where in our code it was seen tells nobody anything (RFC 9110, 15).
BROKEN = 500


def without_tokens(text: str) -> str:
    return _PRIVATE.sub(r"/\1/…", text)


class OneLine(logging.Formatter):
    """JSON escapes line breaks and control signs, so nobody can write a line of their own into it by an odd address."""

    def format(self, record: logging.LogRecord) -> str:
        said: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "from": record.name,
            "text": without_tokens(record.getMessage()),
        }
        request = getattr(record, "request", None)
        if request is not None:
            meta = getattr(request, "META", {})
            said["method"], said["address"] = str(meta.get("REQUEST_METHOD", "")), str(meta.get("REMOTE_ADDR", ""))
            # Only who is known already: asking the database here could fail a second time.
            said["person"] = getattr(getattr(request, "_cached_user", None), "pk", None)
        if record.exc_info and getattr(record, "status_code", BROKEN) >= BROKEN:
            said["trace"] = without_tokens(self.formatException(record.exc_info))
        return json.dumps(said, ensure_ascii=False).translate(_BREAKS)


# Line breaks to some readers, though not to JSON: next line, line and paragraph separator.
_BREAKS = {code: f"\\u{code:04x}" for code in (0x7F, 0x85, 0x2028, 0x2029)}


def keep_in(folder: Path, process: int = 1) -> None:
    """From now on this process also writes its warnings and errors to `log/shop.log`, which is readable by its owner only.

    Five older files of two megabytes are kept. Of several processes each further one has a file of its own, `shop-2.log` and so
    on: two that set one file aside at once would lose lines. A folder that can't be written is no reason not to serve.
    """
    place = folder / "log"
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        path = place / ("shop.log" if process <= 1 else f"shop-{process}.log")
        path.touch(mode=0o600)
        handler = RotatingFileHandler(path, maxBytes=LARGEST, backupCount=OLDER_KEPT, encoding="utf-8")
    except OSError as error:
        logging.getLogger("shop").warning("The log can't be kept in %s (%s).", place, error.strerror)
        return
    handler.setLevel(logging.WARNING)
    handler.setFormatter(OneLine())
    for name in ("django", "shop"):
        logging.getLogger(name).addHandler(handler)
