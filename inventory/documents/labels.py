"""Drawer labels, many to a sheet of adhesive labels."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """The sheet of labels as measured with a ruler, in mm. `first` skips places that were used up before (0 = none)."""

    paper: str = "A4"
    columns: int = 3
    rows: int = 8
    label_width_mm: float = 70
    label_height_mm: float = 36
    left_mm: float = 0
    top_mm: float = 4.5
    gap_across_mm: float = 0
    gap_down_mm: float = 0
    first: int = 0


@dataclass(frozen=True, slots=True)
class DrawerContent:
    """`marking` as the trade writes it (`0.047 µF 630 V`), `kind` its label (`Capacitor`, `Film`)."""

    marking: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class DrawerLabel:
    code: str
    url: str
    contents: tuple[DrawerContent, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawerLabels:
    shop_name: str
    labels: tuple[DrawerLabel, ...]
    sheet: LabelSheet = LabelSheet()
