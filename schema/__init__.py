"""The contract: what a row of the component store may be.

Nothing here reads or writes, and nothing here imports another part of the
project. The modules that the read side needs (`errors`, `identifiers`,
`names`, `properties`, `equations`) import nothing heavier than NumPy;
`tables`, `mixture_tables`, `cut_tables`, `table` (pandera) and `ddl` serve the write side.
"""

SCHEMA_VERSION = 5
"""Raised whenever a table or column changes its meaning; stores of another version are refused."""

UNINDEXED_KEYS = {"name": ("search_key", "cas", "language"), "observation": ("source", "source_row", "field")}
"""Keys of the tables that are checked before writing but carry no index: with one the
store would be three times as large, and no question looks a row up by it."""
