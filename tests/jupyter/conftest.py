"""The kernel's list of open widgets is taken before any widget is made, as in a notebook."""

import ipykernel.comm  # noqa: F401
