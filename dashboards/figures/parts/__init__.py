"""What the figures share: the time axis, colours, spans and marks, degrees, an invented history."""
