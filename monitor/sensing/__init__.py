"""From bytes to readings."""
