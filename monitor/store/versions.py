"""The steps that a database may have taken, as its own record names them."""

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009")
"""Every step of `migrations/versions`, oldest first."""
