"""The whole shop as an open archive: JSON lines and files, the same from every database."""
