"""Lines of the journal become events."""
