"""Show-day companion for the player who is also the act's only technician."""

__version__ = "0.1.0"
