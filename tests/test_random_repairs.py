"""Random repairs are valid, closed, as large as it is said, or refused in a sentence.

WORKBENCH_REPAIRS says how many, 6 by default; each is made within limits, in a copy of the process.
"""

from __future__ import annotations

import os
from contextlib import suppress

import pytest
from random_repairs import faults, repair_of

from workbench import fork
from workbench.errors import RepairError
from workbench.process import Broke, Limits

COUNT = int(os.environ.get("WORKBENCH_REPAIRS", "6"))


#: Where an eased edge made the part smaller, unsaid.
FOUND = (42, 1034, 1051)


@pytest.mark.parametrize("seed", [*FOUND, *range(66, 66 + COUNT)])
def test_a_random_repair_is_right_or_refused(seed) -> None:
    def look() -> bytes:
        try:
            return "; ".join(faults(repair_of(seed))).encode()
        except RepairError as error:
            assert "\n" not in str(error)
            return b""

    with suppress(Broke):  # of the kernel itself, which a person is told in a sentence
        assert fork.in_copy(look, Limits(60)) == b""
