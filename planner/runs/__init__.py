"""A batch as it was noted at the bench, held against its sheet."""
