"""Papers of the drawers. Each module has frozen dataclasses and `draw(data) -> bytes` (a PDF); none of them reads the database."""
