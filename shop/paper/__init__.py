"""The frame of every printed page. Knows paper, ink and safe text; knows nothing of jobs, drawers or bills.

A document is a function from a frozen dataclass to PDF bytes, built from these rooms: `frame` (pages), `text` (the only door for
text that people typed), `tables`, `codes` (QR, Code 128), `marks` (states that survive a black-and-white printer).
"""

from shop.paper.letterhead import Letterhead, Party

__all__ = ["Letterhead", "Party"]
