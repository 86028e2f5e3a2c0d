"""Run the program, as `furnace-diag` or as `python -m furnace_diag`."""

import sys


def run() -> None:
    """The program; a Ctrl-C while it is still being loaded ends it as any later one does."""
    try:
        from furnace_diag.cli.main import main

        main()
    except KeyboardInterrupt:
        sys.exit("Aborted!")


if __name__ == "__main__":
    run()
