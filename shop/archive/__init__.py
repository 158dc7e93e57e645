"""The whole shop as one open file: anybody can read it, and the program can set the shop up again from it, on either database.

An archive is a ZIP file (ISO/IEC 21320-1 where it fits) of `README.txt`, `tables/<app>.<model>.jsonl` (one JSON object a row,
by primary key), `files/…` (photos and drawings) and `manifest.json` (counts, sums and SHA-256 of all of it). The same content
makes the same bytes, whatever database it came from: nothing in it tells when or where it was written.

`tables` says what is in, `rows` how a value is written, `snapshot` how one moment is read while the shop goes on working,
`writing` makes an archive, `checking` opens a stranger's, `reading_in` fills an empty shop from it through `loading`, `moving`
takes a shop to another database.
"""
