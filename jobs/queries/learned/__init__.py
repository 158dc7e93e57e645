"""What the shop's past jobs say about the next one: read from the logs, learned by `jobs.forecast`, told of a set.

`kinds` sorts positions, `past` reads finished jobs, `learnt` learns from them once and keeps it, `cases` lays out a set that is
asked about, `outlook` tells what sets like it came to.
"""

from jobs.queries.learned.expected import Expected, expected_of
from jobs.queries.learned.learnt import Lesson, lesson
from jobs.queries.learned.outlook import SetOutlook, outlook_of

__all__ = ["Expected", "Lesson", "SetOutlook", "expected_of", "lesson", "outlook_of"]
