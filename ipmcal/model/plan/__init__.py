"""The plan as it is made and printed."""
