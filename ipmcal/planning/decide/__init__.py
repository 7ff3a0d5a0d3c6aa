"""Counts held against an authority's lines: what the yard is told to do, and which counts are asked for."""
