"""Signing in: throttled by name and address, ended by disuse and age, with a second factor where outsiders can reach the shop."""
