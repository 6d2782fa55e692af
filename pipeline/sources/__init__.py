"""One module per open table; a new source is one new file here that defines `SOURCE`."""
