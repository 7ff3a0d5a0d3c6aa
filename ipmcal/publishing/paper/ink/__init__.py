"""Ink: what is drawn by code, as SVG: boxes, seasons, skills, squares."""
