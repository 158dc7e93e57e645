"""Pictures that people send: read and drawn anew in one place, kept with smaller ones beside them in another."""

from shop.pictures.keeping import digest_kept, is_kept, keep_picture, kept_bytes, remove_kept
from shop.pictures.reading import (
    BOMB,
    BROKEN,
    MIDDLE_SIDE,
    SMALL_SIDE,
    Picture,
    fault_of,
    is_too_large_webp,
    is_too_slow,
    most_pixels,
    read_picture,
    redrawn,
)

__all__ = [
    "BOMB",
    "BROKEN",
    "MIDDLE_SIDE",
    "SMALL_SIDE",
    "Picture",
    "digest_kept",
    "fault_of",
    "is_kept",
    "is_too_large_webp",
    "is_too_slow",
    "keep_picture",
    "kept_bytes",
    "most_pixels",
    "read_picture",
    "redrawn",
    "remove_kept",
]
