"""Placed steps become tasks, visits and conflicts: windows and reasons, made once."""
