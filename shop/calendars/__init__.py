"""Promised days as a calendar that other programs read: the private links to it, and how it is written (RFC 5545)."""
