"""The one error that a person is meant to read."""

from __future__ import annotations

import linecache
import re
import traceback

#: A value without end, of which the beginning is shown.
_ENDLESS = re.compile(r"(\S{60})\S{240,}")

#: How Python writes a thing that has no form of its own: its kind says as much.
_THING = re.compile(r"<(?:\w+ )?(?:[\w.<>]+\.)?(\w+)(?: object)? at 0x[0-9a-f]+>")

#: What would break, turn round or hide the line that a sentence is: it may quote a stranger's file.
_BREAKS = re.compile(
    "[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]+"
)


class RepairError(ValueError):
    """Input that cannot become a part.

    The message is one sentence or two for a person at the bench: it names the field, the value
    with its unit, what was expected, and what to do about it.
    """

    def __init__(self, sentence: str = "") -> None:
        plain = _THING.sub(r"\1", _BREAKS.sub(" ", str(sentence)))
        super().__init__(_ENDLESS.sub(r"\1...", plain))

    def _render_traceback_(self) -> list[str]:
        """What a notebook shows: the sentence, and the line of the cell that it is about.

        IPython asks an error for its own rendering by this name.
        """
        lines = [
            f"--> {number}  {linecache.getline(frame.f_code.co_filename, number).strip()}"
            for frame, number in traceback.walk_tb(self.__traceback__)
            if frame.f_globals.get("__name__") == "__main__"
        ]
        return [str(self), *lines[-1:]]
