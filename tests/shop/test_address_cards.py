"""Address cards read: published examples, what telephones write, what is broken."""

import pytest

from shop.address_cards.reading import BadCard, Card, read_card, read_cards
from shop.address_cards.splitting import MOST_CARDS, CardsRefused, as_text


def card(*lines: str, version: str = "3.0") -> str:
    return "\r\n".join(["BEGIN:VCARD", f"VERSION:{version}", *lines, "END:VCARD", ""])


# The examples of RFC 6350, put together: 6.2.1 (FN), 6.2.2 (N), 6.3.1 (ADR), 6.4.1 (TEL, both), 6.4.2 (EMAIL).
RFC_6350 = """BEGIN:VCARD
VERSION:4.0
FN:Mr. John Q. Public\\, Esq.
N:Public;John;Quinlan;Mr.;Esq.
ADR;GEO="geo:12.3457,78.910";LABEL="Mr. John Q. Public, Esq.\\n
 Mail Drop: TNE QB\\n123 Main Street\\nAny Town, CA  91921-1234\\n
 U.S.A.":;;123 Main Street;Any Town;CA;91921-1234;U.S.A.
TEL;VALUE=uri;TYPE=home:tel:+33-01-23-45-67
TEL;VALUE=uri;PREF=1;TYPE="voice,home":tel:+1-555-555-5555;ext=5555
EMAIL;TYPE=work:jqpublic@xyz.example.com
EMAIL;PREF=1:jane_doe@example.com
END:VCARD
"""

# The examples of RFC 2426, put together: 3.1.1 (FN), 3.1.2 (N), 3.2.1 (ADR), 3.3.1 (TEL), 3.3.2 (EMAIL).
RFC_2426 = """BEGIN:vCard
VERSION:3.0
FN:Mr. John Q. Public\\, Esq.
N:Public;John;Quinlan;Mr.;Esq.
ADR;TYPE=dom,home,postal,parcel:;;123 Main
  Street;Any Town;CA;91921-1234;
TEL;TYPE=fax:+1-213-555-0000
TEL;TYPE=work,voice,pref,msg:+1-213-555-1234
EMAIL;TYPE=internet:jqpublic@xyz.dom1.com
EMAIL;TYPE=internet,pref:jane_doe@abc.com
END:vCard
"""


def test_the_examples_of_rfc_6350() -> None:
    """The preferred of two numbers, out of a tel: URI with its extension (RFC 3966, 3); an address with a folded label (3.2)."""
    (found,) = read_cards(RFC_6350.replace("\n", "\r\n")).cards
    assert (found.name, found.phone) == ("Mr. John Q. Public, Esq.", "+1-555-555-5555 ext. 5555")
    assert found.email == "jane_doe@example.com"
    assert found.address == "123 Main Street\nAny Town CA 91921-1234\nU.S.A."


def test_the_examples_of_rfc_2426() -> None:
    """Types in one list, the preferred among them; never the fax; a folded address; BEGIN in small letters too."""
    (found,) = read_cards(RFC_2426).cards
    assert (found.name, found.phone) == ("Mr. John Q. Public, Esq.", "+1-213-555-1234")
    assert (found.email, found.address) == ("jane_doe@abc.com", "123 Main Street\nAny Town CA 91921-1234")


def test_escaped_commas_and_line_ends_come_back() -> None:
    """RFC 6350, 3.4: a comma, a semicolon and a line's end in a value are escaped by a backslash."""
    found = read_card(card("FN:Fenwick\\, Lisa", "ADR:;;Mill Lane 4\\nbehind the yard;Kettlewick;;K1 2AB;"))
    assert (found.name, found.address) == ("Fenwick, Lisa", "Mill Lane 4\nbehind the yard\nKettlewick K1 2AB")


def test_quoted_printable_of_version_2_1_with_a_soft_break() -> None:
    """As telephones wrote and still write it: the encoding of RFC 2045, 6.7, its rule 5 being the soft line break."""
    found = read_card(
        card(
            "N;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:=C5=81ubie=C5=84ska;J=C3=B3zefa;;;",
            "FN;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:J=C3=B3zefa =C5=81ubie=C5=84ska",
            "TEL;CELL:+48 600 000 111",
            "ADR;HOME;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:;;ul. D=C5=82uga 5;Pruszk=",
            "=C3=B3w;;05-800;",
            version="2.1",
        )
    )
    assert found == Card("Józefa Łubieńska", "+48 600 000 111", "", "ul. Długa 5\nPruszków 05-800")


@pytest.mark.parametrize(
    ("lines", "name"),
    [
        (("N:Marrow;Tess;;Dr;",), "Dr Tess Marrow"),
        (("FN: ", "N:Marrow;Tess;;;"), "Tess Marrow"),
        (("ORG:Marrow & Daughter;Workshop",), "Marrow & Daughter Workshop"),
        (("item1.FN:Tess Marrow",), "Tess Marrow"),
        (("FN:Tess \x07Marrow\u202e",), "Tess Marrow"),
        (("FN:" + "T" * 400,), "T" * 160),
    ],
)
def test_a_name_is_found_where_there_is_one(lines: tuple[str, ...], name: str) -> None:
    assert read_card(card(*lines)).name == name


def test_a_mobile_goes_before_other_numbers_of_its_rank() -> None:
    assert read_card(card("FN:Tess Marrow", "TEL;TYPE=home:1", "TEL;TYPE=cell:2", "TEL;TYPE=fax:3")).phone == "2"
    assert read_card(card("FN:Tess Marrow", "TEL;TYPE=home,pref:1", "TEL;TYPE=cell:2")).phone == "1"


def test_pictures_and_keys_are_left_out_before_anything_is_read() -> None:
    picture = ["PHOTO;ENCODING=b;TYPE=JPEG:" + "A" * 70, *[" " + "A" * 70] * 2_000, "EMAIL:tess@example.org"]
    assert read_card_of(card("FN:Tess Marrow", *picture)).email == "tess@example.org"


def read_card_of(text: str) -> Card:
    (found,) = read_cards(text).cards
    return found


def test_a_broken_card_does_not_lose_the_others() -> None:
    text = (
        card("FN:Tess Marrow")
        + card("NOTE:nobody")
        + card("FN:" + "x" * 70_000)
        + "BEGIN:VCARD\r\nFN:no end\r\n"
        + card("FN:Last")
    )
    found = read_cards(text)
    assert [one.name for one in found.cards] == ["Tess Marrow", "no end", "Last"]
    assert found.bad == (BadCard(2, "It names nobody."), BadCard(3, "It is too long for an address card."))


@pytest.mark.parametrize(
    "lines", [("N",), ("\x00\x01",), ("FN;ENCODING=QUOTED-PRINTABLE:=ZZ=",), ("BEGIN:VEVENT",), ("ADR:" + ";" * 500,), (":::",)]
)
def test_whatever_stands_in_a_card_is_a_card_or_a_sentence(lines: tuple[str, ...]) -> None:
    found = read_cards(card(*lines))
    assert len(found.cards) + len(found.bad) == 1
    assert all(one.why.endswith(".") for one in found.bad)


@pytest.mark.parametrize("text", ["", "Tess Marrow, 4 Mill Lane", "END:VCARD"])
def test_what_holds_no_card_is_refused_in_words(text: str) -> None:
    with pytest.raises(CardsRefused, match="There is no address card in this."):
        read_cards(text)


def test_too_many_cards_are_refused_in_words() -> None:
    with pytest.raises(CardsRefused, match="The file has more than 500 cards. Send it in parts."):
        read_cards(card("FN:Tess Marrow") * (MOST_CARDS + 1))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_file_is_read_in_the_letters_it_was_written_in(encoding: str) -> None:
    assert read_card_of(as_text(card("FN:Zoë Brûlé").encode(encoding))).name == "Zoë Brûlé"
