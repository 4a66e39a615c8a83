"""The steps from an empty database to today's tables, oldest first in `versions`."""
