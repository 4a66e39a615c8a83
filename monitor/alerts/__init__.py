"""Rules, channels and dispatch."""
