"""Run the program as `python -m furnace_diag`."""

from furnace_diag.cli.main import main

main()
