"""Papers of the drawers. Each module has frozen dataclasses and `draw(data) -> bytes` (a PDF); none reads the database."""
