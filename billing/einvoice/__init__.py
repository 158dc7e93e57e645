"""The electronic invoice by EN 16931: one frozen dataclass, told in two syntaxes, checked against the official rules.

Nothing here reads the database. `BT-…` and `BG-…` in comments are the standard's own numbers of a term or a group.
"""
