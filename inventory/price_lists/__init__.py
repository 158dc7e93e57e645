"""PURE: reads suppliers' price lists, CSV (RFC 4180 and its relatives) and XLSX, into lines of one shape. No Django, no database.

`kinds` says what a file is, `guessing` proposes how to read it, a person confirms a `Layout`, `reading` reads it line by line.
Nothing is guessed once a layout is confirmed: what doesn't fit it is rejected with its line number and the reason.
"""
