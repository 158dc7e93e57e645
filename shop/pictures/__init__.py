"""Pictures that people send: read and drawn anew in one place, kept with smaller ones beside them in another."""

from shop.pictures.keeping import digest_kept, is_kept, keep_picture, kept_bytes, remove_kept
from shop.pictures.reading import FORMATS, MIDDLE_SIDE, MOST_PIXELS, SMALL_SIDE, Picture, fault_of, read_picture

__all__ = [
    "FORMATS",
    "MIDDLE_SIDE",
    "MOST_PIXELS",
    "SMALL_SIDE",
    "Picture",
    "digest_kept",
    "fault_of",
    "is_kept",
    "keep_picture",
    "kept_bytes",
    "read_picture",
    "remove_kept",
]
