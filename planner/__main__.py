"""`python -m cutpoint.planner` is the same as `cutpoint`."""

from .cli import main

main()
