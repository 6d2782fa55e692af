"""The write side: open tables in, one DuckDB file out.

The stations, in the order in which the data travel: `read`, `normalise`,
`resolve`, `evaluate`, `fit`, `crosscheck`, `publish`; `build` runs them.
"""
