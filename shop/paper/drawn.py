"""A drawn paper under the name it is saved by: what a page answers with, and what a batch puts into its file."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Drawn:
    """`content` is a PDF; `name` ends in `.pdf` and holds no stroke."""

    name: str
    content: bytes = field(repr=False)
