"""Copies of the whole shop: made while it is in use, each proven by restoring it, thinned by a plan, restored by one command.

A copy is a folder named by its moment (UTC). It holds the database, the photos, the key and `manifest.json`, which says what
is in it; `proof.json` beside them says how the last restoring of it went. Photos that two copies share are one file on the disk
under two names (hard links), so a copy takes only what is new, and yet each can be restored, moved or deleted alone.
"""
