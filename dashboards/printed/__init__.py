"""What goes on paper: the record of a part and the label for its tape, each one page by itself."""
