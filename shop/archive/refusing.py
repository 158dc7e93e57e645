"""What keeps an archive from being read, or a shop from being moved: what happened, and what to do next."""


class Unfit(Exception):
    """Nothing was changed. The text is for the person."""
