"""Who did what: the act that a request or command is, and the triggers that write it down beside every change of a row."""

from shop.audit.acting import Act, acting, acting_now, teach_sqlite

__all__ = ["Act", "acting", "acting_now", "teach_sqlite"]
