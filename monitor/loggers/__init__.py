"""Files that data loggers export: read whatever they look like, or refused with a reason."""
