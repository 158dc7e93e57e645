"""What acts say to the database over and over, its words written once a process: questions, new rows, changed columns."""

from shop.prepared.reading import Prepared, by_key
from shop.prepared.writing import add, change, insert, insert_all, put

__all__ = ["Prepared", "add", "by_key", "change", "insert", "insert_all", "put"]
