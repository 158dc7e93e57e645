"""What estimates missed, and why: the first version that was agreed to, held against the bill."""

from billing.queries.missed.figures import WHY, Kinds, Miss, Missed, MissedJob, Ranked
from billing.queries.missed.reading import missed

__all__ = ["WHY", "Kinds", "Miss", "Missed", "MissedJob", "Ranked", "missed"]
