"""The bench side: the command line, and from labels to separation sheets."""
