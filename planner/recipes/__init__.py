"""Recipe files: what is to be distilled, what is wanted of it, and the glassware at hand."""
