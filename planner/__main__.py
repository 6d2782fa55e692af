"""`python -m cutpoint.planner` is the same as `cutpoint`."""

import sys


def main() -> None:
    """Run the command line; say what to install where only the query module is there."""
    try:
        from .cli import main as run
    except ModuleNotFoundError as missing:
        sys.exit(f"The command line needs {missing.name}, which is not installed. Install the extra `planner`.")
    run()


if __name__ == "__main__":
    main()
