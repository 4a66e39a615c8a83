"""A cure watch for hand-laid fibreglass."""
