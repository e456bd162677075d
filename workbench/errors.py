"""The one error that a person is meant to read."""

from __future__ import annotations


class RepairError(ValueError):
    """Input that cannot become a part.

    The message is one sentence or two for a person at the bench: it names the field, the value
    with its unit, what was expected, and what to do about it.
    """
