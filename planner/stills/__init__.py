"""The computation behind a sheet: opening the package, the still, its fractions, and what the bench holds."""
