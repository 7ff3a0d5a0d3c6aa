"""The plan as data for other programs."""
