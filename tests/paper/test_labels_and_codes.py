"""Labels stand where the sheet has its places; codes have the make-up that their standards ask for."""

from dataclasses import replace

import pytest
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.lib.units import mm

from inventory.documents import labels, lot_label
from inventory.documents.labels import DrawerContent, DrawerLabel, LabelSheet
from shop.paper.codes import code128, qr
from tests.paper import samples
from tests.paper.papers import page_texts, reader, text_of


def test_every_drawer_has_its_label_and_a_new_sheet_begins_when_one_is_full() -> None:
    texts = page_texts(labels.draw(samples.drawer_labels(30)))
    assert len(texts) == 2
    assert "A / 1 / 1" in texts[0]
    assert "A / 4 / 6" in texts[0]
    assert "A / 5 / 6" in texts[1]
    assert "0.047 µF 630 V" in texts[0]


def test_used_up_places_are_skipped() -> None:
    data = replace(samples.drawer_labels(3), sheet=LabelSheet(first=22))
    assert [text.count("A / 1") for text in page_texts(labels.draw(data))] == [2, 1]


def test_a_sheet_of_another_size_is_kept_to() -> None:
    sheet = LabelSheet("Letter", 2, 7, 101.6, 33.9, 4, 21.2, 5, 0)
    pdf = labels.draw(replace(samples.drawer_labels(15), sheet=sheet))
    assert len(reader(pdf).pages) == 2
    assert float(reader(pdf).pages[0].mediabox.width) == pytest.approx(8.5 * 72)


def test_a_full_drawer_says_how_many_more_it_holds() -> None:
    contents = tuple(DrawerContent(f"{i} kΩ", "Resistor") for i in range(1, 40))
    text = text_of(labels.draw(replace(samples.drawer_labels(0), labels=(DrawerLabel("B / 1", samples.URL, contents),))))
    shown = sum(f"{i} kΩ" in text for i in range(1, 40))
    assert "and " in text
    assert " more" in text
    assert shown < 12


def test_a_lot_label_tells_where_the_parts_came_from() -> None:
    text = text_of(lot_label.draw(samples.lot_label()))
    for fact in (
        "0.047 µF 630 V",
        "lot L-000318",
        "Quayside Components",
        "date code 3048",
        "50 pieces",
        "drawer A / 3 / 5",
        "3 Apr 2031",
    ):
        assert fact in text


@pytest.mark.parametrize("code", [code for code, (_, sheet) in labels.SHEETS.items() if lot_label.fits(sheet)])
def test_bags_of_a_delivery_share_a_sheet_from_where_it_is_used_up(code: str) -> None:
    sheet = labels.SHEETS[code][1]
    full = sheet.columns * sheet.rows
    bags = [replace(samples.lot_label(), lot_number=f"L-{i:03}") for i in range(4)]
    texts = page_texts(lot_label.draw_sheet(bags, replace(sheet, first=full - 2)))
    assert [[f"lot L-{i:03}" in text for i in range(4)] for text in texts] == [
        [True, True, False, False],
        [False, False, True, True],
    ]
    assert all("drawer A / 3 / 5" in text for text in texts)


def test_a_qr_code_keeps_its_quiet_zone_and_its_size() -> None:
    """ISO/IEC 18004: a quiet zone of four modules on each side; version v has 17 + 4 v modules."""
    code = qr(samples.URL, 24)
    assert code.qrBorder == 4
    assert (code.width, code.height) == pytest.approx((24 * mm, 24 * mm))
    code.qr.make()
    assert (code.qr.getModuleCount() - 17) % 4 == 0
    assert code.qr.errorCorrectLevel == QRErrorCorrectLevel.M
    assert isinstance(code.qr, QRCode)


@pytest.mark.parametrize("text", ["L-000318", "1", "ABCDEFGHIJKLMNOPQRSTUVWX", "4711" * 20, "Ωmega", ""])
def test_a_bar_code_fits_its_room_with_quiet_zones_of_ten_modules(text: str) -> None:
    """ISO/IEC 15417: ten modules of quiet zone on each side."""
    code = code128(text, 50)
    assert code.width <= 50 * mm + 0.01
    assert code.lquiet >= 10 * code.barWidth
    assert code.rquiet >= 10 * code.barWidth
