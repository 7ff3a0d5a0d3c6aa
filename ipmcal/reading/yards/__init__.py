"""Yard files become an outfit; new ones are asked for."""
