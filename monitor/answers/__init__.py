"""Questions as people ask them: what the command line and the pages both show."""
