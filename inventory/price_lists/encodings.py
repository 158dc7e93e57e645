"""In which encoding a text file is written: by its mark, else UTF-8 where the whole of it is, else the likeliest of the usual."""

import codecs
from pathlib import Path

from charset_normalizer import from_bytes

from inventory.price_lists.caps import CHUNK_BYTES, SAMPLE_BYTES
from inventory.price_lists.layout import ENCODINGS
from inventory.price_lists.problems import ListRefused

# UTF-32's mark begins with that of UTF-16, so it is looked for first.
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_USUAL = [name for name in ENCODINGS if not name.startswith("utf")]
# A text in two-byte signs has a zero in most of its even or of its odd places.
_TWO_BYTE_SHARE = 0.3
_LEAST_SURE = "cp1252"


def codec_of(encoding: str, path: Path) -> str:
    """The name to open a file by: a mark at the start is never a sign of the text, and none is needed."""
    if encoding == "utf-8":
        return "utf-8-sig"
    if encoding in ("utf-16", "utf-32"):
        with path.open("rb") as handle:
            start = handle.read(4)
        return encoding if any(start.startswith(mark) for mark, name in _MARKS if name == encoding) else f"{encoding}-le"
    return encoding


def encoding_of(path: Path, name: str) -> str:
    """One of ENCODINGS; a proposal, unless the file bears a mark or is UTF-8. Refuses what is no text in lines."""
    with path.open("rb") as handle:
        sample = handle.read(SAMPLE_BYTES)
    marked = next((encoding for mark, encoding in _MARKS if sample.startswith(mark)), "")
    if marked:
        _walk(path, name, None)
        return marked
    if b"\0" in sample:
        return _two_byte(sample, name)
    return "utf-8" if _walk(path, name, codecs.getincrementaldecoder("utf-8")()) else _likeliest(path)


def _two_byte(sample: bytes, name: str) -> str:
    for encoding, place in (("utf-16", 1), ("utf-16-be", 0)):
        if sample[place::2].count(0) > _TWO_BYTE_SHARE * len(sample) / 2 and not sample[1 - place :: 2].count(0):
            return encoding
    raise ListRefused(f"“{name}” isn't text, whatever its name says. Ask for the list as CSV or XLSX.")


def _walk(path: Path, name: str, decoder: codecs.IncrementalDecoder | None) -> bool:
    """Whether all of the file can be decoded. A megabyte without an end of line is no table."""
    whole = True
    with path.open("rb") as handle:
        while chunk := handle.read(CHUNK_BYTES):
            if len(chunk) == CHUNK_BYTES and b"\n" not in chunk and b"\r" not in chunk:
                raise ListRefused(
                    f"“{name}” has a line longer than a megabyte, so it is no list. Ask for the list as CSV or XLSX."
                )
            if whole and decoder is not None:
                whole = _decodes(decoder, chunk)
    return whole and (decoder is None or _decodes(decoder, b"", True))


def _decodes(decoder: codecs.IncrementalDecoder, chunk: bytes, final: bool = False) -> bool:
    try:
        decoder.decode(chunk, final)
    except UnicodeDecodeError:
        return False
    return True


def _likeliest(path: Path) -> str:
    """Judged by the lines that plain ASCII doesn't decide, a bounded number of them."""
    telling = bytearray()
    with path.open("rb") as handle:
        for line in handle:
            if not line.isascii():
                telling += line[:CHUNK_BYTES]
            if len(telling) > SAMPLE_BYTES // 8:
                break
    best = from_bytes(bytes(telling), cp_isolation=_USUAL).best()
    if best is not None and telling.decode(_LEAST_SURE, "replace") == telling.decode(best.encoding, "replace"):
        return _LEAST_SURE
    found = "" if best is None else codecs.lookup(best.encoding).name
    return next((name for name in _USUAL if codecs.lookup(name).name == found), _LEAST_SURE)
