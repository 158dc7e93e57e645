"""How much of a file is looked at. Beyond any of these it is refused in words; a supplier's list is far below."""

MOST_BYTES = 40_000_000
MOST_UNPACKED_BYTES = 400_000_000
# Of a workbook everything but its sheets is held in memory while it is read: its words, its styles.
MOST_WORDS_BYTES = 60_000_000
MOST_ENTRIES = 2_000
MOST_ROWS = 200_000
MOST_COLUMNS = 60
LONGEST_CELL = 2_000
SAMPLE_BYTES = 256 * 1024
SAMPLE_ROWS = 60
CHUNK_BYTES = 1_000_000

LONGEST_CODE = 60
LONGEST_TEXT = 200
LARGEST_MILLI = 10**15
LARGEST_COUNT = 1_000_000
LONGEST_LEAD_DAYS = 2_000
