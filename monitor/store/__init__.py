"""The database: readings, rollups and the shop's book."""
