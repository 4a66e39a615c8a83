"""Pages and charts."""
