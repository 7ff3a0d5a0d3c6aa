"""A year of courses in a beekeeper's words: what is done when, counted when, and what it comes to."""
