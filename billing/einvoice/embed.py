"""A PDF that carries its own data: the printed invoice with the CII file inside it, as Factur-X and ZUGFeRD do.

The pages are those of the invoice, unchanged. The file is attached and described as Factur-X asks for; it is no promise of
PDF/A-3, as the pages carry no output intent for their colours.
"""

PROFILE = "en16931"


def with_data(pdf: bytes, cii: bytes, *, title: str, author: str, subject: str, lang: str) -> bytes:
    """`pdf` with `cii` attached as `factur-x.xml`. `lang` is a language tag such as `en-GB`."""
    # Imported where it is used: it takes long to load, and every start would wait for it.
    from facturx import generate_from_binary

    told = {"author": author, "keywords": "Factur-X", "title": title, "subject": subject}
    # Checked by `checking`, in a process of its own; the library would ask a server in the network.
    return bytes(
        generate_from_binary(
            pdf,
            cii,
            flavor="factur-x",
            level=PROFILE,
            check_xsd=False,
            check_schematron=False,
            pdf_metadata=told,
            lang=lang,
            afrelationship="alternative",
        )
    )
