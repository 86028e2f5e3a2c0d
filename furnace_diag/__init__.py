"""Find the failed part of a gas furnace before a board is replaced."""

__version__ = "0.1.0"
